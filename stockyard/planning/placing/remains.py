"""What remains of a piece whose parts lie freely: the rectangles that are worth most together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stockyard.planning.placing.room import X0, X1, Y0, Y1, Ints, copy_box, occupy
from stockyard.planning.placing.spots import Box, blocked
from stockyard.planning.problem import Problem, Stock

# Rectangles that the room is kept in at most, and how many of the best are tried as the first.
MOST_ROOMS, TRIED = 1000, 8


def remains(problem: Problem, piece: Stock, parts: Sequence[Box]) -> tuple[Box, ...]:
    """Return rectangles that the shop keeps, of what lies around `parts`: the worthiest set found.

    They lie the gap away from every part and from each other, clear of flaws, and may reach to the edges.
    Each is as large as can be; the first is one of the worthiest, the next the worthiest beside it.
    """
    kerf = problem.kerf
    room, fresh = np.zeros((MOST_ROOMS, 4), np.int64), np.zeros((MOST_ROOMS, 4), np.int64)
    room[0] = 0, 0, piece.length + kerf, piece.width + kerf
    n = 1
    for x, y, dx, dy in blocked(piece):
        n = occupy(room, n, fresh, x + kerf, y + kerf, x + dx, y + dy)
    for x, y, dx, dy in parts:
        n = occupy(room, n, fresh, x, y, x + dx + kerf, y + dy + kerf)
    best: tuple[int, tuple[Box, ...]] = (0, ())
    for first in _worthy(problem, room[:n])[:TRIED]:
        found = _with(problem, room[:n], first)
        best = max(best, found, key=lambda f: f[0])
    return best[1]


def _worthy(problem: Problem, room: Ints) -> list[Box]:
    """Return the free rectangles that are worth something, the worthiest first."""
    kerf, boxes = problem.kerf, []
    for r in room.tolist():
        box = (r[X0], r[Y0], r[X1] - r[X0] - kerf, r[Y1] - r[Y0] - kerf)
        if box[2] > 0 and box[3] > 0 and problem.worth.of(box[2], box[3]):
            boxes.append(box)
    return sorted(boxes, key=lambda b: (-problem.worth.of(b[2], b[3]), b))


def _with(problem: Problem, room: Ints, first: Box) -> tuple[int, tuple[Box, ...]]:
    """Return the worth of `first` and the best beside it, one after the other, and all of them."""
    kerf = problem.kerf
    left, fresh = np.zeros((MOST_ROOMS, 4), np.int64), np.zeros((MOST_ROOMS, 4), np.int64)
    for i, r in enumerate(room):
        copy_box(left[i], r)
    n, box, taken = len(room), first, []
    while True:
        taken.append(box)
        x, y, dx, dy = box
        n = occupy(left, n, fresh, x, y, x + dx + kerf, y + dy + kerf)
        more = _worthy(problem, left[:n])
        if not more:
            return sum(problem.worth.of(b[2], b[3]) for b in taken), tuple(sorted(taken))
        box = more[0]
