"""The linear programme of choosing layouts: parts covered, stock rows kept to their counts, least cost.

The relaxation of Gilmore and Gomory (1961); its columns are layouts, and more can be added at any time.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from stockyard.planning.model import Model
from stockyard.planning.solvers import from_scratch, linear_programme

Gives = tuple[tuple[int, int], ...]
"""Parts of the model by index, each with how many of it a layout gives."""


@dataclass(frozen=True, slots=True)
class Duals:
    """A linear optimum: its cost, the worth of one of each part, the rent of a piece of each stock row.

    money: what spending one unit less would cost. All are 0 or more.
    """

    cost: float
    parts: list[float]
    rents: list[float]
    money: float


class Programme:
    """The programme of one model; it starts each time from its last optimum.

    unit: the money of the dearest piece. moneys: what a piece of each stock row costs, in that unit.
    """

    def __init__(self, model: Model, absent: float = 0.0) -> None:
        """`absent`: what it costs to leave out one part."""
        self._lp = linear_programme()
        self._inf = self._lp.infinity()
        self.unit = float(max((s.money for s in model.stock), default=0) or 1)
        self.moneys = [s.money / self.unit for s in model.stock]
        self._demand = [self._lp.Constraint(0.0, self._inf) for _ in model.parts]
        self._count = [self._lp.Constraint(-self._inf, self._inf) for _ in model.stock]
        self._spent: Any = None  # the row of money, once it is limited
        self._absent = [self._lp.NumVar(0, self._inf, "") for _ in model.parts]
        for row, x in zip(self._demand, self._absent, strict=True):
            row.SetCoefficient(x, 1.0)
        self._vars: list[Any] = []
        self._stock: list[int] = []
        self._objective = self._lp.Objective()
        self._objective.SetMinimization()
        self._failed = False
        self._known = Duals(0.0, [0.0] * len(model.parts), [0.0] * len(model.stock), 0.0)
        self.price_absent(absent)
        self.ask([p.demand for p in model.parts], [s.count for s in model.stock])

    def __len__(self) -> int:
        return len(self._vars)

    def add(self, stock: int, gives: Gives, cost: float) -> None:
        """Add a layout."""
        x = self._lp.NumVar(0, self._inf, "")
        for k, n in gives:
            self._demand[k].SetCoefficient(x, float(n))
        self._count[stock].SetCoefficient(x, 1.0)
        if self._spent is not None:
            self._spent.SetCoefficient(x, self.moneys[stock])
        self._objective.SetCoefficient(x, cost)
        self._vars.append(x)
        self._stock.append(stock)

    def ask(self, demand: Sequence[float], counts: Sequence[float]) -> None:
        """Set how many parts are wanted and how many pieces may be had (negative = any)."""
        for row, n in zip(self._demand, demand, strict=True):
            row.SetBounds(float(n), self._inf)
        for row, n in zip(self._count, counts, strict=True):
            row.SetBounds(-self._inf, float(n) if n >= 0 else self._inf)

    def price(self, costs: Iterable[float]) -> None:
        """Set what each layout costs."""
        for x, cost in zip(self._vars, costs, strict=True):
            self._objective.SetCoefficient(x, cost)

    def price_absent(self, cost: float) -> None:
        """Set what it costs to leave out one part."""
        for x in self._absent:
            self._objective.SetCoefficient(x, cost)

    def price_each_absent(self, costs: Iterable[float]) -> None:
        """Set what it costs to leave out one of each part."""
        for x, cost in zip(self._absent, costs, strict=True):
            self._objective.SetCoefficient(x, cost)

    def limit_money(self, most: int | None) -> None:
        """Set the money that may be spent, None for any."""
        if self._spent is None and most is not None:
            self._spent = self._lp.Constraint(-self._inf, self._inf)
            for x, stock in zip(self._vars, self._stock, strict=True):
                self._spent.SetCoefficient(x, self.moneys[stock])
        if self._spent is not None:
            self._spent.SetBounds(-self._inf, self._inf if most is None else most / self.unit)

    def allow(self, layout: int, usable: bool) -> None:
        """Set whether a layout may be used."""
        self._vars[layout].SetUb(self._inf if usable else 0.0)

    def solve(self) -> float:
        """Return the least cost; infinity when the solver fails, also from scratch.

        Nothing is taken then, and the prices are those that were asked for last.
        """
        self._failed = (
            self._lp.Solve() != self._lp.OPTIMAL and self._lp.Solve(from_scratch()) != self._lp.OPTIMAL
        )
        return float("inf") if self._failed else float(self._objective.Value())

    def duals(self) -> Duals:
        """Return the prices of the last optimum."""
        if not self._failed:
            self._known = Duals(
                float(self._objective.Value()),
                [max(0.0, row.dual_value()) for row in self._demand],
                [max(0.0, -row.dual_value()) for row in self._count],
                0.0 if self._spent is None else max(0.0, -self._spent.dual_value()) / self.unit,
            )
        return self._known

    def reduced(self) -> tuple[float, ...]:
        """Return what each layout costs beyond the worth of its parts, the rent and the money it takes."""
        return tuple(0.0 if self._failed else x.reduced_cost() for x in self._vars)

    def taken(self, layouts: Iterable[int]) -> list[float]:
        """Return how much the last optimum takes of these layouts."""
        return [0.0 if self._failed else self._vars[n].solution_value() for n in layouts]

    def left_out(self) -> float:
        """Return how many parts the last optimum leaves out."""
        return 0.0 if self._failed else float(sum(x.solution_value() for x in self._absent))
