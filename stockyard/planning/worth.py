"""What a leftover is worth: on the ground floor, since settings speak of it too."""

from stockyard.worth import KEEP_AREA, KEEP_SHORT_SIDE, WHOLE_AREA, Worth

__all__ = ["KEEP_AREA", "KEEP_SHORT_SIDE", "WHOLE_AREA", "Worth"]
