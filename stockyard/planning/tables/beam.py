"""Good patterns with no more of a part than is wanted: the table of `dp.py` with several sets a point.

Each raster point keeps the most valuable sets of parts that can be cut from its rectangle, a beam of
them, and two sets join only where the demand allows it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import sqrt
from typing import Any, NamedTuple

import numpy as np

from stockyard.planning.compiled import lean
from stockyard.planning.packed import Packed
from stockyard.planning.tables.dp import CROSSCUT, PART, RIP, Ints, Item, Table, table
from stockyard.planning.tables.lines import lines

# Kinds of entry beside those of a trace: the same as at the point to the left, the one below, or both.
LEFT, BELOW, CORNER = 4, 5, 6
# Sets kept at a point: as many as this work allows (steps of the table times pairs of sets), within limits.
WORK, LEAST_WIDTH, MOST_WIDTH = 4e7, 8, 32
# Sets kept at a point of two lines.
WIDTH_OF_LINES = 16
# Patterns given for a piece.
MOST = 100
# Steps of the table between two questions whether to stop; they take some 20 ms. A thread that comes back so
# seldom waits little for the interpreter.
STEPS_BETWEEN = 1e6


class _Grid(NamedTuple):
    """A table with what its items are worth, and the demand in packed counts, as arrays.

    singles: one of each part that is wanted once. extents: of each item, None where the points of the
    table tell them.
    """

    xs: Any
    ys: Any
    behind_x: Any
    behind_y: Any
    first_x: Any
    first_y: Any
    mirror: Any
    values: Any
    ones: Any
    spare: Any
    guards: Any
    singles: Any
    extents: Any


class _Beams(NamedTuple):
    """Worth, sets and making of the beam at every point; worth 0: nothing.

    top: what the best set is worth, by columns too. core: parts wanted once that all sets of a point
    hold. fresh_x, fresh_y (by columns, by rows): whether the sets of a point are others than those of
    the point to the left, or below. extents: the length and width that each set takes, or None.
    """

    worth: Any
    sets: Any
    made: Any
    top: Any
    top_by_column: Any
    core: Any
    fresh_x: Any
    fresh_y: Any
    extents: Any


class _Here(NamedTuple):
    """The sets of one point while they are gathered.

    best: what they are worth. slot: where each of them lies in held, its making in made, and its extents
    in room. both: room for one set. limits: the most that extents may be.
    """

    best: Any
    slot: Any
    held: Any
    made: Any
    both: Any
    room: Any
    limits: Any


@lean
def _offer(
    best: Any, slot: Any, held: Any, made: Any, both: Any, room: Any,
    value: int, kind: int, one: int, low: int, high: int, length: int, width: int,
) -> None:  # fmt: skip
    """Put the set `both` and its making among those of one point where it belongs; the last one goes.

    Nothing happens when it is there or too poor.
    """
    n = len(best)
    while n > 0 and best[n - 1] < value:
        n -= 1
    m = n - 1
    while m >= 0 and best[m] == value:
        w = 0
        while w < len(both) and held[slot[m], w] == both[w]:
            w += 1
        if w == len(both):
            return
        m -= 1
    if n == len(best):
        return
    free = slot[len(best) - 1]
    for m in range(len(best) - 1, n, -1):
        best[m], slot[m] = best[m - 1], slot[m - 1]
    best[n], slot[n] = value, free
    for w in range(len(both)):
        held[free, w] = both[w]
    made[free, 0], made[free, 1], made[free, 2], made[free, 3] = kind, one, low, high
    if room is not None:
        room[free, 0], room[free, 1] = length, width


@lean
def _begin(here: Any, i: int, j: int, worth: Any, sets: Any, extents: Any, room: Any, limits: Any) -> None:
    """Begin with the sets of the point (i, j) to the left."""
    n = 0
    for p in range(min(len(here.best), worth.shape[2])):
        if extents is not None:
            if extents[i, j, p, 0] > limits[0] or extents[i, j, p, 1] > limits[1]:
                continue
            room[n, 0], room[n, 1] = extents[i, j, p, 0], extents[i, j, p, 1]
        here.best[n] = worth[i, j, p]
        for w in range(len(here.both)):
            here.held[n, w] = sets[i, j, p, w]
        here.made[n, 0], here.made[n, 1], here.made[n, 2], here.made[n, 3] = LEFT, p, 0, 0
        n += 1
    for p in range(len(here.best)):
        here.slot[p] = p
        if p >= n:
            here.best[p] = 0


@lean
def _inherit(
    best: Any, slot: Any, held: Any, made: Any, both: Any, worth: Any, sets: Any, extents: Any, room: Any,
    limits: Any, i: int, j: int, kind: int,
) -> None:  # fmt: skip
    """Take over the sets of the point (i, j) below or at the corner."""
    length, width = 0, 0
    for p in range(worth.shape[2]):
        if worth[i, j, p] <= best[-1]:
            return
        if extents is not None:
            length, width = extents[i, j, p, 0], extents[i, j, p, 1]
            if length > limits[0] or width > limits[1]:
                continue
        for w in range(len(both)):
            both[w] = sets[i, j, p, w]
        _offer(best, slot, held, made, both, room, worth[i, j, p], kind, p, 0, 0, length, width)


@lean
def _lay(
    best: Any, slot: Any, held: Any, made: Any, both: Any, values: Any, ones: Any, first_x: Any, first_y: Any,
    extents: Any, room: Any, limits: Any, i: int, j: int,
) -> None:  # fmt: skip
    """Offer the items that first fit at the point (i, j)."""
    length, width = 0, 0
    for k in range(len(values)):
        if first_x[k] == i and first_y[k] == j and values[k] > best[-1]:
            if extents is not None:
                length, width = extents[k, 0], extents[k, 1]
                if length > limits[0] or width > limits[1]:
                    continue
            for w in range(len(both)):
                both[w] = ones[k, w]
            _offer(best, slot, held, made, both, room, values[k], PART, k, 0, 0, length, width)


@lean
def _clash(core: Any, i: int, j: int, k: int, m: int) -> bool:
    """Whether all sets of two points hold the same part that is wanted once."""
    shared = np.uint64(0)
    for w in range(core.shape[2]):
        shared |= core[i, j, w] & core[k, m, w]
    return bool(shared != 0)


@lean
def _combine(
    best: Any, slot: Any, held: Any, made: Any, both: Any, worth: Any, sets: Any, core: Any,
    spare: Any, guards: Any, extents: Any, room: Any, limits: Any,
    i: int, j: int, k: int, m: int, kind: int, cut: int,
) -> None:  # fmt: skip
    """Try all sets of the point (i, j), one side of a cut, with all of (k, m), the other."""
    words, last = len(both), len(best) - 1
    length, width = 0, 0
    for p in range(worth.shape[2]):
        low = worth[i, j, p]
        if low <= 0 or low + worth[k, m, 0] <= best[last]:
            return
        shared = np.uint64(0)
        for w in range(words):
            shared |= sets[i, j, p, w] & core[k, m, w]
        if shared != 0:
            continue
        for q in range(worth.shape[2]):
            high = worth[k, m, q]
            if high <= 0 or low + high <= best[last]:
                break
            if extents is not None:
                if kind == CROSSCUT:
                    length = extents[i, j, p, 0] + extents[k, m, q, 0]
                    width = max(extents[i, j, p, 1], extents[k, m, q, 1])
                else:
                    length = max(extents[i, j, p, 0], extents[k, m, q, 0])
                    width = extents[i, j, p, 1] + extents[k, m, q, 1]
                if length > limits[0] or width > limits[1]:
                    continue
            w = 0
            while w < words and (sets[i, j, p, w] + sets[k, m, q, w] + spare[w]) & guards[w] == 0:
                w += 1
            if w < words:
                continue
            for w in range(words):
                both[w] = sets[i, j, p, w] + sets[k, m, q, w]
            _offer(best, slot, held, made, both, room, low + high, kind, cut, p, q, length, width)


@lean
def _gather(i: int, j: int, here: Any, grid: Any, beams: Any, extents: Any) -> None:
    """Gather the best sets of one point from the points below it.

    A cut whose low side has no other sets than one point before is passed over: its high side is less.
    Arrays are named and indexed in full: a tuple's field or a part of an array costs more than the work.
    """
    best, slot, held, made, both = here.best, here.slot, here.held, here.made, here.both
    worth, sets, core = beams.worth, beams.sets, beams.core
    spare, guards, last = grid.spare, grid.guards, len(best) - 1
    room, limits = here.room, here.limits
    _begin(here, i - 1, j, worth, sets, extents, room, limits)
    _inherit(best, slot, held, made, both, worth, sets, extents, room, limits, i, j - 1, BELOW)
    if extents is not None:
        _inherit(best, slot, held, made, both, worth, sets, extents, room, limits, i - 1, j - 1, CORNER)
    _lay(
        best, slot, held, made, both, grid.values, grid.ones, grid.first_x, grid.first_y, grid.extents, room,
        limits, i, j,
    )  # fmt: skip
    top, behind, fresh = beams.top_by_column, grid.behind_x, beams.fresh_x
    a = 1
    while a < i and behind[i, a] >= a:
        b = behind[i, a]
        if fresh[j, a] and top[j, a] + top[j, b] > best[last] and not _clash(core, a, j, b, j):
            _combine(
                best, slot, held, made, both, worth, sets, core, spare, guards, extents, room, limits,
                a, j, b, j, CROSSCUT, a,
            )  # fmt: skip
        a += 1
    top, behind, fresh = beams.top, grid.behind_y, beams.fresh_y
    a = 1
    while a < j and behind[j, a] >= a:
        b = behind[j, a]
        if fresh[i, a] and top[i, a] + top[i, b] > best[last] and not _clash(core, i, a, i, b):
            _combine(
                best, slot, held, made, both, worth, sets, core, spare, guards, extents, room, limits,
                i, a, i, b, RIP, a,
            )  # fmt: skip
        a += 1


@lean
def _differ(worth: Any, sets: Any, i: int, j: int, k: int, m: int) -> bool:
    """Whether two points have other sets."""
    for p in range(worth.shape[2]):
        if worth[i, j, p] != worth[k, m, p]:
            return True
        for w in range(sets.shape[3]):
            if sets[i, j, p, w] != sets[k, m, p, w]:
                return True
    return False


@lean
def _settle(i: int, j: int, here: Any, grid: Any, beams: Any, extents: Any, room: Any) -> None:
    """Write down the sets of a point, and what later points ask of it."""
    worth, sets = beams.worth, beams.sets
    for p in range(len(here.best)):
        worth[i, j, p] = here.best[p]
        for w in range(len(here.both)):
            sets[i, j, p, w] = here.held[here.slot[p], w]
        for w in range(4):
            beams.made[i, j, p, w] = here.made[here.slot[p], w]
        if extents is not None:
            extents[i, j, p, 0], extents[i, j, p, 1] = room[here.slot[p], 0], room[here.slot[p], 1]
    beams.top[i, j] = beams.top_by_column[j, i] = worth[i, j, 0]
    for w in range(len(grid.singles)):
        core = grid.singles[w]
        for p in range(worth.shape[2]):
            core &= sets[i, j, p, w] if worth[i, j, p] > 0 else core
        beams.core[i, j, w] = core
    beams.fresh_x[j, i] = _differ(worth, sets, i, j, i - 1, j)
    beams.fresh_y[i, j] = _differ(worth, sets, i, j, i, j - 1)


@lean
def _turn(i: int, j: int, mirror: Any, beams: Any) -> None:
    """Write the point (i, j) down as (j, i) too, with the two directions exchanged."""
    worth, sets, made, core = beams.worth, beams.sets, beams.made, beams.core
    for p in range(worth.shape[2]):
        worth[j, i, p] = worth[i, j, p]
        for w in range(sets.shape[3]):
            sets[j, i, p, w] = sets[i, j, p, w]
        kind, one = made[i, j, p, 0], made[i, j, p, 1]
        if kind == PART:
            one = mirror[one]
        elif kind in (LEFT, BELOW):
            kind = LEFT + BELOW - kind
        elif kind in (CROSSCUT, RIP):
            kind = CROSSCUT + RIP - kind
        made[j, i, p, 0], made[j, i, p, 1] = kind, one
        made[j, i, p, 2], made[j, i, p, 3] = made[i, j, p, 2], made[i, j, p, 3]
    for w in range(core.shape[2]):
        core[j, i, w] = core[i, j, w]
    beams.top[j, i] = beams.top_by_column[i, j] = beams.top[i, j]
    beams.fresh_x[i, j] = beams.fresh_y[i, j]
    beams.fresh_y[j, i] = beams.fresh_x[j, i]


@lean
def _limit(limits: Any, length: int, width: int) -> None:
    """Set the most that extents may be."""
    if limits is not None:
        limits[0], limits[1] = length, width


@lean
def _fill(first: int, end: int, here: Any, grid: Any, beams: Any) -> None:
    """Find the sets at the points of the columns first to end - 1.

    With a mirror only those of one half are sought, and the others are turned.
    """
    mirrored = len(grid.mirror) > 0
    for i in range(first, end):
        for j in range(1, i + 1 if mirrored else len(grid.ys)):
            _limit(here.limits, grid.xs[i], grid.ys[j])
            _gather(i, j, here, grid, beams, beams.extents)
            _settle(i, j, here, grid, beams, beams.extents, here.room)
            if mirrored and j < i:
                _turn(i, j, grid.mirror, beams)


def _here(width: int, words: int, limits: tuple[int, int] | None) -> _Here:
    """Return room for so many sets, with extents up to the limits if there are any."""
    return _Here(
        best=np.zeros(width, np.int64),
        slot=np.arange(width),
        held=np.zeros((width, words), np.uint64),
        made=np.zeros((width, 4), np.int32),
        both=np.zeros(words, np.uint64),
        room=None if limits is None else np.zeros((width, 2), np.int64),
        limits=None if limits is None else np.array(limits, np.int64),
    )


def _empty(grid: _Grid, width: int) -> _Beams:
    """Return beams without sets."""
    nx, ny, words = len(grid.xs), len(grid.ys), len(grid.spare)
    return _Beams(
        worth=np.zeros((nx, ny, width), np.int64),
        sets=np.zeros((nx, ny, width, words), np.uint64),
        made=np.zeros((nx, ny, width, 4), np.int32),
        top=np.zeros((nx, ny), np.int64),
        top_by_column=np.zeros((ny, nx), np.int64),
        core=np.zeros((nx, ny, words), np.uint64),
        fresh_x=np.zeros((ny, nx), np.bool_),
        fresh_y=np.zeros((nx, ny), np.bool_),
        extents=None if grid.extents is None else np.zeros((nx, ny, width, 2), np.int64),
    )


def _width(table: Table) -> int:
    """Return how many sets to keep at a point."""
    if table.by_lines:
        return WIDTH_OF_LINES
    return max(LEAST_WIDTH, min(MOST_WIDTH, int(sqrt(WORK / max(1.0, table.steps())))))


class Beam:
    """The sets at every point of a table for one set of values."""

    def __init__(
        self,
        table: Table,
        values: Sequence[int],
        demand: Sequence[int],
        *,
        width: int | None = None,
        stop: Callable[[], bool] | None = None,
    ) -> None:
        """`values[k]`: worth of one of part k; `demand[k]`: how many of it a pattern may hold.

        `width`: sets kept at each point; otherwise the more of them, the smaller the table is. Points
        that are not reached when `stop` says so stay empty.
        """
        self._table = table
        ones, spare, guards = Packed([n if v else 0 for n, v in zip(demand, values, strict=True)]).words()
        parts = [it.part for it in table.items]
        singles = np.bitwise_or.reduce(ones[np.array(demand) == 1], axis=0)
        worth = np.array([values[k] if demand[k] else 0 for k in parts], np.int64)
        extents = (
            np.array([(it.length, it.width) for it in table.items], np.int64) if table.by_lines else None
        )
        self._grid = _Grid(
            table.xs, table.ys, table.behind_x, table.behind_y, table.first_x, table.first_y,
            table.mirror, worth, ones[parts], spare, guards, singles, extents,
        )  # fmt: skip
        wide = width or _width(table)
        self._beams, here = (
            _empty(self._grid, wide),
            _here(wide, len(spare), (0, 0) if table.by_lines else None),
        )
        columns = len(table.xs)
        between = max(1, int(columns * STEPS_BETWEEN / max(1.0, table.steps())))
        for first in range(1, columns, between):
            if stop is not None and stop():
                return
            end = min(columns, first + between)
            _fill(first, end, here, self._grid, self._beams)

    def best(self, point: tuple[int, int]) -> int:
        """Return what the best set at a point is worth."""
        return int(self._beams.top[point])

    def patterns(self, sheet: tuple[int, int], most: int = MOST, least: int = 1) -> Iterator[Ints]:
        """Yield the best patterns of a sheet with these extents that are worth `least`, so many at most.

        Each has rows (kind, item), root first, low side first.
        """
        point = self._table.point(*sheet)
        if not min(point):
            return
        here = _here(most, len(self._grid.spare), sheet if self._table.by_lines else None)
        _gather(*point, here, self._grid, self._beams, self._beams.extents)
        for worth, slot in zip(here.best.tolist(), here.slot.tolist(), strict=True):
            if worth < least:
                return
            yield self._trace(point, here.made[slot])

    def _trace(self, point: tuple[int, int], made: Any) -> Ints:
        steps: list[tuple[int, int]] = []
        todo, below = [(*point, made)], self._beams.made
        while todo:
            i, j, made = todo.pop()
            kind, one, low, high = made.tolist()
            if kind == LEFT:
                todo.append((i - 1, j, below[i - 1, j, one]))
            elif kind == BELOW:
                todo.append((i, j - 1, below[i, j - 1, one]))
            elif kind == CORNER:
                todo.append((i - 1, j - 1, below[i - 1, j - 1, one]))
            elif kind in (CROSSCUT, RIP):
                steps.append((kind, 0))
                behind = self._table.behind_x if kind == CROSSCUT else self._table.behind_y
                rest = int(behind[i if kind == CROSSCUT else j, one])
                sides = ((rest, j), (one, j)) if kind == CROSSCUT else ((i, rest), (i, one))
                todo += [(*side, below[(*side, n)]) for side, n in zip(sides, (high, low), strict=True)]
            else:
                steps.append((kind, one))
        return np.array(steps, np.int64)


def compile_beams() -> None:
    """Compile what a beam needs."""
    items = [Item(2, 3, 1, 0), Item(3, 2, 1, 1)]
    small = table(items, [(6, 6)])
    for shared in (small, lines(items, [(6, 6)], 1e3)):
        list(Beam(shared, [1, 1], [1, 1]).patterns((6, 6)))
