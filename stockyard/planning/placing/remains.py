"""What remains of a piece whose parts lie freely: the rectangles that are worth most together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stockyard.flaws import biggest_clear
from stockyard.planning.placing.room import X0, X1, Y0, Y1, Ints, copy_box, occupy
from stockyard.planning.placing.spots import Box
from stockyard.planning.problem import Flaw, Problem, Stock, flaws_in

# Rectangles that the room is kept in at most, and how many of the best are tried as the first.
MOST_ROOMS, TRIED = 1000, 8


def remains(problem: Problem, piece: Stock, parts: Sequence[Box]) -> tuple[Box, ...]:
    """Return rectangles that the shop keeps, of what lies around `parts`: the worthiest set found.

    They lie the gap away from every part and from each other, and may reach to the edges. Each is as large as
    can be; the first is one of the worthiest, the next the worthiest beside it. Flaws and clamp zones lie in
    them where that is worth more than keeping clear: only what is clear of them counts.
    """
    flaws = piece.flaws
    best: tuple[int, tuple[Box, ...]] = (0, ())
    for around in (flaws, ()) if flaws else ((),):
        room = _room(problem, piece, parts, around)
        for _, first in _worthy(problem, flaws, room)[:TRIED]:
            found = _with(problem, flaws, room, first)
            best = max(best, found, key=lambda f: f[0])
    return best[1]


def rooms(problem: Problem, piece: Stock, parts: Sequence[Box]) -> tuple[Box, ...]:
    """Return every rectangle as large as can be that the shop would keep around `parts`; they overlap."""
    return tuple(box for _, box in _worthy(problem, piece.flaws, _room(problem, piece, parts, ())))


def _room(problem: Problem, piece: Stock, parts: Sequence[Box], around: Sequence[Flaw]) -> Ints:
    """Return the free rectangles of a piece, the gap included, clear of parts and of what is `around`."""
    kerf = problem.kerf
    room, fresh = np.zeros((MOST_ROOMS, 4), np.int64), np.zeros((MOST_ROOMS, 4), np.int64)
    room[0] = 0, 0, piece.length + kerf, piece.width + kerf
    n = 1
    for x, y, dx, dy in around:
        n = occupy(room, n, fresh, x + kerf, y + kerf, x + dx, y + dy)
    for x, y, dx, dy in parts:
        n = occupy(room, n, fresh, x, y, x + dx + kerf, y + dy + kerf)
    return room[:n]


def _worthy(problem: Problem, flaws: Sequence[Flaw], room: Ints) -> list[tuple[int, Box]]:
    """Return the rectangles that are worth something with their worth, the worthiest first."""
    kerf, found = problem.kerf, []
    for r in room.tolist():
        box = (r[X0], r[Y0], r[X1] - r[X0] - kerf, r[Y1] - r[Y0] - kerf)
        if box[2] > 0 and box[3] > 0 and (worth := _worth(problem, flaws, box)):
            found.append((worth, box))
    return sorted(found, key=lambda f: (-f[0], f[1]))


def _worth(problem: Problem, flaws: Sequence[Flaw], box: Box) -> int:
    """Return what a rectangle is worth: nothing where no part of it clear of its flaws is kept."""
    own = flaws_in(flaws, *box)
    if own:
        clear = biggest_clear(own, *box[2:])
        if clear is None or not problem.worth.keeps(clear.dx, clear.dy):
            return 0
    return problem.worth.clear(*box[2:], own)


def _with(problem: Problem, flaws: Sequence[Flaw], room: Ints, first: Box) -> tuple[int, tuple[Box, ...]]:
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
        more = _worthy(problem, flaws, left[:n])
        if not more:
            return sum(_worth(problem, flaws, b) for b in taken), tuple(sorted(taken))
        box = more[0][1]
