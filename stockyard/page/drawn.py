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
class Word:
    """A name written on a drawing: its lines, its middle, how high its letters are, does it read upward."""

    lines: tuple[str, ...]
    x: float
    y: float
    high: float
    upward: bool

    @property
    def space(self) -> tuple[float, float]:
        """How wide and high it is as it stands on the drawing."""
        long = max(map(len, self.lines)) * self.high * _LETTER
        over = len(self.lines) * self.high * _LINE
        return (over, long) if self.upward else (long, over)


@dataclass(frozen=True, slots=True)
class CutDrawing:
    """The piece in hand and the line of the cut, as a drawing of a piece `wide` x `high`.

    `x1`..`y2` is the line, `keep` what lies at the fence, `fence` the bar along its edge: x, y, wide, high.
    `around` is all that is drawn, `words` the names of the two pieces that come of it.
    """

    wide: float
    high: float
    line: Box
    keep: Box
    fence: Box
    flaws: tuple[Box, ...] = ()
    words: tuple[Word, ...] = ()
    around: Box = (0, 0, 0, 0)


_BAR = 10.0
_FAR = 400.0
_MARGIN = 24.0
# Letters are between so high, else a name stands beside its piece; one is about so wide of its height.
_MOST_HIGH, _LEAST_HIGH = 34.0, 17.0
_LETTER = 0.68
_LINE = 1.2


def cut_drawing(step: CutStep, flaws: Sequence[Flaw] = (), names: tuple[str, str] = ("", "")) -> CutDrawing:
    """Return how one cut is drawn: x along the piece's length to the right, y along its width upward.

    `flaws` are those of the piece in hand; `names` what comes out at the fence, and what lies beyond.
    """
    scale = _FAR / max(step.length, step.width)
    wide, high = max(12.0, step.length * scale), max(12.0, step.width * scale)
    across = step.direction is Direction.CROSSCUT
    low = step.against is Side.LOW
    side = wide if across else high
    whole = step.length if across else step.width
    # A trim takes `trim` off the far edge; what lies at the fence is the rest.
    at = min(side - 1, max(1.0, (whole - step.trim if step.trim else step.fence) / whole * side))
    if across:
        x = at if low else wide - at
        keep: Box = (0.0 if low else x, 0.0, at, high)
        rest: Box = (x if low else 0.0, 0.0, wide - at, high)
        line: Box = (x, -14, x, high + 14)
        fence: Box = (-_BAR if low else wide, 0, _BAR, high)
    else:
        # SVG's y runs downward: the low side is at the bottom.
        y = high - at if low else at
        keep, rest = (0.0, y if low else 0.0, wide, at), (0.0, 0.0 if low else y, wide, high - at)
        line, fence = (-14, y, wide + 14, y), (0, high if low else -_BAR, wide, _BAR)
    # What is too narrow for its name has it beyond the piece, on its own side: at the fence, or away from it.
    to_fence = -1 if low == across else 1
    named = ((names[0], keep, to_fence), (names[1], rest, -to_fence))
    words = [_word(text, box, way, across=across) for text, box, way in named if text]
    return CutDrawing(
        wide, high, line, keep, fence, flaw_boxes(flaws, step.width, scale), tuple(words),
        _around(wide, high, words),
    )  # fmt: skip


def _word(text: str, box: Box, way: int, *, across: bool) -> Word:
    """Write a name into its rectangle, upward where it fits better so, else beyond the piece.

    `way` is on which side that is: 1 to the right or below, -1 to the left or above.
    """
    x, y, wide, high = box
    middle = (x + wide / 2, y + high / 2)
    broken = tuple(text.replace(", ", ",\n", 1).split("\n"))
    ways = [
        Word(
            lines,
            *middle,
            min(_MOST_HIGH, 0.92 * room / (letters * _LETTER), 0.92 * over / (rows * _LINE)),
            upward,
        )
        for lines in {(text,), broken}
        for letters, rows in ((max(map(len, lines)), len(lines)),)
        for room, over, upward in ((wide, high, False), (high, wide, True))
    ]
    best = max(ways, key=lambda word: (round(word.high, 3), -len(word.lines), not word.upward))
    if best.high >= _LEAST_HIGH:
        return best
    off = _MARGIN + 4
    if across:
        return Word((text,), x + wide + off if way > 0 else x - off, middle[1], _LEAST_HIGH, upward=True)
    return Word((text,), middle[0], y + high + off if way > 0 else y - off, _LEAST_HIGH, upward=False)


def _around(wide: float, high: float, words: Sequence[Word]) -> Box:
    """Return what holds the piece with a margin and every name: x, y, wide, high."""
    x, y, right, low = -_MARGIN, -_MARGIN, wide + _MARGIN, high + _MARGIN
    for word in words:
        dx, dy = (0.5 * side for side in word.space)
        x, y = min(x, word.x - dx), min(y, word.y - dy)
        right, low = max(right, word.x + dx), max(low, word.y + dy)
    return (round(x, 1), round(y, 1), round(right - x, 1), round(low - y, 1))
