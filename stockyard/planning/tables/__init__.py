"""Guillotine tables: the best patterns of a piece for given values of the parts."""
