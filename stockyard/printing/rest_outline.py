"""The outline of what is left over in one piece: a rectangle less its holes and missing corners."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from stockyard.routing import Box

Corner = tuple[int, int]


def rest_outline(box: Box, holes: Sequence[Box]) -> list[tuple[Corner, ...]]:
    """Return the closed lines round a rectangle less these holes, what is left on their left hand (ticks)."""
    steps: dict[Corner, list[Corner]] = {}
    for here, there in _steps(box, holes):
        steps.setdefault(here, []).append(there)
    loops = []
    while steps:
        first = here = next(iter(steps))
        line = []
        while here in steps:
            line.append(here)
            there = steps[here].pop()
            if not steps[here]:
                del steps[here]
            here = there
            if here == first:
                break
        loops.append(_corners(line))
    return loops


def _steps(box: Box, holes: Sequence[Box]) -> Iterator[tuple[Corner, Corner]]:
    """Yield each side of a cell of the grid of all edges that has what is left on one side only."""
    x, y, dx, dy = box
    boxes = ((a, b, c, d) for a, b, c, d in (box, *holes))
    edges = [(a, a + c, b, b + d) for a, b, c, d in boxes]
    xs = sorted({v for low, high, _, _ in edges for v in (low, high) if x <= v <= x + dx})
    ys = sorted({v for _, _, low, high in edges for v in (low, high) if y <= v <= y + dy})

    def left(at_x: float, at_y: float) -> bool:
        inside = x < at_x < x + dx and y < at_y < y + dy
        return inside and not any(a < at_x < a + c and b < at_y < b + d for a, b, c, d in holes)

    for low, high in pairwise(xs):
        middle = (low + high) / 2
        for near, far in pairwise(ys):
            centre = (near + far) / 2
            if not left(middle, centre):
                continue
            if not left(middle, _beyond(ys, near, -1)):
                yield (low, near), (high, near)
            if not left(_beyond(xs, high, 1), centre):
                yield (high, near), (high, far)
            if not left(middle, _beyond(ys, far, 1)):
                yield (high, far), (low, far)
            if not left(_beyond(xs, low, -1), centre):
                yield (low, far), (low, near)


def _beyond(at: Sequence[int], edge: int, side: int) -> float:
    """Return the middle of the next stretch of a grid on one side of an edge of it."""
    n = at.index(edge) + side
    return (edge + at[n]) / 2 if 0 <= n < len(at) else edge + side


def _corners(line: Sequence[Corner]) -> tuple[Corner, ...]:
    """Return a closed line without the points amid its straight stretches."""
    around = zip((line[-1], *line[:-1]), line, (*line[1:], line[0]), strict=True)
    return tuple(b for a, b, c in around if not (a[0] == b[0] == c[0] or a[1] == b[1] == c[1]))
