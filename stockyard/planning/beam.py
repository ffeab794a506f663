"""Good patterns with no more of a part than is wanted: the table of `dp.py` with several sets a point.

Each raster point keeps the most valuable sets of parts that can be cut from its rectangle, a beam of
them, and two sets join only where the demand allows it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np

from stockyard.planning.compiled import jit
from stockyard.planning.dp import CROSSCUT, PART, RIP, Ints, Item, Table, table
from stockyard.planning.packed import Packed

# Kinds of entry beside those of a trace: the same as at the point to the left, or at the one below.
LEFT, BELOW = 4, 5
# Sets kept at a point: as many as this work allows for steps of the table with one of them, within limits.
WORK, LEAST_WIDTH, MOST_WIDTH = 4e6, 8, 32
# Patterns given for a piece.
MOST = 100


class _Grid(NamedTuple):
    """A table with what its items are worth, and the demand in packed counts, as arrays.

    singles: one of each part that is wanted once.
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


class _Beams(NamedTuple):
    """Worth, sets and making of the beam at every point; worth 0: nothing.

    top: what the best set is worth, by columns too. core: parts wanted once that all sets of a point
    hold. fresh_x, fresh_y (by columns, by rows): whether the sets of a point are others than those of
    the point to the left, or below.
    """

    worth: Any
    sets: Any
    made: Any
    top: Any
    top_by_column: Any
    core: Any
    fresh_x: Any
    fresh_y: Any


@jit
def _offer(
    worth: Any, sets: Any, made: Any, value: int, words: Any, kind: int, one: int, low: int, high: int
) -> None:  # fmt: skip
    """Put a set and its making among those of one point where it belongs; the last one goes.

    Nothing happens when it is there or too poor.
    """
    n = len(worth)
    while n > 0 and worth[n - 1] < value:
        n -= 1
    m = n - 1
    while m >= 0 and worth[m] == value:
        same = True
        for w in range(len(words)):
            same = same and sets[m, w] == words[w]
        if same:
            return
        m -= 1
    if n == len(worth):
        return
    for m in range(len(worth) - 1, n, -1):
        worth[m] = worth[m - 1]
        for w in range(len(words)):
            sets[m, w] = sets[m - 1, w]
        for w in range(4):
            made[m, w] = made[m - 1, w]
    worth[n] = value
    for w in range(len(words)):
        sets[n, w] = words[w]
    made[n, 0], made[n, 1], made[n, 2], made[n, 3] = kind, one, low, high


@jit
def _take_over(worth: Any, sets: Any, made: Any, other: Any, theirs: Any) -> None:
    """Begin with the sets of the point to the left."""
    for p in range(min(len(worth), len(other))):
        worth[p] = other[p]
        for w in range(sets.shape[1]):
            sets[p, w] = theirs[p, w]
        made[p, 0], made[p, 1] = LEFT, p


@jit
def _inherit(worth: Any, sets: Any, made: Any, kind: int, other: Any, theirs: Any) -> None:
    """Take the sets of a smaller rectangle over."""
    for p in range(len(other)):
        if other[p] <= worth[-1]:
            return
        _offer(worth, sets, made, other[p], theirs[p], kind, p, 0, 0)


@jit
def _combine(
    worth: Any, sets: Any, made: Any, low: Any, high: Any, low_sets: Any, high_sets: Any,
    grid: Any, both: Any, kind: int, cut: int,
) -> None:  # fmt: skip
    """Try all sets of one side of a cut with all of the other."""
    last, words = len(worth) - 1, len(both)
    for p in range(len(low)):
        if low[p] <= 0 or low[p] + high[0] <= worth[last]:
            return
        for q in range(len(high)):
            value = low[p] + high[q]
            if high[q] <= 0 or value <= worth[last]:
                break
            w = 0
            while w < words and (low_sets[p, w] + high_sets[q, w] + grid.spare[w]) & grid.guards[w] == 0:
                w += 1
            if w < words:
                continue
            for w in range(words):
                both[w] = low_sets[p, w] + high_sets[q, w]
            _offer(worth, sets, made, value, both, kind, cut, p, q)


@jit
def _clash(low: Any, high: Any) -> bool:
    """Whether all sets of both points hold the same part that is wanted once."""
    shared = np.uint64(0)
    for w in range(len(low)):
        shared |= low[w] & high[w]
    return bool(shared != 0)


@jit
def _fill_point(i: int, j: int, here: Any, these: Any, made: Any, grid: Any, beams: Any, both: Any) -> None:
    """Gather the best sets of one point from the points below it.

    A cut whose low side has no other sets than one point before is passed over: its high side is less.
    """
    worth, sets = beams.worth, beams.sets
    _take_over(here, these, made, worth[i - 1, j], sets[i - 1, j])
    _inherit(here, these, made, BELOW, worth[i, j - 1], sets[i, j - 1])
    for k in range(len(grid.values)):
        if grid.first_x[k] == i and grid.first_y[k] == j and grid.values[k] > here[-1]:
            _offer(here, these, made, grid.values[k], grid.ones[k], PART, k, 0, 0)
    last, core = len(here) - 1, beams.core
    top, behind, fresh = beams.top_by_column[j], grid.behind_x[i], beams.fresh_x[j]
    a = 1
    while a < i and 2 * grid.xs[a] <= grid.xs[i]:
        b = behind[a]
        if fresh[a] and top[a] + top[b] > here[last] and not _clash(core[a, j], core[b, j]):
            _combine(
                here, these, made, worth[a, j], worth[b, j], sets[a, j], sets[b, j],
                grid, both, CROSSCUT, a,
            )  # fmt: skip
        a += 1
    top, behind, fresh = beams.top[i], grid.behind_y[j], beams.fresh_y[i]
    a = 1
    while a < j and 2 * grid.ys[a] <= grid.ys[j]:
        b = behind[a]
        if fresh[a] and top[a] + top[b] > here[last] and not _clash(core[i, a], core[i, b]):
            _combine(
                here, these, made, worth[i, a], worth[i, b], sets[i, a], sets[i, b],
                grid, both, RIP, a,
            )  # fmt: skip
        a += 1


