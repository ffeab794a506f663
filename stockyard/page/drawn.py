"""Small drawings to one scale: rectangles with a grain mark, as figures that a template writes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.desk.shown import PieceLine

# The longest side on a page, in its own units.
WIDE = 240.0
LEAST = 3.0


@dataclass(frozen=True, slots=True)
class Beside:
    """A piece and how large it is drawn beside the others, length across the page."""

    line: PieceLine
    long: float
    high: float


def beside(pieces: Sequence[PieceLine]) -> tuple[Beside, ...]:
    """Return pieces with their drawn sizes: the longest fills the width, all at one scale."""
    longest = max((max(p.length, p.width) for p in pieces), default=1)
    scale = WIDE / longest
    return tuple(
        Beside(p, round(max(LEAST, p.length * scale), 1), round(max(LEAST, p.width * scale), 1))
        for p in pieces
    )
