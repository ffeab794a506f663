"""Parts of a routed piece moved together, so that one pass of the bit cuts the edges of two."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from stockyard.planning.path import Box, Shapes, shared
from stockyard.planning.placing.spots import blocked
from stockyard.planning.problem import Problem, Stock

# A move along one axis may make room for one along the other; so often all are moved.
PASSES = 4
# With more parts than this they stay where they are.
MOST_PARTS = 400


def closer(
    problem: Problem, piece: Stock, boxes: Sequence[Box], shapes: Shapes = ()
) -> Iterator[tuple[Box, ...]]:
    """Yield the boxes moved together towards each corner of a piece, where more of their edges are shared.

    `shapes` are those of their parts. The boxes keep their order and the way they lie, and the rules of the
    piece: gap, edge trim, flaws.
    """
    if len(boxes) > MOST_PARTS:
        return
    before, seen = shared(boxes, problem.kerf, shapes), {tuple(boxes)}
    for right, up, upright_first in product((False, True), repeat=3):
        moved = tuple(_pushed(problem, piece, boxes, right=right, up=up, upright_first=upright_first))
        if moved not in seen and shared(moved, problem.kerf, shapes) > before:
            seen.add(moved)
            yield moved


def _pushed(
    problem: Problem, piece: Stock, boxes: Sequence[Box], *, right: bool, up: bool, upright_first: bool
) -> list[Box]:
    x_low, x_high, y_low, y_high = piece.edge_trim
    here, flaws = list(boxes), list(blocked(piece))
    for _ in range(PASSES):
        before = list(here)
        for upright in (upright_first, not upright_first):
            if upright:
                turned = _along([_turned(b) for b in here], [_turned(f) for f in flaws], problem.kerf,
                                y_low, piece.width - y_high, high=up)  # fmt: skip
                here = [_turned(b) for b in turned]
            else:
                here = _along(here, flaws, problem.kerf, x_low, piece.length - x_high, high=right)
        if here == before:
            break
    return here


def _turned(box: Box) -> Box:
    x, y, dx, dy = box
    return y, x, dy, dx


def _along(
    boxes: Sequence[Box], flaws: Sequence[Box], gap: int, low: int, end: int, *, high: bool
) -> list[Box]:
    """Return the boxes each moved along x as far as it goes, to the low end or to the high one."""
    if high:
        mirrored = _along([_mirrored(b) for b in boxes], [_mirrored(f) for f in flaws], gap, -end, -low,
                          high=False)  # fmt: skip
        return [_mirrored(b) for b in mirrored]
    found = list(boxes)
    for n in sorted(range(len(found)), key=lambda i: found[i]):
        x, y, dx, dy = found[n]
        at = low
        for m, (ox, oy, odx, ody) in enumerate(found):
            if m != n and ox < x and oy < y + dy + gap and y < oy + ody + gap:
                at = max(at, ox + odx + gap)
        for fx, fy, fdx, fdy in flaws:
            if fx < x and fy < y + dy and y < fy + fdy:
                at = max(at, fx + fdx)
        found[n] = min(at, x), y, dx, dy
    return found


def _mirrored(box: Box) -> Box:
    x, y, dx, dy = box
    return -x - dx, y, dx, dy
