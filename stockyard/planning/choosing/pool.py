"""The pool of layouts met so far, and what a linear programme over it says of each.

The linear programme is the relaxation of the choice (Gilmore and Gomory 1961): its prices tell which
layouts a better plan may use, and what a layout that is still missing would have to hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from stockyard.planning.model import UNLIMITED, Candidate, Model
from stockyard.planning.solvers import linear_programme

# Layouts kept at most; beyond it only better ones for known sets of parts come in.
MOST = 40_000
# Layouts handed to the choice at most.
CHOSEN_FROM = 5000
# Where money decides, net material counts this much, both in units of the largest piece.
FINE = 1e-3
# A part left out costs more than any piece.
ABSENT = 20.0
# Differences below this are rounding.
NOTHING = 1e-7


@dataclass(frozen=True, slots=True)
class Prices:
    """A linear optimum over the pool: its cost, the worth of one of each part, the rent of each stock row.

    `reduced` tells for each layout of the pool what it costs beyond the worth of its parts. Costs are
    in units of the dearest (or largest) piece. `area` is that unit (ticks²) when they are net material,
    0 when they are money.
    """

    cost: float
    parts: tuple[float, ...]
    pieces: tuple[float, ...]
    reduced: tuple[float, ...]
    area: float


class Pool:
    """One layout, the best, for each stock row and set of parts of a model."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.layouts: list[Candidate] = []
        self._place: dict[tuple[int, tuple[tuple[int, int], ...]], int] = {}
        self._programme: _Programme | None = None
        self._money = float(max(s.money for s in model.stock) or 1)
        self._area = float(max(s.area for s in model.stock))

    def __len__(self) -> int:
        return len(self.layouts)

    def add(self, c: Candidate) -> None:
        """Take a layout in unless one as good is there."""
        key = (c.stock, c.gives)
        n = self._place.get(key)
        if n is not None:
            if c.net < self.layouts[n].net:
                self.layouts[n] = c
        elif c.gives and len(self.layouts) < MOST:
            self._place[key] = len(self.layouts)
            self.layouts.append(c)

    def cost(self, money: int, net: int, *, by_net: bool) -> float:
        """Return money and net material (of a layout or a plan) in one figure of the linear programme."""
        return net / self._area if by_net else money / self._money + FINE * net / self._area

    def relax(self, most_money: int | None) -> Prices | None:
        """Return the linear optimum: least money, or least net material for `most_money` at most."""
        if self._programme is None:
            self._programme = _Programme(self.model, self._money, self._area)
        by_net = most_money is not None
        costs = [self.cost(c.money, c.net, by_net=by_net) for c in self.layouts]
        return self._programme.solve(self.layouts, costs, most_money)

    def reduced_cost(self, c: Candidate, prices: Prices) -> float:
        """Return what a layout costs beyond the worth of its parts; less than nothing: it helps."""
        worth = sum(n * prices.parts[k] for k, n in c.gives)
        return self.cost(c.money, c.net, by_net=bool(prices.area)) + prices.pieces[c.stock] - worth

    def within(self, prices: Prices, cost: float) -> list[Candidate]:
        """Return the layouts that a plan of this cost may use, by the linear optimum; the best first."""
        gap = cost - prices.cost + NOTHING
        order = sorted((r, n) for n, r in enumerate(prices.reduced) if r <= gap)
        return [self.layouts[n] for _, n in order[:CHOSEN_FROM]]


class _Programme:
    """The linear programme, kept between solves so that it starts from its last optimum."""

    def __init__(self, model: Model, money: float, area: float) -> None:
        self._lp = linear_programme()
        inf = self._lp.infinity()
        self._vars: list[Any] = []
        self._scale, self._area = money, area
        self._demand = [self._lp.Constraint(float(p.demand), inf) for p in model.parts]
        self._count = [
            self._lp.Constraint(-inf, inf if s.count == UNLIMITED else float(s.count)) for s in model.stock
        ]
        self._money = self._lp.Constraint(-inf, inf)
        for row in self._demand:
            absent = self._lp.NumVar(0, inf, "")
            row.SetCoefficient(absent, 1.0)
            self._lp.Objective().SetCoefficient(absent, ABSENT)
        self._moneys = [s.money / money for s in model.stock]
        self._lp.Objective().SetMinimization()

    def solve(
        self, layouts: Sequence[Candidate], costs: Sequence[float], most_money: int | None
    ) -> Prices | None:
        inf = self._lp.infinity()
        for c in layouts[len(self._vars) :]:
            x = self._lp.NumVar(0, inf, "")
            self._count[c.stock].SetCoefficient(x, 1.0)
            self._money.SetCoefficient(x, self._moneys[c.stock])
            for k, n in c.gives:
                self._demand[k].SetCoefficient(x, float(n))
            self._vars.append(x)
        objective = self._lp.Objective()
        for x, cost in zip(self._vars, costs, strict=True):
            objective.SetCoefficient(x, cost)
        self._money.SetBounds(-inf, inf if most_money is None else most_money / self._scale)
        if self._lp.Solve() != self._lp.OPTIMAL:
            return None
        rent = -min(0.0, self._money.dual_value())
        pieces = [rent * m - min(0.0, r.dual_value()) for m, r in zip(self._moneys, self._count, strict=True)]
        return Prices(
            cost=objective.Value(),
            parts=tuple(max(0.0, r.dual_value()) for r in self._demand),
            pieces=tuple(pieces),
            reduced=tuple(x.reduced_cost() for x in self._vars),
            area=0.0 if most_money is None else self._area,
        )
