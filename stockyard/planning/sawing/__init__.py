"""From layouts to cuts in the order of work."""
