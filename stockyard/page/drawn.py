"""Small drawings to one scale: rectangles with a grain mark, as figures that a template writes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.desk.planning import Sketch
from stockyard.desk.shown import PieceLine
from stockyard.flaws import Flaw
from stockyard.printing.papers import CutStep, Direction, Side

# The longest side on a page, in its own units.
WIDE = 240.0
LEAST = 3.0


Box = tuple[float, float, float, float]
"""x, y, wide, high of a rectangle as SVG has it."""


def flaw_boxes(flaws: Sequence[Flaw], width: int, scale: float) -> tuple[Box, ...]:
    """Return flaws as they are drawn on a piece: corner 0 is at the lower left, SVG's y runs downward."""
    return tuple(
        (f.x * scale, (width - f.y - f.dy) * scale, max(LEAST, f.dx * scale), max(LEAST, f.dy * scale))
        for f in flaws
    )


@dataclass(frozen=True, slots=True)
class Beside:
    """A piece and how large it is drawn beside the others, length across the page."""

    line: PieceLine
    long: float
    high: float
    flaws: tuple[Box, ...] = ()


def beside(pieces: Sequence[PieceLine]) -> tuple[Beside, ...]:
    """Return pieces with their drawn sizes: the longest fills the width, all at one scale."""
    longest = max((max(p.length, p.width) for p in pieces), default=1)
    scale = WIDE / longest
    return tuple(
        Beside(
            p, round(max(LEAST, p.length * scale), 1), round(max(LEAST, p.width * scale), 1),
            flaw_boxes([f.flaw for f in p.flaws], p.width, scale),
        )
        for p in pieces
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Curve:
    """A falling line of steps: the points of a polyline, `WIDE` wide and `HIGH` high."""

    points: str


HIGH = 80.0


def falling(when: Sequence[float], figures: Sequence[float]) -> Curve:
    """Return steps from the first figure down to the last, time to the right."""
    last, least, most = max(when) or 1.0, min(figures), max(figures)
    span = (most - least) or 1.0

    def at(seconds: float, figure: float) -> tuple[float, float]:
        return seconds / last * WIDE, (most - figure) / span * (HIGH - 8) + 4

    points: list[tuple[float, float]] = []
    for seconds, figure in zip(when, figures, strict=True):
        x, y = at(seconds, figure)
        if points:
            points.append((x, points[-1][1]))
        points.append((x, y))
    return Curve(" ".join(f"{x:.1f},{y:.1f}" for x, y in points))


@dataclass(frozen=True, slots=True)
class SketchDrawing:
    """A piece of a plan in the making: as large as beside the others, its parts as x, y, wide, high."""

    wide: float
    high: float
    parts: tuple[Box, ...]


def sketch_drawings(sketches: Sequence[Sketch]) -> tuple[SketchDrawing, ...]:
    """Return how the pieces of an answer on the way are drawn, all at one scale."""
    scale = WIDE / max((max(s.length, s.width) for s in sketches), default=1)
    return tuple(
        SketchDrawing(
            wide=round(s.length * scale, 1),
            high=round(max(LEAST, s.width * scale), 1),
            # SVG's y runs downward.
            parts=tuple(
                (
                    round(x * scale, 1),
                    round((s.width - y - dy) * scale, 1),
                    round(dx * scale, 1),
                    round(dy * scale, 1),
                )
                for x, y, dx, dy in s.parts
            ),
        )
        for s in sketches
    )


@dataclass(frozen=True, slots=True)
class CutDrawing:
    """The piece in hand and the line of the cut, in units of a drawing `wide` x `high` with a margin.

    `x1`..`y2` is the line, `keep` what lies at the fence, `fence` the bar along its edge: x, y, wide, high.
    """

    wide: float
    high: float
    line: tuple[float, float, float, float]
    keep: tuple[float, float, float, float]
    fence: tuple[float, float, float, float]
    flaws: tuple[Box, ...] = ()


_BAR = 10.0
_FAR = 400.0


def cut_drawing(step: CutStep, flaws: Sequence[Flaw] = ()) -> CutDrawing:
    """Return how one cut is drawn: x along the piece's length to the right, y along its width upward.

    `flaws` are those of the piece in hand.
    """
    scale = _FAR / max(step.length, step.width)
    wide, high = max(12.0, step.length * scale), max(12.0, step.width * scale)
    across = step.direction is Direction.CROSSCUT
    low = step.against is Side.LOW
    marks = flaw_boxes(flaws, step.width, scale)
    side = wide if across else high
    whole = step.length if across else step.width
    # A trim takes `trim` off the far edge; what lies at the fence is the rest.
    at = min(side - 1, max(1.0, (whole - step.trim if step.trim else step.fence) / whole * side))
    if across:
        x = at if low else wide - at
        keep = (0.0 if low else x, 0.0, at, high)
        return CutDrawing(
            wide, high, (x, -14, x, high + 14), keep, (-_BAR if low else wide, 0, _BAR, high), marks
        )
    # SVG's y runs downward: the low side is at the bottom.
    y = high - at if low else at
    keep = (0.0, y if low else 0.0, wide, at)
    return CutDrawing(
        wide, high, (-14, y, wide + 14, y), keep, (0, high if low else -_BAR, wide, _BAR), marks
    )
