"""Pricing for parts that lie anywhere: what a piece can hold at most, by weights that no packing exceeds.

A pattern here is a number of each part whose weights under several dual feasible functions (bounds/dff.py;
Carlier, Clautiaux and Moukrim 2007) fit the piece; every real layout is such a pattern, so the most one may
be worth bounds what any layout may. The best is found by CP-SAT where rows are few, else the least of the
fractional fillings (Dantzig 1957) of each weight alone. Patterns found are no layouts, nor offered as such.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stockyard.planning.bounds.dff import Weights, weights
from stockyard.planning.model import Candidate, Model
from stockyard.planning.solvers import constraint_solver
from stockyard.planning.tables.pricing import Column, Layout

# The largest value of a part; weights are rounded, so that they stay true, to no more than this.
TOP_VALUE, TOP_WEIGHT = 100_000, 1_000_000
# Weights that a pattern must keep to, and the stock rows up to which each is asked about exactly.
MOST_WEIGHTS, MOST_ROWS = 24, 4
# Deterministic seconds of one such question.
WORK = 0.1


@dataclass(frozen=True, slots=True)
class FreePriced:
    """The most one piece of each row can hold, and how many of each part the best filling has."""

    best: tuple[int, ...]
    fillings: tuple[tuple[int, ...], ...]


class FreePricer:
    """Prices the stock of one model whose parts lie anywhere."""

    top = TOP_VALUE

    def __init__(self, model: Model) -> None:
        self.model = model
        found = weights(model, MOST_WEIGHTS)
        self._fits = [[bool(p.lies[j]) for p in model.parts] for j in range(len(model.stock))]
        self._rows = [[_whole(w, j) for w in found] for j in range(len(model.stock))]

    def most(self, values: Sequence[float]) -> float:
        """Return the largest of the values, which becomes `top`."""
        return max(values, default=0.0)

    def price(self, values: Sequence[int], demand: Sequence[int]) -> FreePriced:
        """Return the most value of each stock row when one of part i is worth values[i]."""
        exactly = len(self.model.stock) <= MOST_ROWS
        best, fillings = [], []
        for fits, rows in zip(self._fits, self._rows, strict=True):
            most = [d if ok and v else 0 for d, ok, v in zip(demand, fits, values, strict=True)]
            value, filling = _fractional(values, most, rows)
            if exactly and value:
                value, filling = _exact(values, most, rows, value, filling)
            best.append(value)
            fillings.append(filling)
        return FreePriced(tuple(best), tuple(fillings))

    def columns(self, priced: FreePriced, stock: int) -> list[Column]:
        """Return the best filling of one stock row."""
        gives = tuple((i, n) for i, n in enumerate(priced.fillings[stock]) if n)
        return [Column(stock, gives, b"", 0)] if gives else []

    def exact(self, layout: Layout) -> bool:  # noqa: ARG002
        """Whether a column is a layout: none is."""
        return False

    def candidate(self, column: Layout) -> Candidate:  # noqa: ARG002
        """Return a column as a layout: there is none."""
        raise AssertionError("a filling by weights is no layout")


Row = tuple[tuple[int, ...], int]
"""What each part weighs, and what one piece holds."""


def _whole(w: Weights, stock: int) -> Row:
    """Return weights for one stock row in small numbers: parts rounded down, the piece rounded up."""
    step = -(-max(1, w.holds[stock]) // TOP_WEIGHT)
    return tuple(v // step for v in w.parts), -(-w.holds[stock] // step)


def _fractional(
    values: Sequence[int], most: Sequence[int], rows: Sequence[Row]
) -> tuple[int, tuple[int, ...]]:
    """Return the least of the fractional fillings, rounded up to whole values, and its whole parts."""
    total = sum(v * n for v, n in zip(values, most, strict=True))
    best, filling = total, tuple(most)
    v = np.array(values, dtype=np.float64)
    for weigh, holds in rows:
        w = np.array(weigh, dtype=np.float64)
        order = np.argsort(-np.where(w > 0, v / np.maximum(w, 1e-9), np.inf), kind="stable")
        left, worth, taken = float(holds), 0.0, [0] * len(values)
        for i in order.tolist():
            if not most[i]:
                continue
            n = most[i] if weigh[i] == 0 else min(float(most[i]), left / weigh[i])
            taken[i], left, worth = int(n), left - n * weigh[i], worth + n * values[i]
            if left <= 0 and weigh[i]:  # what weighs nothing comes first, and all of it is taken
                break
        bound = int(worth * (1 + 1e-9)) + 1
        if bound < best:
            best, filling = bound, tuple(taken)
    return best, filling


def _exact(
    values: Sequence[int], most: Sequence[int], rows: Sequence[Row], bound: int, filling: tuple[int, ...]
) -> tuple[int, tuple[int, ...]]:
    """Return the most a filling that keeps to all weights may be worth, and one that comes to it or near."""
    from ortools.sat.python import cp_model

    cp = cp_model.CpModel()
    some = [i for i, n in enumerate(most) if n]
    x = {i: cp.new_int_var(0, most[i], "") for i in some}
    for weigh, holds in rows:
        if sum(weigh[i] * most[i] for i in some) > holds:
            cp.add(sum(weigh[i] * x[i] for i in some if weigh[i]) <= holds)
    cp.maximize(sum(values[i] * x[i] for i in some))
    solver = constraint_solver()
    solver.parameters.max_deterministic_time = WORK
    status = solver.solve(cp)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return bound, filling
    found = tuple(int(solver.value(x[i])) if i in x else 0 for i in range(len(values)))
    return min(bound, int(solver.best_objective_bound + 0.5)), found
