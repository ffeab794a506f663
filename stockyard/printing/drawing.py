"""A drawing that no device owns: boxes, lines, words; three renderers turn it into PDF, SVG or text.

Lengths are the device's own units (points on paper, cells in a terminal), measured from the lower
left corner, y up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum


class Fill(StrEnum):
    """What fills a box: waste is hatched, use is white, damage hatched both ways, a clamp black."""

    WHITE = "white"
    HATCH = "hatch"
    CROSS = "cross"
    BLACK = "black"


@dataclass(frozen=True, slots=True)
class Region:
    """A rectangle on the drawing."""

    x: float
    y: float
    w: float
    h: float

    def meets(self, other: Region, gap: float = 0.0) -> bool:
        """Whether the two overlap, or lie nearer than `gap`."""
        return (
            self.x < other.x + other.w + gap
            and other.x < self.x + self.w + gap
            and self.y < other.y + other.h + gap
            and other.y < self.y + self.h + gap
        )

    def shared(self, other: Region) -> float:
        """Return how much of its area lies in `other`."""
        wide = min(self.x + self.w, other.x + other.w) - max(self.x, other.x)
        high = min(self.y + self.h, other.y + other.h) - max(self.y, other.y)
        return max(wide, 0.0) * max(high, 0.0)

    def holds(self, other: Region) -> bool:
        """Whether `other` lies inside."""
        slack = 1e-6
        return (
            self.x <= other.x + slack
            and self.y <= other.y + slack
            and other.x + other.w <= self.x + self.w + slack
            and other.y + other.h <= self.y + self.h + slack
        )

    def beside(self, other: Region) -> list[Region]:
        """Return what is free of `other` on its left, its right, below and above."""
        right, top = self.x + self.w, self.y + self.h
        return [
            Region(self.x, self.y, max(other.x - self.x, 0), self.h),
            Region(other.x + other.w, self.y, max(right - other.x - other.w, 0), self.h),
            Region(self.x, self.y, self.w, max(other.y - self.y, 0)),
            Region(self.x, other.y + other.h, self.w, max(top - other.y - other.h, 0)),
        ]

    def cut_by(self, x1: float, y1: float, x2: float, y2: float) -> bool:
        """Whether the line between two points goes through it."""
        enter, leave = 0.0, 1.0
        for start, end, low, size in ((x1, x2, self.x, self.w), (y1, y2, self.y, self.h)):
            run = end - start
            if abs(run) < 1e-9:
                if not low <= start <= low + size:
                    return False
                continue
            near, far = sorted(((low - start) / run, (low + size - start) / run))
            enter, leave = max(enter, near), min(leave, far)
        return enter <= leave


@dataclass(frozen=True, slots=True)
class Box:
    """An outlined rectangle; a leftover has a broken outline."""

    at: Region
    fill: Fill = Fill.WHITE
    weight: float = 0.8
    broken: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line; `dot` ends it in a dot, as a leader does on what it points at."""

    x1: float
    y1: float
    x2: float
    y2: float
    weight: float = 0.5
    dot: bool = False


@dataclass(frozen=True, slots=True)
class Arrow:
    """A level or upright line with a head at both ends: the grain has no front."""

    x1: float
    y1: float
    x2: float
    y2: float


Point = tuple[float, float]


