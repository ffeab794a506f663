"""Free placement: parts anywhere on a piece, a bit's width apart, for a router that cuts in no order."""
