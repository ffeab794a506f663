"""A pasted cut list becomes parts, or questions: pure, and nothing is guessed, dropped or merged."""

from stockyard.cutlist.model import CutList, KnownMaterial, Question, Reading, Row
from stockyard.cutlist.read import read
from stockyard.cutlist.spreadsheet import read_table
from stockyard.cutlist.write import write
from stockyard.kinds import Grain

__all__ = ["CutList", "Grain", "KnownMaterial", "Question", "Reading", "Row", "read", "read_table", "write"]
