"""Rooms of the page, by the place where a person stands."""
