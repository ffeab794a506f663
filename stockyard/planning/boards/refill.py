"""Boards emptied and filled anew by chance, until their fills make a plan of a given cost.

At the values of the linear optimum such a plan has only fills that cost little beyond the worth of
their parts (`fills.py`). Where these are too many to be listed, they are tried by chance: a few boards
are emptied and filled again from the parts that are free, and what leaves no more free stays (ruin and
recreate, Schrimpf, Schneider, Stamm-Wilbrandt and Dueck 2000).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from stockyard.planning.compiled import jit, lean
from stockyard.planning.recreate.forest import REGISTERS, SEED_A, SEED_B, begin_luck, draw

# Boards emptied at once are one to this many.
MOST_EMPTIED = 4
# Parts tried in one board before it is given up.
TRIES = 400
# A fill may take by chance so many of these shares of what may still be spent, so that it lasts.
SHARES = 4
# Worth and costs are whole numbers held as floats.
HALF = 0.5


class _Job(NamedTuple):
    """What does not change. Sizes fall; ratio: the most that one place of room can be worth.

    lies[j, i]: whether part i may lie on stock row j.
    """

    sizes: Any
    values: Any
    ratio: float
    rooms: Any
    costs: Any
    lies: Any
    allowance: float


class _State(NamedTuple):
    """The boards so far, and what is left. many[0]: how many; spent[0]: their cost beyond their worth."""

    taken: Any
    rows: Any
    free: Any
    left: Any
    many: Any
    spent: Any


@lean
def _shuffle(order: Any, many: int, luck: Any) -> None:
    for i in range(many - 1, 0, -1):
        k = draw(luck, i + 1)
        order[i], order[k] = order[k], order[i]


@lean
def _closing(job: Any, lies: Any, room: int, worth: float, need: float, free: Any, take: Any) -> int:
    """Return the part that makes a fill worth enough; how many parts there are if it is, -1 if none does."""
    many = len(job.sizes)
    if worth >= need:
        return many
    low, high = 0, many
    while low < high:  # the longest part that fits
        middle = (low + high) // 2
        if job.sizes[middle] <= room:
            high = middle
        else:
            low = middle + 1
    while low < many and worth + job.ratio * job.sizes[low] >= need:
        if lies[low] and free[low] > take[low] and worth + job.values[low] >= need:
            return low
        low += 1
    return -1


@lean
def _fill(
    job: Any, first: int, j: int, need: float, free: Any, take: Any, order: Any, path: Any, luck: Any
) -> bool:
    """Find parts that are free, `first` among them, worth at least `need` in one board of stock row `j`."""
    sizes, lies, many, depth, place = job.sizes, job.lies[j], 0, 0, 0
    take[:] = 0
    take[first] = 1
    room = job.rooms[j] - sizes[first]
    worth = job.values[first]
    for i in range(len(sizes)):
        if lies[i] and free[i] > take[i] and sizes[i] <= room:
            order[many] = i
            many += 1
    _shuffle(order, many, luck)
    for _ in range(TRIES if room >= 0 else 0):
        last = _closing(job, lies, room, worth, need, free, take)
        if last >= 0:
            if last < len(sizes):
                take[last] += 1
            return True
        while place == many or free[order[place]] <= take[order[place]] or sizes[order[place]] > room:
            if place < many:
                place += 1
                continue
            if depth == 0:
                return False
            depth -= 1
            place = path[depth]
            take[order[place]] -= 1
            room += sizes[order[place]]
            worth -= job.values[order[place]]
            place += 1
        path[depth] = place
        depth += 1
        take[order[place]] += 1
        room -= sizes[order[place]]
        worth += job.values[order[place]]
    return False


@jit
def _empty(job: Any, state: Any, f: int) -> None:
    """Take the parts out of one board; the last one comes in its place."""
    row, last = state.rows[f], state.many[0] - 1
    state.free[:] += state.taken[f]
    state.left[row] += 1
    state.spent[0] -= job.costs[row] - (state.taken[f] * job.values).sum()
    state.taken[f] = state.taken[last]
    state.rows[f] = state.rows[last]
    state.many[0] = last


@jit
def _put(job: Any, state: Any, j: int, take: Any) -> None:
    """Add a board of stock row `j` with these parts."""
    n = state.many[0]
    state.taken[n] = take
    state.rows[n] = j
    state.many[0] = n + 1
    state.free[:] -= take
    state.left[j] -= 1
    state.spent[0] += job.costs[j] - (take * job.values).sum()


@jit
def _fill_up(job: Any, state: Any, take: Any, order: Any, path: Any, stock: Any, luck: Any) -> None:
    """Fill boards from the longest free part on; a part with which no fill is found stays free."""
    first = 0
    while first < len(job.sizes):
        found = False
        if state.free[first] > 0:
            _shuffle(stock, len(stock), luck)
            for j in stock:
                share = draw(luck, SHARES + 1) / SHARES
                need = job.costs[j] - (job.allowance - state.spent[0]) * share - HALF
                usable = state.left[j] != 0 and job.lies[j, first]
                if usable and _fill(job, first, j, need, state.free, take, order, path, luck):
                    _put(job, state, j, take)
                    found = True
                    break
        if not found:
            first += 1


@jit
def _copy(one: Any, other: Any) -> None:
    """Make the second state like the first."""
    n = one.many[0]
    other.taken[:n] = one.taken[:n]
    other.rows[:n] = one.rows[:n]
    other.free[:] = one.free
    other.left[:] = one.left
    other.many[0] = n
    other.spent[0] = one.spent[0]


@jit
def _refill(job: Any, state: Any, kept: Any, luck: Any, rounds: int) -> bool:
    """Empty and fill boards so many times; return whether all parts have found a place."""
    parts = len(job.sizes)
    take, order, stock = np.zeros(parts, np.int64), np.zeros(parts, np.int64), np.arange(len(job.rooms))
    path = np.zeros(len(state.rows) + 1, np.int64)
    for _ in range(rounds):
        _copy(state, kept)
        for _ in range(min(state.many[0], 1 + draw(luck, MOST_EMPTIED))):
            _empty(job, state, draw(luck, state.many[0]))
        _fill_up(job, state, take, order, path, stock, luck)
        if not state.free.any():
            return True
        if (state.free * job.values).sum() > (kept.free * job.values).sum():
            _copy(kept, state)
    return False


def _state(demand: Any, counts: Any, most: int) -> _State:
    """Return the state without a board."""
    return _State(
        taken=np.zeros((most, len(demand)), np.int64),
        rows=np.zeros(most, np.int64),
        free=demand.copy(),
        left=counts.copy(),
        many=np.zeros(1, np.int64),
        spent=np.zeros(1),
    )


class Refill:
    """One search, to be run bit by bit; the same seed finds the same."""

    def __init__(
        self,
        parts: Sequence[tuple[int, int, int]],
        stock: Sequence[tuple[int, int, int]],
        lies: Sequence[Sequence[bool]],
        allowance: int,
        seed: int,
    ) -> None:
        """parts: size, value, how many; stock: room, cost, how many (negative: any number).

        `lies[j][k]`: whether part k may lie on stock row j. `allowance`: what all fills together may cost
        beyond the worth of their parts.
        """
        self._order = sorted(range(len(parts)), key=lambda k: (-parts[k][0], k))
        sizes, values, demand = (np.array([parts[k][n] for k in self._order], np.int64) for n in range(3))
        rooms, costs, counts = (np.array([s[n] for s in stock], np.int64) for n in range(3))
        worth, most = values.astype(np.float64), int(demand.sum())
        ratio = float((worth / sizes).max()) * (1 + 1e-12)
        # Picked columns lie otherwise in memory, for which everything would be compiled once more.
        may = np.ascontiguousarray(np.array(lies, np.bool_)[:, self._order])
        self._job = _Job(sizes, worth, ratio, rooms, costs.astype(np.float64), may, float(allowance))
        self._state, self._kept = (_state(demand, counts, most) for _ in range(2))
        self._luck = np.zeros((REGISTERS + 1, max(SEED_A, SEED_B) + 1), np.int64)
        begin_luck(self._luck[REGISTERS], seed)

    def run(self, rounds: int) -> list[tuple[int, tuple[tuple[int, int], ...]]]:
        """Go on for so many rounds; return fills (stock row, its parts) that hold all parts, or nothing."""
        if not _refill(self._job, self._state, self._kept, self._luck, rounds):
            return []
        fills = []
        for f in range(int(self._state.many[0])):
            taken = self._state.taken[f]
            gives = sorted((self._order[i], int(taken[i])) for i in np.flatnonzero(taken))
            fills.append((int(self._state.rows[f]), tuple(gives)))
        return fills


def compile_refill() -> None:
    """Compile what a search needs."""
    Refill([(1, 1, 1)], [(1, 1, 1)], [[True]], 0, 0).run(1)
