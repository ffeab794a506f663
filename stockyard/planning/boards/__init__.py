"""One-dimensional cutting stock, to proof where it can be had."""