@jit
def _differ(worth: Any, sets: Any, other: Any, theirs: Any) -> bool:
    """Whether two points have other sets."""
    for p in range(len(worth)):
        if worth[p] != other[p]:
            return True
        for w in range(sets.shape[1]):
            if sets[p, w] != theirs[p, w]:
                return True
    return False


@jit
def _finish_point(i: int, j: int, grid: Any, beams: Any) -> None:
    """Note down what later points ask of this one."""
    worth, sets = beams.worth, beams.sets
    beams.top[i, j] = beams.top_by_column[j, i] = worth[i, j, 0]
    for w in range(len(grid.singles)):
        core = grid.singles[w]
        for p in range(worth.shape[2]):
            core &= sets[i, j, p, w] if worth[i, j, p] > 0 else core
        beams.core[i, j, w] = core
    beams.fresh_x[j, i] = _differ(worth[i, j], sets[i, j], worth[i - 1, j], sets[i - 1, j])
    beams.fresh_y[i, j] = _differ(worth[i, j], sets[i, j], worth[i, j - 1], sets[i, j - 1])


@jit
def _turn(made: Any, turned: Any, mirror: Any) -> None:
    """Write down the making of one point as that of the point with its directions exchanged."""
    for p in range(len(made)):
        kind, one = made[p, 0], made[p, 1]
        if kind == PART:
            one = mirror[one]
        elif kind in (LEFT, BELOW):
            kind = LEFT + BELOW - kind
        elif kind in (CROSSCUT, RIP):
            kind = CROSSCUT + RIP - kind
        turned[p, 0], turned[p, 1], turned[p, 2], turned[p, 3] = kind, one, made[p, 2], made[p, 3]


@jit
def _fill(grid: Any, beams: Any) -> None:
    """Find the sets at every point; with a mirror only those of one half, and the others are turned."""
    both = np.zeros(len(grid.spare), np.uint64)
    worth, sets, made = beams.worth, beams.sets, beams.made
    mirrored = len(grid.mirror) > 0
    for i in range(1, len(grid.xs)):
        for j in range(1, i + 1 if mirrored else len(grid.ys)):
            _fill_point(i, j, worth[i, j], sets[i, j], made[i, j], grid, beams, both)
            _finish_point(i, j, grid, beams)
            if mirrored and j < i:
                worth[j, i] = worth[i, j]
                sets[j, i] = sets[i, j]
                _turn(made[i, j], made[j, i], grid.mirror)
                beams.core[j, i] = beams.core[i, j]
                beams.top[j, i] = beams.top_by_column[i, j] = beams.top[i, j]
                beams.fresh_x[i, j] = beams.fresh_y[i, j]
                beams.fresh_y[j, i] = beams.fresh_x[j, i]


@jit
def _gather(i: int, j: int, most: int, grid: Any, beams: Any) -> Any:
    """Return worth and making of up to `most` sets at one point."""
    here = np.zeros(most, np.int64)
    these = np.zeros((most, len(grid.spare)), np.uint64)
    made = np.zeros((most, 4), np.int32)
    _fill_point(i, j, here, these, made, grid, beams, np.zeros(len(grid.spare), np.uint64))
    return here, made


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
    )


class Beam:
    """The sets at every point of a table for one set of values."""

    def __init__(
        self, table: Table, values: Sequence[int], demand: Sequence[int], width: int | None = None
    ) -> None:
        """`values[k]`: worth of one of part k; `demand[k]`: how many of it a pattern may hold.

        `width`: sets kept at each point; otherwise the more of them, the smaller the table is.
        """
        self._table = table
        ones, spare, guards = Packed([n if v else 0 for n, v in zip(demand, values, strict=True)]).words()
        parts = [it.part for it in table.items]
        singles = np.bitwise_or.reduce(ones[np.array(demand) == 1], axis=0)
        worth = np.array([values[k] if demand[k] else 0 for k in parts], np.int64)
        self._grid = _Grid(
            table.xs, table.ys, table.behind_x, table.behind_y, table.first_x, table.first_y,
            table.mirror, worth, ones[parts], spare, guards, singles,
        )  # fmt: skip
        wide = max(LEAST_WIDTH, min(MOST_WIDTH, int(WORK / max(1.0, table.steps()))))
        self._beams = _empty(self._grid, width or wide)
        _fill(self._grid, self._beams)

    def best(self, point: tuple[int, int]) -> int:
        """Return what the best set at a point is worth."""
        return int(self._beams.top[point])

    def patterns(self, point: tuple[int, int], most: int = MOST) -> Iterator[Ints]:
        """Yield the best patterns at a point, each as rows (kind, item), root first, low side first."""
        if not min(point):
            return
        worth, made = _gather(*point, most, self._grid, self._beams)
        for n in range(int(np.count_nonzero(worth))):
            yield self._trace(point, made[n])

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
    small = table([Item(2, 3, 1, 0), Item(3, 2, 1, 1)], [(6, 6)])
    list(Beam(small, [1, 1], [1, 1]).patterns(small.point(6, 6)))
