"""Where a shaped part holds on to its sheet: two tabs on its outline, about opposite each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import atan, cos, hypot, pi, sin

Vertex = tuple[float, float, float]
Point = tuple[float, float]
# An arc is looked at in so many straight steps to a whole turn.
STEPS = 64


def outline_tabs(
    loop: Sequence[Vertex], wide: float, bare: Callable[[Point, Point], bool] = lambda *_: False
) -> tuple[tuple[Point, Point], ...]:
    """Return both ends of two tabs `wide` long (in the outline's unit).

    The first lies amid the longest straight stretch. The second lies amid the stretch, at least as long as a
    tab, whose middle is nearest to half way round from there. Where none is so long, as on a disc, it is a
    chord of the outline. `bare` says between which corners nothing is beside the part to hold it: no tab lies
    there, nor is there any where all is bare.
    """
    points = flattened(loop)
    steps = tuple(pairwise((*points, points[0])))
    lengths = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in steps]
    begins = [sum(lengths[:n]) for n in range(len(lengths))]
    around = sum(lengths)
    held = [(begins[n] + long / 2, long) for n, long in enumerate(lengths) if not bare(*steps[n])]
    if not held:
        return ()
    wide = min(wide, around / 4)
    first, longest = max(held, key=lambda h: h[1])
    half = (first + around / 2) % around

    def off(at: float) -> float:
        return min(abs(at - half), around - abs(at - half))

    straight = [m for m, long in held if long >= wide and m != first]
    if len(held) == len(lengths):
        second = min((m for m in straight if off(m) <= around / 4), key=off, default=half)
    elif straight:
        second = min(straight, key=off)
    else:
        first, second = first - longest / 4, first + longest / 4
        wide = min(wide, longest / 4)
    ends = ((at - wide / 2, at + wide / 2) for at in (first, second))
    return tuple((_at(points, begins, around, a), _at(points, begins, around, b)) for a, b in ends)


def flattened(loop: Sequence[Vertex], steps: int = STEPS) -> list[Point]:
    """Return the corners of a closed line, its arcs in straight steps, so many to a whole turn."""
    found: list[Point] = []
    for (x, y, bulge), (to_x, to_y, _) in pairwise((*loop, loop[0])):
        found.append((x, y))
        if bulge:
            found.extend(_along_arc((x, y), (to_x, to_y), bulge, steps))
    return found


def arc_of(here: Point, there: Point, bulge: float) -> tuple[float, float, float]:
    """Return the centre of an arc and how far it turns: its bulge is the tangent of a quarter of that."""
    # The centre lies on the chord's middle line, this share of the chord to its left.
    side = (1 - bulge * bulge) / (4 * bulge)
    (x, y), (to_x, to_y) = here, there
    return (x + to_x) / 2 - side * (to_y - y), (y + to_y) / 2 + side * (to_x - x), 4 * atan(bulge)


def _along_arc(here: Point, there: Point, bulge: float, steps: int) -> list[Point]:
    """Return points between the ends of an arc."""
    cx, cy, turn = arc_of(here, there, bulge)
    steps = max(2, round(abs(turn) / (2 * pi) * steps))
    rx, ry = here[0] - cx, here[1] - cy
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
