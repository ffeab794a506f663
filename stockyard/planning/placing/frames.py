"""What remains of a routed piece, kept whole, an L or a frame: its bounding rectangle and its holes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from stockyard.flaws import Flaw
from stockyard.planning.placing.remains import rooms
from stockyard.planning.placing.spots import Box
from stockyard.planning.problem import Problem, Stock


@dataclass(frozen=True, slots=True)
class Frame:
    """A connected rest: where its bounding rectangle lies on the piece, and holes from the corner of that.

    No hole lies on another.
    """

    box: Box
    holes: tuple[Flaw, ...]


def frames(problem: Problem, piece: Stock, parts: Sequence[Box]) -> tuple[Frame, ...]:
    """Return what remains around parts, each connected rest whole.

    A rest is made of every rectangle that the shop would keep, the gap away from all parts; what is too
    narrow to be kept is no part of it.
    """
    found: list[list[Box]] = []
    for box in rooms(problem, piece, parts):
        touching = [group for group in found if any(_overlap(box, other) for other in group)]
        found = [group for group in found if group not in touching]
        found.append([box, *(b for group in touching for b in group)])
    return tuple(sorted((_frame(group) for group in found), key=lambda f: f.box))


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[0] + b[2] and b[0] < a[0] + a[2] and a[1] < b[1] + b[3] and b[1] < a[1] + a[3]


def _frame(boxes: Sequence[Box]) -> Frame:
    low_x, low_y = min(b[0] for b in boxes), min(b[1] for b in boxes)
    high_x, high_y = max(b[0] + b[2] for b in boxes), max(b[1] + b[3] for b in boxes)
    holes = (Flaw(h.x - low_x, h.y - low_y, h.dx, h.dy) for h in _holes(boxes, low_y, high_y))
    return Frame((low_x, low_y, high_x - low_x, high_y - low_y), tuple(sorted(holes)))


def _holes(boxes: Sequence[Box], low: int, high: int) -> Iterator[Flaw]:
    """Yield what the boxes leave out of their bounding rectangle, in bands along y as wide in x as can be."""
    open_: dict[tuple[int, int], int] = {}
    xs = sorted({x for b in boxes for x in (b[0], b[0] + b[2])})
    for x, far in pairwise(xs):
        gaps = set(_gaps([b for b in boxes if b[0] <= x and far <= b[0] + b[2]], low, high))
        for gap in [g for g in open_ if g not in gaps]:
            begun = open_.pop(gap)
            yield Flaw(begun, gap[0], x - begun, gap[1] - gap[0])
        for gap in gaps:
            open_.setdefault(gap, x)
    for (y, end), begun in open_.items():
        yield Flaw(begun, y, xs[-1] - begun, end - y)


def _gaps(boxes: Sequence[Box], low: int, high: int) -> Iterator[tuple[int, int]]:
    at = low
    for _, y, _, dy in sorted(boxes, key=lambda b: b[1]):
        if y > at:
            yield at, y
        at = max(at, y + dy)
    if at < high:
        yield at, high
