"""The pool of layouts met so far, and those of them that a linear programme finds promising."""

from __future__ import annotations

from stockyard.planning.model import UNLIMITED, Candidate, Model
from stockyard.planning.solvers import linear_programme

# Layouts handed to the choice at most.
CHOSEN_FROM = 800
# Layouts kept at most; beyond it only layouts of answers come in.
MOST = 20_000
# A layout is worth recording when it wastes at most this much more than the pieces do on average.
SLACK = 0.04


class Pool:
    """One layout, the best, for each stock row and set of parts of a model."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self._layouts: dict[tuple[int, tuple[tuple[int, int], ...]], Candidate] = {}
        self.filled = 0.7

    def __len__(self) -> int:
        return len(self._layouts)

    def add(self, c: Candidate) -> None:
        """Take a layout in unless one as good is there."""
        key = (c.stock, c.gives)
        known = self._layouts.get(key)
        if c.gives and (c.net < known.net if known else len(self._layouts) < MOST):
            self._layouts[key] = c

    def promising(self) -> list[Candidate]:
        """Return the layouts of least reduced cost in the linear relaxation of the choice."""
        layouts = list(self._layouts.values())
        reduced = self._reduced_costs(layouts)
        order = sorted(range(len(layouts)), key=lambda i: (reduced[i], i))
        return [layouts[i] for i in order[:CHOSEN_FROM]]

    def _reduced_costs(self, layouts: list[Candidate]) -> list[float]:
        """Return the reduced costs in the linear relaxation of the choice."""
        lp = linear_programme()
        costs = self._costs(layouts)
        xs = [lp.NumVar(0, lp.infinity(), "") for _ in layouts]
        demand = [lp.Constraint(p.demand, lp.infinity()) for p in self.model.parts]
        count = [
            lp.Constraint(-lp.infinity(), lp.infinity() if s.count == UNLIMITED else s.count)
            for s in self.model.stock
        ]
        for row in demand:
            absent = lp.NumVar(0, lp.infinity(), "")
            row.SetCoefficient(absent, 1)
            lp.Objective().SetCoefficient(absent, 10.0 * max(costs))
        for c, x, cost in zip(layouts, xs, costs, strict=True):
            lp.Objective().SetCoefficient(x, cost)
            count[c.stock].SetCoefficient(x, 1)
            for t, n in c.gives:
                demand[t].SetCoefficient(x, n)
        lp.Objective().SetMinimization()
        if lp.Solve() != lp.OPTIMAL:
            return costs
        return [float(x.reduced_cost()) for x in xs]

    def _costs(self, layouts: list[Candidate]) -> list[float]:
        """Return money and net material of each layout in one figure, money far heavier."""
        money = max((s.money for s in self.model.stock), default=0) or 1
        area = max(s.area for s in self.model.stock)
        return [100.0 * c.money / money + c.net / area for c in layouts]
