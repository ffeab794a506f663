"""Words of the trade that shops spell or call each in their own way; where lines may not break."""

from __future__ import annotations

import re

from stockyard.measure import Unit

NO_BREAK = "\u00a0"
_WITHIN_A_SIZE = re.compile(r"(?<=[\d″]) (?=\d+/\d|(?:mm|in)\b|[×x] [≈\d])|(?<=[\d″] [×x]) (?=[≈\d])")


def unbroken(text: str) -> str:
    """Return `text` with no-break spaces in figures with a fraction or a unit, and in sizes."""
    return _WITHIN_A_SIZE.sub(NO_BREAK, text)


def spelled(text: str, unit: Unit) -> str:
    """Return `text` as shops of that unit spell it: those that work in inches write miter."""
    return text.replace("mitre", "miter") if unit is Unit.INCH else text
