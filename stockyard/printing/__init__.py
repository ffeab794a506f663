"""Paper, SVG and terminal drawings from plain data; nothing here knows the yard or the planner."""