def arrow_parts(arrow: Arrow) -> tuple[tuple[float, float, float, float], list[tuple[Point, Point, Point]]]:
    """Return the shaft of an arrow and the triangles at its ends."""
    run, rise = arrow.x2 - arrow.x1, arrow.y2 - arrow.y1
    long = abs(run) + abs(rise)
    ux, uy = run / long, rise / long
    head, half = min(5.0, long / 2), 2.6
    triangles = []
    for x, y, way in ((arrow.x1, arrow.y1, 1), (arrow.x2, arrow.y2, -1)):
        bx, by = x + way * ux * head, y + way * uy * head
        triangles.append(((x, y), (bx - uy * half, by + ux * half), (bx + uy * half, by - ux * half)))
    shaft = (arrow.x1 + ux * head, arrow.y1 + uy * head, arrow.x2 - ux * head, arrow.y2 - uy * head)
    return shaft, triangles


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text in the middle of `at`; `turned` reads upward. `at` is exactly as large as the text."""

    at: Region
    text: str
    size: float
    bold: bool = False
    turned: bool = False


class Toward(StrEnum):
    """The side of the drawing that a badge points to."""

    LEFT = "left"
    RIGHT = "right"
    LOWER = "lower"
    UPPER = "upper"


@dataclass(frozen=True, slots=True)
class Badge:
    """A short number or letter on its own ground: black for a cut, white for a call-out.

    The badge of a cut has a point `toward` the fence, `tip` deep; `at` holds it too.
    """

    at: Region
    text: str
    size: float
    black: bool
    toward: Toward | None = None
    tip: float = 0.0

    @property
    def body(self) -> Region:
        """The ground of the text, without the point."""
        at, tip = self.at, self.tip
        if self.toward in (Toward.LEFT, Toward.RIGHT):
            return Region(at.x + (tip if self.toward is Toward.LEFT else 0), at.y, at.w - tip, at.h)
        if self.toward is None:
            return at
        return Region(at.x, at.y + (tip if self.toward is Toward.LOWER else 0), at.w, at.h - tip)

    @property
    def point(self) -> tuple[Point, Point, Point] | None:
        """The triangle that points toward the fence: its tip, then its foot on the body."""
        body, half = self.body, 0.8 * self.tip
        cx, cy = body.x + body.w / 2, body.y + body.h / 2
        if self.toward is None or not self.tip:
            return None
        if self.toward in (Toward.LEFT, Toward.RIGHT):
            foot, way = (body.x + 1, -1) if self.toward is Toward.LEFT else (body.x + body.w - 1, 1)
            return (foot + way * (self.tip + 1), cy), (foot, cy - half), (foot, cy + half)
        foot, way = (body.y + 1, -1) if self.toward is Toward.LOWER else (body.y + body.h - 1, 1)
        return (cx, foot + way * (self.tip + 1)), (cx - half, foot), (cx + half, foot)


Shape = Box | Line | Arrow | Words | Badge


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes in painting order on a canvas of `width` x `height`."""

    width: float
    height: float
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class Metrics:
    """How big letters are on a device.

    `width(text, size, bold)` is how wide a line is; `sizes` are those to try, the largest first;
    `leading` is the height of a line over its size; `margin` is kept clear inside an outline.
    `badge` is the size of a badge's letters, `padding` the room around them, `gap` what stays
    clear between two writings, `gutter` the room
    around the piece for what does not fit inside. `tall` is how high a unit is over its breadth
    (2 for the cells of a terminal) and `snap` puts a coordinate on the device's grid.
    `tip` is how deep the point of a badge is, 0 where a sign in its text points.
    `foot` is the size of the line under the piece. A long piece is drawn at least `least` broad, and
    up to `most` until its narrowest part is `strip` broad.
    """

    width: Callable[[str, float, bool], float]
    sizes: tuple[float, ...]
    leading: float
    margin: float
    badge: float
    padding: float
    tip: float
    gap: float
    gutter: float
    may_turn: bool
    foot: float
    least: float
    most: float
    strip: float
    tall: float
    snap: Callable[[float], float]


TURNED_EASE = 0.7
"""How well turned letters read against upright ones of the same size (our own choice)."""

Row = tuple[str, bool]
"""A line of text and whether it is bold."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """Lines that fit a region: their size, and whether they read upward."""

    rows: tuple[Row, ...]
    size: float
    turned: bool


def fit(choices: Iterable[tuple[Row, ...]], room: Region, metrics: Metrics) -> Fitted | None:
    """Return the choice of rows that fits `room` in the largest letters, None when none does.

    Turned letters must be clearly larger to be preferred; at the same size the earlier choice wins.
    """
    best: Fitted | None = None
    most = 0.0
    for rows in choices:
        for turned, ease in ((False, 1.0), (True, TURNED_EASE)) if metrics.may_turn else ((False, 1.0),):
            size = _largest(rows, room, metrics, turned=turned)
            if size is not None and size * ease > most:
                best, most = Fitted(rows, size, turned), size * ease
    return best


def _largest(rows: tuple[Row, ...], room: Region, metrics: Metrics, *, turned: bool) -> float | None:
    along, across = (room.h, room.w) if turned else (room.w, room.h)
    along, across = along - 2 * metrics.margin, across - 2 * metrics.margin
    for size in metrics.sizes:
        tall = len(rows) * size * metrics.leading
        if tall <= across and all(metrics.width(text, size, bold) <= along for text, bold in rows):
            return size
    return None


def place(fitted: Fitted, room: Region, metrics: Metrics) -> list[Words]:
    """Return the rows of `fitted` in the middle of `room`."""
    step = fitted.size * metrics.leading
    across = room.w if fitted.turned else room.h
    first = (across - step * len(fitted.rows)) / 2
    words = []
    for i, (text, bold) in enumerate(fitted.rows):
        wide = metrics.width(text, fitted.size, bold)
        if fitted.turned:
            # Reading upward, the first row is the leftmost.
            at = Region(room.x + first + i * step, room.y + (room.h - wide) / 2, step, wide)
        else:
            at = Region(room.x + (room.w - wide) / 2, room.y + room.h - first - (i + 1) * step, wide, step)
        words.append(Words(at, text, fitted.size, bold, fitted.turned))
    return words


def broken_up(text: str, most: int = 3) -> list[tuple[str, ...]]:
    """Return `text` in one line, two, ... up to `most`, broken at spaces as evenly as they allow."""
    words = text.split()
    found: list[tuple[str, ...]] = [(text,)]
    for count in range(2, min(most, len(words)) + 1):
        lines: list[str] = []
        rest = words
        for left in range(count, 0, -1):
            take = 1
            goal = len(" ".join(rest)) / left
            while len(rest) - take >= left and len(" ".join(rest[: take + 1])) <= goal + 1:
                take += 1
            take = len(rest) if left == 1 else take
            lines.append(" ".join(rest[:take]))
            rest = rest[take:]
        found.append(tuple(lines))
    return found
