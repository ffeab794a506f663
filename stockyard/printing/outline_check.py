"""Whether the closed lines of an outline make one shape that can be cut, and how large it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import hypot

import numpy as np
from numpy.typing import NDArray

from stockyard.printing.outline_tabs import Point, Vertex, arc_of, flattened

Steps = NDArray[np.float64]
# Arcs are looked at in so many straight steps to a whole turn: of a radius of 300 mm one bulges by 0.006 mm.
FINE = 512
# What is nearer than this share of the outline's longer side touches: rounding, no more.
NEAR = 1e-9
CROSSES, OUTSIDE, NESTED = "crosses or touches itself", "is not inside the outline", "lies in another hole"
TOUCHES = "crosses or touches another line"


def extents(loop: Sequence[Vertex]) -> tuple[float, float, float, float]:
    """Return the low and the high corner of a closed line, its arcs exactly."""
    points = [(x, y) for x, y, _ in loop]
    for (x, y, bulge), (to_x, to_y, _) in pairwise((*loop, loop[0])):
        if bulge:
            points += _farthest((x, y), (to_x, to_y), bulge)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def _farthest(here: Point, there: Point, bulge: float) -> Iterator[Point]:
    """Yield the points of an arc that lie farthest to the left, right, top and bottom of its circle."""
    cx, cy, _ = arc_of(here, there, bulge)
    radius = hypot(here[0] - cx, here[1] - cy)
    for ux, uy in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        x, y = cx + radius * ux, cy + radius * uy
        # An arc with a positive bulge lies to the right of its chord.
        off = (there[0] - here[0]) * (y - here[1]) - (there[1] - here[1]) * (x - here[0])
        if off * bulge < 0:
            yield x, y


def wrong_loop(loops: Sequence[Sequence[Vertex]]) -> tuple[int, str] | None:
    """Return the first closed line that spoils a shape, by its place, and what it does; None if none does.

    The first loop is the outline, the others are its holes.
    """
    lines = [flattened(loop, FINE) for loop in loops]
    low_x, low_y, high_x, high_y = extents(loops[0])
    crossing = _crossing(lines, NEAR * max(high_x - low_x, high_y - low_y))
    if crossing is not None:
        return crossing
    for n, line in enumerate(lines[1:], 1):
        if not _inside(line[0], lines[0]):
            return n, OUTSIDE
        if any(_inside(line[0], other) for k, other in enumerate(lines[1:], 1) if k != n):
            return n, NESTED
    return None


def _inside(point: Point, around: Sequence[Point]) -> bool:
    """Whether a point lies in a closed line: a ray from it crosses that an odd number of times."""
    x, y = point
    odd = False
    for (ax, ay), (bx, by) in pairwise((*around, around[0])):
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            odd = not odd
    return odd


def _crossing(lines: Sequence[Sequence[Point]], near: float) -> tuple[int, str] | None:
    """Return the later one of two lines that meet, and how; a step may meet the next one at its end."""
    ends = np.array([(*a, *b) for line in lines for a, b in pairwise((*line, line[0]))])
    of = np.array([n for n, line in enumerate(lines) for _ in line])
    next_of = np.concatenate([_next(len(line)) + at for line, at in zip(lines, _starts(lines), strict=True)])
    low, high = np.minimum(ends[:, :2], ends[:, 2:]), np.maximum(ends[:, :2], ends[:, 2:])
    order = np.argsort(low[:, 0], kind="stable")
    begins = low[order, 0]
    for at, i in enumerate(order):
        close = order[at + 1 : np.searchsorted(begins, high[i, 0] + near, "right")]
        close = close[(low[close, 1] <= high[i, 1] + near) & (high[close, 1] >= low[i, 1] - near)]
        if not close.size:
            continue
        beside = (next_of[i] == close) | (next_of[close] == i)
        if any(_folds_back(ends[i], ends[j]) for j in close[beside]):
            return int(of[i]), CROSSES
        met = close[~beside][_meets(ends[i], ends[close[~beside]], near)]
        if met.size:
            n = max(int(of[i]), int(of[met[0]]))
            return n, CROSSES if of[i] == of[met[0]] else TOUCHES
    return None


def _starts(lines: Sequence[Sequence[Point]]) -> list[int]:
    return [sum(len(line) for line in lines[:n]) for n in range(len(lines))]


def _next(count: int) -> NDArray[np.int64]:
    return (np.arange(count) + 1) % count


def _folds_back(a: Steps, b: Steps) -> bool:
    """Whether two steps that share an end lie on each other."""
    ux, uy, vx, vy = a[2] - a[0], a[3] - a[1], b[2] - b[0], b[3] - b[1]
    size = hypot(ux, uy) * hypot(vx, vy)
    return bool(abs(ux * vy - uy * vx) <= NEAR * size and ux * vx + uy * vy < 0)


def _meets(a: Steps, many: Steps, near: float) -> NDArray[np.bool_]:
    """Whether a step crosses or touches each of many: the ends of neither lie on one side of the other."""
    apart = _side(a, many[:, :2], near) * _side(a, many[:, 2:], near) > 0
    apart |= _side(many, a[:2], near) * _side(many, a[2:], near) > 0
    return np.asarray(~apart)


def _side(steps: Steps, points: Steps, near: float) -> Steps:
    """Return on which side of steps points lie: 1 left, -1 right, 0 on them."""
    ax, ay, bx, by = steps.T
    px, py = points.T
    off = ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / np.maximum(np.hypot(bx - ax, by - ay), near)
    return np.where(np.abs(off) <= near, 0.0, np.sign(off))
