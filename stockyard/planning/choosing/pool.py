"""The pool of layouts met so far, and what a linear programme over it says of each.

The linear programme is the relaxation of the choice (Gilmore and Gomory 1961): its prices tell which
layouts a better plan may use, and what a layout that is still missing would have to hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from stockyard.planning.model import Candidate, Model, is_clear
from stockyard.planning.programme import Gives, Programme

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
        self._programme: Programme | None = None
        self._money = float(max(s.money for s in model.stock) or 1)
        self._area = float(max(s.area for s in model.stock))

    def __len__(self) -> int:
        return len(self.layouts)

    def add(self, c: Candidate) -> None:
        """Take a layout in unless one as good is there."""
        if self.model.problem.stock[c.pattern.stock].flaws and not is_clear(self.model.problem, c.pattern):
            return
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
            self._programme = Programme(self.model, ABSENT)
        by_net = most_money is not None
        for c in self.layouts[len(self._programme) :]:
            self._programme.add(c.stock, c.gives, 0.0)
        self._programme.price(self.cost(c.money, c.net, by_net=by_net) for c in self.layouts)
        self._programme.limit_money(most_money)
        if self._programme.solve() == inf:
            return None
        duals = self._programme.duals()
        rents = zip(duals.rents, self.model.stock, strict=True)
        return Prices(
            cost=duals.cost,
            parts=tuple(duals.parts),
            pieces=tuple(rent + duals.money * s.money for rent, s in rents),
            reduced=self._programme.reduced(),
            area=self._area if by_net else 0.0,
        )

    def taken(self) -> list[tuple[int, float]]:
        """Return which layouts the last linear optimum takes, and how much of each."""
        if self._programme is None:
            return []
        taken = enumerate(self._programme.taken(range(len(self._programme))))
        return [(n, x) for n, x in taken if x > NOTHING]

    def reduced_cost(self, stock: int, gives: Gives, net: int, prices: Prices) -> float:
        """Return what a layout costs beyond the worth of its parts; less than nothing: it helps."""
        worth = sum(n * prices.parts[k] for k, n in gives)
        cost = self.cost(self.model.stock[stock].money, net, by_net=bool(prices.area))
        return cost + prices.pieces[stock] - worth

    def within(self, prices: Prices, cost: float) -> list[Candidate]:
        """Return the layouts that a plan of this cost may use, by the linear optimum; the best first."""
        gap = cost - prices.cost + NOTHING
        order = sorted((r, n) for n, r in enumerate(prices.reduced) if r <= gap)
        return [self.layouts[n] for _, n in order[:CHOSEN_FROM]]
