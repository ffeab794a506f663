"""Good patterns with no more of a part than is wanted: the table of `dp.py` with several sets a point.

Each raster point keeps the most valuable sets of parts that can be cut from its rectangle, a beam of
them, and two sets join only where the demand allows it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from stockyard.planning.compiled import jit
from stockyard.planning.dp import CROSSCUT, PART, RIP, Ints, Item, Table, table
from stockyard.planning.packed import Packed

# Kinds of entry beside those of a trace: the same as at the point to the left, or at the one below.
LEFT, BELOW = 4, 5
# Sets kept at a point, and patterns given for a piece.
WIDTH, MOST = 8, 100


@jit
def _place_of(worth: Any, sets: Any, value: int, words: Any) -> int:
    """Return where a set belongs among those of one point, -1 when it is there or too poor."""
    n = 0
    while n < len(worth) and worth[n] > value:
        n += 1
    while n < len(worth) and worth[n] == value:
        same = True
        for w in range(len(words)):
            same = same and sets[n, w] == words[w]
        if same:
            return -1
        n += 1
    return n if n < len(worth) else -1


@jit
def _offer(
    worth: Any, sets: Any, made: Any, value: int, words: Any, kind: int, one: int, low: int, high: int
) -> None:  # fmt: skip
    """Put a set and its making among those of one point where it belongs; the last one goes."""
    n = _place_of(worth, sets, value, words)
    if n < 0:
        return
    for m in range(len(worth) - 1, n, -1):
        worth[m] = worth[m - 1]
        sets[m] = sets[m - 1]
        made[m] = made[m - 1]
    worth[n] = value
    sets[n] = words
    made[n, 0], made[n, 1], made[n, 2], made[n, 3] = kind, one, low, high


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
    spare: Any, guards: Any, both: Any, kind: int, cut: int,
) -> None:  # fmt: skip
    """Try all sets of one side of a cut with all of the other."""
    for p in range(len(low)):
        if low[p] <= 0 or low[p] + high[0] <= worth[-1]:
            return
        for q in range(len(high)):
            value = low[p] + high[q]
            if high[q] <= 0 or value <= worth[-1]:
                break
            fits = True
            for w in range(len(both)):
                both[w] = low_sets[p, w] + high_sets[q, w]
                fits = fits and (both[w] + spare[w]) & guards[w] == 0
            if fits:
                _offer(worth, sets, made, value, both, kind, cut, p, q)


@jit
def _fill_point(
    i: int, j: int, here: Any, these: Any, made: Any, worth: Any, sets: Any, xs: Any, ys: Any,
    behind_x: Any, behind_y: Any, first_x: Any, first_y: Any, values: Any, ones: Any,
    spare: Any, guards: Any, both: Any,
) -> None:  # fmt: skip
    """Gather the best sets of one point from the points below it."""
    _inherit(here, these, made, LEFT, worth[i - 1, j], sets[i - 1, j])
    _inherit(here, these, made, BELOW, worth[i, j - 1], sets[i, j - 1])
    for k in range(len(values)):
        if first_x[k] == i and first_y[k] == j and values[k] > here[-1]:
            _offer(here, these, made, values[k], ones[k], PART, k, 0, 0)
    a = 1
    while a < i and 2 * xs[a] <= xs[i]:
        b = behind_x[i, a]
        _combine(
            here, these, made, worth[a, j], worth[b, j], sets[a, j], sets[b, j],
            spare, guards, both, CROSSCUT, a,
        )  # fmt: skip
        a += 1
    a = 1
    while a < j and 2 * ys[a] <= ys[j]:
        b = behind_y[j, a]
        _combine(
            here, these, made, worth[i, a], worth[i, b], sets[i, a], sets[i, b],
            spare, guards, both, RIP, a,
        )  # fmt: skip
        a += 1


@jit
def _fill(
    xs: Any, ys: Any, behind_x: Any, behind_y: Any, first_x: Any, first_y: Any,
    values: Any, ones: Any, spare: Any, guards: Any, beam: int,
) -> Any:  # fmt: skip
    """Return worth, sets and making of the beam at every point; worth 0: nothing."""
    nx, ny = len(xs), len(ys)
    worth = np.zeros((nx, ny, beam), np.int64)
    sets = np.zeros((nx, ny, beam, ones.shape[1]), np.uint64)
    made = np.zeros((nx, ny, beam, 4), np.int32)
    both = np.zeros(ones.shape[1], np.uint64)
    for i in range(1, nx):
        for j in range(1, ny):
            _fill_point(
                i, j, worth[i, j], sets[i, j], made[i, j], worth, sets, xs, ys, behind_x, behind_y,
                first_x, first_y, values, ones, spare, guards, both,
            )  # fmt: skip
    return worth, sets, made


@jit
def _gather(
    i: int, j: int, most: int, worth: Any, sets: Any, xs: Any, ys: Any,
    behind_x: Any, behind_y: Any, first_x: Any, first_y: Any,
    values: Any, ones: Any, spare: Any, guards: Any,
) -> Any:  # fmt: skip
    """Return worth and making of up to `most` sets at one point."""
    here = np.zeros(most, np.int64)
    these = np.zeros((most, ones.shape[1]), np.uint64)
    made = np.zeros((most, 4), np.int32)
    _fill_point(
        i, j, here, these, made, worth, sets, xs, ys, behind_x, behind_y, first_x, first_y,
        values, ones, spare, guards, np.zeros(ones.shape[1], np.uint64),
    )  # fmt: skip
    return here, made


class Beam:
    """The sets at every point of a table for one set of values."""

    def __init__(
        self, table: Table, values: Sequence[int], demand: Sequence[int], width: int = WIDTH
    ) -> None:
        """`values[k]`: worth of one of part k; `demand[k]`: how many of it a pattern may hold.

        `width`: sets kept at each point.
        """
        self._table = table
        ones, spare, guards = Packed(demand).words()
        parts = [it.part for it in table.items]
        worth = np.array([values[k] if demand[k] else 0 for k in parts], np.int64)
        self._given = (
            table.xs, table.ys, table.behind_x, table.behind_y, table.first_x, table.first_y,
            worth, ones[parts], spare, guards,
        )  # fmt: skip
        self._worth, self._sets, self._made = _fill(*self._given, width)

    def best(self, point: tuple[int, int]) -> int:
        """Return what the best set at a point is worth."""
        return int(self._worth[(*point, 0)])

    def patterns(self, point: tuple[int, int], most: int = MOST) -> Iterator[Ints]:
        """Yield the best patterns at a point, each as rows (kind, item), root first, low side first."""
        if not min(point):
            return
        worth, made = _gather(*point, most, self._worth, self._sets, *self._given)
        for n in range(int(np.count_nonzero(worth))):
            yield self._trace(point, made[n])

    def _trace(self, point: tuple[int, int], made: Any) -> Ints:
        steps: list[tuple[int, int]] = []
        todo = [(*point, made)]
        while todo:
            i, j, made = todo.pop()
            kind, one, low, high = made.tolist()
            if kind == LEFT:
                todo.append((i - 1, j, self._made[i - 1, j, one]))
            elif kind == BELOW:
                todo.append((i, j - 1, self._made[i, j - 1, one]))
            elif kind in (CROSSCUT, RIP):
                steps.append((kind, 0))
                behind = self._table.behind_x if kind == CROSSCUT else self._table.behind_y
                rest = int(behind[i if kind == CROSSCUT else j, one])
                sides = ((rest, j), (one, j)) if kind == CROSSCUT else ((i, rest), (i, one))
                todo += [(*side, self._made[(*side, n)]) for side, n in zip(sides, (high, low), strict=True)]
            else:
                steps.append((kind, one))
        return np.array(steps, np.int64)


def compile_beams() -> None:
    """Compile what a beam needs."""
    small = table([Item(2, 3, 1, 0), Item(3, 2, 1, 1)], [(6, 6)])
    list(Beam(small, [1, 1], [1, 1]).patterns(small.point(6, 6)))
