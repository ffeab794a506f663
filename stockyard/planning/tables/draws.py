"""Many good patterns out of one solved table: the way back from its best value, with turns taken by chance.

Tracing the best pattern of a table follows one of the splits that reach its value. Here each split is drawn
among those that lose little of it, so that one table, which is dear, gives as many different patterns as are
wanted, each nearly as good, and none with more of a part than there is demand. Randomised tracing of a
dynamic programme is common practice; the share of the loss that a split may take is ours.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from stockyard.planning.compiled import jit
from stockyard.planning.tables.dp import Ints, Item, Table, Values, table

# Steps of one pattern: it is cut off there, its last rectangles left whole.
MOST_STEPS = 2000
MULTIPLIER, ADDEND, SHIFT = np.uint64(6364136223846793005), np.uint64(1442695040888963407), np.uint64(33)


@jit
def _chance(state: Any) -> Any:
    """Return a number from 0 to 2**31 - 1 (linear congruential, Knuth's multiplier)."""
    state[0] = state[0] * MULTIPLIER + ADDEND
    return np.int64(state[0] >> SHIFT)


@jit
def _corner(best: Any, by_column: Any, i: int, j: int) -> Any:
    """Return the smallest point with the same value."""
    while i and by_column[j, i - 1] == best[i, j]:
        i -= 1
    while j and best[i, j - 1] == best[i, j]:
        j -= 1
    return i, j


@jit
def _splits(
    line: Any, points: Any, behind: Any, i: int, least: float, turn: Any, state: Any, seen: int, kind: int
) -> Any:
    """Look at the splits of one direction; put the one drawn, else the best, into `turn`; return how many
    were good enough so far. turn: kind, cut, what is behind it, its value."""
    a = 1
    while a < i and 2 * points[a] <= points[i]:
        both = line[a] + line[behind[i, a]]
        if both >= least:
            seen += 1
            if _chance(state) % seen == 0:
                turn[0], turn[1], turn[2], turn[3] = kind, a, behind[i, a], both
        elif seen == 0 and both > turn[3]:
            turn[0], turn[1], turn[2], turn[3] = kind, a, behind[i, a], both
        a += 1
    return seen


@jit
def _turn(
    best: Any,
    by_column: Any,
    axes: Any,
    items: Any,
    left: Any,
    i: int,
    j: int,
    least: float,
    turn: Any,
    state: Any,
) -> None:
    """Draw what becomes of one rectangle into `turn`: a part, a split, or nothing."""
    xs, ys, behind_x, behind_y = axes
    first_x, first_y, values, part = items
    turn[0], turn[1], turn[2], turn[3] = 0, 0, 0, 0
    seen = 0
    for k in range(len(values)):
        if values[k] > 0 and first_x[k] <= i and first_y[k] <= j and left[part[k]] > 0:
            if values[k] >= least:
                seen += 1
                if _chance(state) % seen == 0:
                    turn[0], turn[1], turn[2], turn[3] = 1, k, 0, values[k]
            elif seen == 0 and values[k] > turn[3]:
                turn[0], turn[1], turn[2], turn[3] = 1, k, 0, values[k]
    seen = _splits(by_column[j], xs, behind_x, i, least, turn, state, seen, 2)
    _splits(best[i], ys, behind_y, j, least, turn, state, seen, 3)


@jit
def _draw(
    best: Any,
    by_column: Any,
    axes: Any,
    items: Any,
    left: Any,
    i: int,
    j: int,
    loss: float,
    state: Any,
    room: Any,
) -> Any:
    """Write a pattern into the steps of `room`, root first, low side first; return how many, its worth."""
    steps, todo, turn = room
    todo[0, 0], todo[0, 1] = i, j
    depth, n, worth = 1, 0, 0.0
    while depth and n < len(steps):
        depth -= 1
        i, j = _corner(best, by_column, todo[depth, 0], todo[depth, 1])
        top = best[i, j]
        steps[n, 0], steps[n, 1] = 0, 0
        n += 1
        if top <= 0:
            continue
        share = _chance(state) / 2147483648.0
        _turn(best, by_column, axes, items, left, i, j, top - loss * share * share, turn, state)
        kind = int(turn[0])
        if kind == 0:
            continue
        loss = max(0.0, loss - max(0.0, top - turn[3]))
        steps[n - 1, 0] = kind
        if kind == 1:
            k = int(turn[1])
            steps[n - 1, 1] = k
            left[items[3][k]] -= 1
            worth += items[2][k]
            continue
        low, high = int(turn[1]), int(turn[2])
        todo[depth, 0], todo[depth, 1] = (high, j) if kind == 2 else (i, high)
        todo[depth + 1, 0], todo[depth + 1, 1] = (low, j) if kind == 2 else (i, low)
        depth += 2
    return n if depth == 0 else 0, worth


@jit
def _draw_many(
    best: Any, by_column: Any, axes: Any, items: Any, demand: Any, i: int, j: int, loss: float, state: Any,
    ends: Any, worths: Any, written: Any, room: Any,
) -> None:  # fmt: skip
    """Draw a pattern for each place in `ends`, one after the other into `written` ."""
    left = demand.copy()
    end = 0
    for t in range(len(ends)):
        left[:] = demand
        n, worth = _draw(best, by_column, axes, items, left, i, j, loss, state, room)
        if end + n > len(written):
            n = 0
        written[end : end + n] = room[0][:n]
        end += n
        ends[t], worths[t] = end, worth


@dataclass(frozen=True, slots=True)
class Solved:
    """A table that was solved for some values of its items, ready to draw from."""

    table: Table
    values: Values
    best: Values
    by_column: Values
    parts: Ints

    @classmethod
    def of(cls, table: Table, values: Values, stop: Callable[[], bool]) -> Solved | None:
        """Solve a table for the values of its items; None when told to `stop`."""
        best = table.solve_unless(values, stop)
        if best is None:
            return None
        parts = np.array([it.part for it in table.items], dtype=np.int64)
        return cls(table, values, best, np.ascontiguousarray(best.T), parts)

    def draw(
        self, point: tuple[int, int], demand: Sequence[int], loss: float, tries: int, seed: int
    ) -> list[tuple[float, Ints]]:
        """Return patterns within the demand for the rectangle of a point, and their worth.

        loss: what a pattern may be worth less than the best, beside what the demand takes from it.
        """
        t = self.table
        ends, worths = np.zeros(tries, np.int64), np.zeros(tries, np.float64)
        written = np.empty((max(tries * 200, MOST_STEPS), 2), np.int64)
        room = (np.empty((MOST_STEPS, 2), np.int64), np.empty((MOST_STEPS + 2, 2), np.int64), np.zeros(4))
        _draw_many(
            self.best, self.by_column, (t.xs, t.ys, t.behind_x, t.behind_y),
            (t.first_x, t.first_y, self.values, self.parts), np.array(demand, np.int64), *point, loss,
            np.array([seed], np.uint64), ends, worths, written, room,
        )  # fmt: skip
        begins = [0, *ends[:-1].tolist()]
        return [
            (float(worth), written[begin:end])
            for begin, end, worth in zip(begins, ends.tolist(), worths, strict=True)
            if end > begin
        ]


def compile_draws() -> None:
    """Compile what drawing needs."""
    small = table([Item(2, 3, 1, 0), Item(3, 2, 1, 1)], [(6, 6)])
    solved = Solved.of(small, np.ones(2, np.float32), lambda: False)
    if solved is not None:
        solved.draw(small.point(6, 6), [1, 1], 0.1, 2, 1)
