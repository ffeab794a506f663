"""Where a shaped part holds on to its sheet: two tabs on its outline, about opposite each other."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import atan, cos, hypot, pi, sin

Vertex = tuple[float, float, float]
Point = tuple[float, float]
# An arc is looked at in so many straight steps to a whole turn.
STEPS = 64


def outline_tabs(loop: Sequence[Vertex], wide: float) -> tuple[tuple[Point, Point], ...]:
    """Return both ends of two tabs `wide` long (in the outline's unit).

    The first lies amid the longest straight stretch. The second lies amid the stretch, at least as long as a
    tab, whose middle is nearest to half way round from there. Where none is so long, as on a disc, it is a
    chord of the outline.
    """
    points = flattened(loop)
    lengths = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise((*points, points[0]))]
    begins = [sum(lengths[:n]) for n in range(len(lengths))]
    around = sum(lengths)
    middles = [at + long / 2 for at, long in zip(begins, lengths, strict=True)]
    first = middles[max(range(len(lengths)), key=lambda n: lengths[n])]
    half = (first + around / 2) % around

    def off(at: float) -> float:
        return min(abs(at - half), around - abs(at - half))

    straight = [m for m, long in zip(middles, lengths, strict=True) if long >= wide and m != first]
    second = min((m for m in straight if off(m) <= around / 4), key=off, default=half)
    wide = min(wide, around / 4)
    ends = ((at - wide / 2, at + wide / 2) for at in (first, second))
    return tuple((_at(points, begins, around, a), _at(points, begins, around, b)) for a, b in ends)


def flattened(loop: Sequence[Vertex]) -> list[Point]:
    """Return the corners of a closed line, its arcs in short straight steps."""
    found: list[Point] = []
    for (x, y, bulge), (to_x, to_y, _) in pairwise((*loop, loop[0])):
        found.append((x, y))
        if bulge:
            found.extend(_along_arc(x, y, to_x, to_y, bulge))
    return found


def _along_arc(x: float, y: float, to_x: float, to_y: float, bulge: float) -> list[Point]:
    """Return points between the ends of an arc; the bulge is the tangent of a quarter of its angle."""
    turn = 4 * atan(bulge)
    # The centre lies on the chord's middle line, this share of the chord to its left.
    side = (1 - bulge * bulge) / (4 * bulge)
    cx, cy = (x + to_x) / 2 - side * (to_y - y), (y + to_y) / 2 + side * (to_x - x)
    steps = max(2, round(abs(turn) / (2 * pi) * STEPS))
    rx, ry = x - cx, y - cy
    angles = (turn * n / steps for n in range(1, steps))
    return [(cx + rx * cos(a) - ry * sin(a), cy + rx * sin(a) + ry * cos(a)) for a in angles]


def _at(points: Sequence[Point], begins: Sequence[float], around: float, at: float) -> Point:
    """Return the point so far along a closed line from its first corner."""
    at %= around
    n = max(i for i, begin in enumerate(begins) if begin <= at)
    (x, y), (to_x, to_y) = points[n], points[(n + 1) % len(points)]
    long = hypot(to_x - x, to_y - y)
    share = (at - begins[n]) / long if long else 0.0
    return x + share * (to_x - x), y + share * (to_y - y)
