"""A planner's process begun before it is asked: it loads while a yard is opened or a file is read."""

from stockyard.planning.child import at_hand

__all__ = ["at_hand"]
