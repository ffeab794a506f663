"""Column generation: the linear relaxation of choosing layouts, and the cuts in piece counts it proves.

Gilmore and Gomory (1961, 1965); several limited stock rows as in Belov and Scheithauer (2002). For
any values y of the parts, a plan with n_j pieces of stock row j obeys
    sum_j best_j(y) n_j >= sum_i demand_i y_i,
where best_j(y) is the most value one piece can hold. Each pricing gives one such cut, in whole
numbers and so exact; what the pieces cost is not part of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import count
from math import ceil, inf
from time import monotonic
from typing import Any, Protocol

from stockyard.planning.bounds.piececuts import PieceCut
from stockyard.planning.model import Candidate, Model
from stockyard.planning.programme import Duals, Gives, Programme
from stockyard.planning.tables.pricing import Column, Layout

# Share of the best values so far in the values that are priced (Wentges 1997).
SMOOTH = 0.5
# Differences below this are rounding, in units of the dearest piece.
NOTHING = 1e-6


@dataclass(frozen=True, slots=True)
class Relaxed:
    """Where column generation stopped: how much of each column the linear optimum takes.

    missing: parts it leaves out. settled: going on would not change what was asked.
    """

    taken: tuple[tuple[Layout, float], ...]
    missing: float
    settled: bool


class AnyPriced(Protocol):
    """What pricing gives: the best value on each stock row."""

    @property
    def best(self) -> tuple[int, ...]: ...


class AnyPricer(Protocol):
    """`pricing.Pricer` or `bars.BarPricer`."""

    top: int

    def most(self, values: Sequence[float]) -> float: ...
    def price(self, values: Sequence[int], demand: Sequence[int]) -> Any: ...
    def columns(self, priced: Any, stock: int) -> list[Column]: ...
    def exact(self, layout: Layout) -> bool: ...
    def candidate(self, column: Layout) -> Candidate: ...


class Master:
    """The linear programme over the columns found so far; objectives may change between solves."""

    def __init__(self, model: Model) -> None:
        self._layouts: list[Layout] = []
        self._seen: set[tuple[int, Gives]] = set()
        self._programme = Programme(model)
        self._costs = [0.0] * len(model.stock)
        self.ask = self._programme.ask

    @property
    def columns(self) -> list[Column]:
        """The columns found, without layouts from elsewhere."""
        return [c for c in self._layouts if isinstance(c, Column)]

    def add(self, column: Layout) -> bool:
        """Add a column, or a layout from elsewhere; return False when it is there already."""
        key = (column.stock, column.gives)
        if key in self._seen:
            return False
        self._seen.add(key)
        self._programme.add(column.stock, column.gives, self._costs[column.stock])
        self._layouts.append(column)
        return True

    def aim(self, costs: Sequence[float], money_at_most: int | None) -> None:
        """Set what a piece of each stock row costs, and the money that may be spent.

        Leaving out a part costs more than any optimal plan would pay.
        """
        self._costs = list(costs)
        self._programme.price(costs[column.stock] for column in self._layouts)
        self._programme.price_absent(10.0 * max(costs) + 1.0)
        self._programme.limit_money(money_at_most)

    def solve(self) -> Duals | None:
        """Solve; None when the solver fails."""
        return self._programme.duals() if self._programme.solve() < inf else None

    def levels(self) -> tuple[tuple[tuple[Layout, float], ...], float]:
        """Solve again; return the columns taken and how much of each, and how many parts are left out."""
        if self._programme.solve() == inf:
            return (), 0.0
        taken = zip(self._layouts, self._programme.taken(range(len(self._layouts))), strict=True)
        return tuple((c, x) for c, x in taken if x > NOTHING), self._programme.left_out()


def never() -> bool:
    """Do not stop."""
    return False


@dataclass(slots=True)
class Generation:
    """Column generation on one model; phases share the columns and the cuts.

    stop: asked between pricings.
    """

    model: Model
    pricer: AnyPricer
    stop: Callable[[], bool] = never
    master: Master = field(init=False)
    demand: list[int] = field(init=False)
    counts: list[int] = field(init=False)
    cuts: list[PieceCut] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.master = Master(self.model)
        self.ask([p.demand for p in self.model.parts], [s.count for s in self.model.stock])

    def ask(self, demand: Sequence[int], counts: Sequence[int]) -> None:
        """Set how many parts are still wanted and how many pieces of each stock row may still be had.

        Cuts found from here on are true of that question only.
        """
        self.demand, self.counts = list(demand), list(counts)
        self.master.ask(demand, counts)

    def run(
        self,
        costs: Sequence[int],
        money_at_most: int | None,
        *,
        deadline: float,
        work: int | None = None,
        step: int = 1,
        tolerance: float = 0.0,
        guess: Sequence[float] = (),
        tell: Callable[[], None] = lambda: None,
    ) -> Relaxed:
        """Minimise the pieces' costs until no column helps, or the limit of time or pricings is met.

        It also ends when the bound, rounded up to a multiple of `step`, meets the linear optimum, or
        comes within `tolerance` of it. A good `guess` of what each part costs saves pricings, between which
        `tell` is called.
        """
        unit = float(max(costs)) or 1.0
        scaled, near = [c / unit for c in costs], max(tolerance, NOTHING)
        self.master.aim(scaled, money_at_most)
        centre: list[float] = []
        best, settled = 0.0, False
        duals = self.master.solve()
        for n in count(1):
            if duals is None:
                break
            objective = duals.cost
            for y in [[g / unit for g in guess]] if guess and n == 1 else self._trials(centre, duals.parts):
                bound, added = self._price(y, duals, scaled, money_at_most)
                if bound > best or not centre:
                    best, centre = max(best, bound), y
                if added:
                    break
            rounded = ceil(best * unit / step - NOTHING) * step / unit
            settled = not added or max(best, rounded) >= objective - near * max(1.0, objective)
            if settled or self.stop() or monotonic() > deadline or (work is not None and n >= work):
                break
            tell()
            duals = self.master.solve()
        return Relaxed(*self.master.levels(), settled)

    def _trials(self, centre: list[float], duals: list[float]) -> list[list[float]]:
        """Return the values to price at: smoothed towards the best so far, then the duals themselves."""
        if not centre:
            return [duals]
        return [[SMOOTH * a + (1 - SMOOTH) * b for a, b in zip(centre, duals, strict=True)], duals]

    def _price(
        self, y: Sequence[float], duals: Duals, costs: Sequence[float], money_at_most: int | None
    ) -> tuple[float, bool]:
        """Price the parts at `y`: record the cut, add what helps at `duals`, return the dual bound."""
        most = self.pricer.most(y)
        scale = self.pricer.top / most if most else 1.0
        values = [int(v * scale) for v in y]
        priced = self.pricer.price(values, self.demand)
        need = sum(d * v for d, v in zip(self.demand, values, strict=True))
        self.cuts.append(PieceCut(need, priced.best))
        added = self._add(priced, duals, costs)
        holds = [b / scale for b in priced.best]
        return self._dual_bound(need / scale, holds, duals, costs, money_at_most), added

    def _add(self, priced: AnyPriced, duals: Duals, costs: Sequence[float]) -> bool:
        added = False
        slack = NOTHING * (1.0 + max(costs))
        for j, piece in enumerate(self.model.stock):
            if not priced.best[j]:
                continue
            for column in self.pricer.columns(priced, j):
                worth = sum(n * duals.parts[k] for k, n in column.gives)
                if worth > costs[j] + duals.money * piece.money + duals.rents[j] + slack:
                    added |= self.master.add(column)
        return added

    def _dual_bound(
        self,
        need: float,
        best: Sequence[float],
        duals: Duals,
        costs: Sequence[float],
        money_at_most: int | None,
    ) -> float:
        """Return the Lagrangian bound, values scaled down until unlimited stock allows them (Farley 1990)."""
        net = [c + duals.money * s.money for c, s in zip(costs, self.model.stock, strict=True)]
        bound = lagrangian(need, best, net, self.counts)
        return bound - (duals.money * money_at_most if money_at_most is not None else 0.0)


def lagrangian(need: float, best: Sequence[float], net: Sequence[float], counts: Sequence[int]) -> float:
    """Return the Lagrangian bound, values scaled down until unlimited stock allows them (Farley 1990).

    need: what all parts are worth together; best: the most one piece of each stock row can hold, net: what
    it costs. 0 where nothing is proved.
    """
    scale = 1.0
    for b, c, n in zip(best, net, counts, strict=True):
        if n < 0 and b > 0.0 and c <= 0.0:
            return 0.0
        if n < 0 and b * scale > c:
            scale = c / b
    rents = (n * min(0.0, c - b * scale) for b, c, n in zip(best, net, counts, strict=True) if n >= 0)
    return need * scale + sum(rents)
