"""Words of the trade that shops spell or call each in their own way."""

from __future__ import annotations

from stockyard.measure import Unit


def spelled(text: str, unit: Unit) -> str:
    """Return `text` as shops of that unit spell it: those that work in inches write miter."""
    return text.replace("mitre", "miter") if unit is Unit.INCH else text
