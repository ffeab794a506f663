"""The same money for less: layouts that share settings, chosen under one price for material and hands."""
