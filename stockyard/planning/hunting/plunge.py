"""A better plan by diving into the pool's linear programme, with new layouts on the way and steps back.

Layouts are fixed one by one where the linear optimum takes most of them; after each the rest is priced
again by beams, so that layouts arise that fit what is left. When the rest cannot be had for the money (or
the net material) that is left, the last fixing is taken back and forbidden (diving with limited
discrepancy, as in Sadykov, Vanderbeck, Pessoa, Tahiri and Uchoa 2019).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import takewhile
from math import inf
from random import Random

from stockyard.planning.model import UNLIMITED, Candidate, Model
from stockyard.planning.packed import Packed
from stockyard.planning.programme import Gives, Programme
from stockyard.planning.tables.beam import Beam
from stockyard.planning.tables.dp import TOP_VALUE
from stockyard.planning.tables.pricing import Column, Layout, Pricer

# Worths are rounded down to whole numbers, those of a pattern by less than this.
ROUNDED = 1000
# A part left out costs more than the dearest piece.
ABSENT = 5.0
# Differences below this are rounding.
NOTHING = 1e-6


@dataclass(frozen=True, slots=True)
class Plunging:
    """How far one dive goes."""

    patterns: int = 30
    """Patterns taken from one beam."""
    spare: float = 0.02
    """What they may cost beyond the worth of their parts at a first pricing, as a share of the largest piece,
    and so much less for a smaller one."""
    first_pricings: int = 60
    """Pricings before the first fixing."""
    pricings: int = 10
    """Pricings between two fixings."""
    steps_back: int = 20
    """Steps back at most."""
    most_pricings: int = 120
    """Pricings at most."""
    small: float = 0.0015
    """Where net material is to be saved, pricing goes on as long as it saves this share of what the plan may
    take."""
    blur: float = 0.3
    """How far chance blurs what the linear optimum takes of each layout."""
    whole: float = 0.999
    """A layout taken this much is taken whole."""


class Plunge:
    """One dive for a plan that spends no more than `money`, and takes no more than `net`."""

    def __init__(
        self,
        model: Model,
        pricer: Pricer,
        layouts: Iterable[Candidate],
        money: int,
        seed: int,
        share: float = 0.0,
        net: int | None = None,
        manner: Plunging | None = None,
    ) -> None:
        """`pricer` must be exact (its tables are used), `layouts` are those to start from.

        `share`: of the pieces still needed so many are fixed at once, one at least. `net`: the net
        material (ticks²) that is then saved within the money; by default it does not matter.
        """
        self.model, self._pricer, self._manner = model, pricer, manner or Plunging()
        self._random, self._share = Random(seed), share
        self._by_net = net is not None
        prices = [s.area if self._by_net else s.money for s in model.stock]
        self._unit = float(max(prices) or 1)
        self._prices = [p / self._unit for p in prices]
        self._left = (money if net is None else net) / self._unit + NOTHING
        self._small = inf if net is None else self._manner.small * self._left
        most = max(s.length * s.width for s in model.stock)
        self._spare = [self._manner.spare * s.length * s.width / most for s in model.stock]
        self._money = money
        self._demand = [p.demand for p in model.parts]
        self._counts = [s.count for s in model.stock]
        self._fixed: list[list[int]] = []
        self._banned: set[int] = set()
        self._rest = _Rest(model)
        self._rest.limit(money if self._by_net else None)
        self._pricings = 0
        self._worth: list[float] = []  # of one of each part, and the rents, before anything was fixed
        self._rents: list[float] = []
        self._packed = Packed(self._demand)
        self._used = 0
        self._gives: list[int] = []
        for c in layouts:
            self._add(c)

    def near(self) -> Iterator[Candidate]:
        """Yield the layouts that arose on the way and cost next to nothing beyond their parts' worth."""
        worth, rents, spare = self._worth, self._rents, self._spare
        if not worth:  # the solver failed before there were any prices
            return
        for c in self._rest.layouts:
            if isinstance(c, Column) and self._reduced(c, worth, rents) <= spare[c.stock]:
                yield self._pricer.candidate(c)

    def _reduced(self, c: Layout, worth: list[float], rents: list[float]) -> float:
        """Return what a layout costs beyond the worth of its parts."""
        return self._cost(c) + rents[c.stock] - sum(a * worth[k] for k, a in c.gives)

    def _cost(self, c: Layout) -> float:
        """Return what a layout costs; leftovers of a pattern count once its cut tree is made."""
        if self._by_net and isinstance(c, Candidate):
            return c.net / self._unit
        return self._prices[c.stock]

    def _add(self, c: Layout) -> None:
        """Take a layout in that keeps to the demand."""
        gives = sum(a * self._packed.one[k] for k, a in c.gives)
        if all(a <= self.model.parts[k].demand for k, a in c.gives):
            self._gives.append(gives)
            self._rest.add(c, self._cost(c))

    def run(self, stop: Callable[[], bool]) -> tuple[Candidate, ...] | None:
        """Return a plan, or None when `stop` says so, after too many steps back or too much work."""
        back = 0
        while any(self._demand):
            if stop() or self._pricings >= self._manner.most_pricings:
                return None
            if self._priced(stop) and self._fix():
                continue
            back += 1
            if not self._fixed or back > self._manner.steps_back:
                return None
            self._take_back()
        fixed = [self._rest.layouts[n] for level in self._fixed for n in level]
        return tuple(self._pricer.candidate(c) for c in fixed)

    def _priced(self, stop: Callable[[], bool]) -> bool:
        """Price the rest; return whether it may still be had for what is left, as far as is known by then."""
        before = inf
        for n in range(self._manner.pricings if self._fixed else self._manner.first_pricings):
            cost = self._rest.solve()
            if cost == inf:  # the solver has failed
                return False
            enough = cost <= self._left and before - cost < self._small
            before = cost
            if (n and (enough or stop())) or not self._price(stop, first=n == 0):
                break
        cost = self._rest.solve()
        if not self._worth:
            self._worth, self._rents = self._rest.prices(self._demand)
        return cost <= self._left

    def _price(self, stop: Callable[[], bool], *, first: bool) -> bool:
        """Add patterns that help the linear optimum; return whether there are any."""
        rest = self._rest
        worth, rents = rest.prices(self._demand)
        scale = TOP_VALUE / (self._pricer.most(worth) or 1.0)
        values = [int(y * scale) for y in worth]
        self._pricings += 1
        helped = False
        for n, group in enumerate(self._pricer.groups):
            rows = [(j, s) for j, s in zip(group.stock, group.sheets, strict=True) if self._counts[j]]
            beam = Beam(group.table, values, self._demand, stop=stop) if rows else None
            for j, sheet in takewhile(lambda _: not stop(), rows):
                assert beam is not None
                most = self._spare[j] if first else -NOTHING
                least = int((self._prices[j] + rents[j] - most) * scale) - ROUNDED
                for trace in beam.patterns(sheet, self._manner.patterns, max(1, least)):
                    column = self._pricer.traced(j, n, trace)
                    reduced = self._reduced(column, worth, rents)
                    if reduced < most and not rest.knows(j, column.gives):
                        self._add(column)
                        helped = helped or reduced < -NOTHING
        return helped

    def _fix(self) -> bool:
        """Fix what the linear optimum takes whole, and as many as wanted of what it takes most of."""
        taken = [(x + self._manner.blur * self._random.random(), x, n) for n, x in self._rest.taken()]
        level: list[int] = []
        many = max(1.0, self._share * sum(x for _, x, _ in taken))
        for _, x, n in sorted(taken, reverse=True):
            if len(level) >= many and x < self._manner.whole:
                break
            for _ in range(max(1, int(x + 1 - self._manner.whole))):
                if self._fits(n):
                    level.append(n)
                    self._use(n, 1)
        if level:
            self._fixed.append(level)
            self._bound()
        return bool(level)

    def _take_back(self) -> None:
        """Undo the last fixing; its last layout may not be fixed there again."""
        level = self._fixed.pop()
        for n in level:
            self._use(n, -1)
        self._banned.add(level[-1])
        self._bound()

    def _fits(self, n: int) -> bool:
        c = self._rest.layouts[n]
        return (
            n not in self._banned
            and self._counts[c.stock] != 0
            and self.model.stock[c.stock].money <= self._money
            and not self._packed.too_many(self._used + self._gives[n])
        )

    def _use(self, n: int, times: int) -> None:
        c = self._rest.layouts[n]
        self._left -= times * self._cost(c)
        self._money -= times * self.model.stock[c.stock].money
        if self._counts[c.stock] != UNLIMITED:
            self._counts[c.stock] -= times
        self._used += times * self._gives[n]
        for k, a in c.gives:
            self._demand[k] -= times * a

    def _bound(self) -> None:
        """Tell the linear programme what is left, and which layouts may still be used."""
        self._rest.ask(self._demand, self._counts, [self._fits(n) for n in range(len(self._rest.layouts))])
        self._rest.limit(self._money if self._by_net else None)


class _Rest:
    """The linear programme of what is left: least cost, no layout beyond the parts left."""

    def __init__(self, model: Model) -> None:
        self._programme = Programme(model, ABSENT)
        self._moneys = [s.money for s in model.stock]
        self.layouts: list[Layout] = []
        self._usable: list[bool] = []
        self._known: set[tuple[int, Gives]] = set()
        self.solve, self.limit = self._programme.solve, self._programme.limit_money

    def knows(self, stock: int, gives: Gives) -> bool:
        """Whether there is such a layout."""
        return (stock, gives) in self._known

    def add(self, c: Layout, cost: float) -> None:
        """Add a layout and what it costs."""
        self._known.add((c.stock, c.gives))
        self._programme.add(c.stock, c.gives, cost)
        self.layouts.append(c)
        self._usable.append(True)

    def ask(self, demand: list[int], counts: list[int], usable: list[bool]) -> None:
        """Set what is left."""
        self._programme.ask(demand, counts)
        for n, use in enumerate(usable):
            if use != self._usable[n]:
                self._usable[n] = use
                self._programme.allow(n, use)

    def prices(self, demand: list[int]) -> tuple[list[float], list[float]]:
        """Return the worth of one of each part that is left, and of each stock row the rent and the worth of
        its money."""
        duals = self._programme.duals()
        worth = [y if n else 0.0 for y, n in zip(duals.parts, demand, strict=True)]
        return worth, [r + duals.money * m for r, m in zip(duals.rents, self._moneys, strict=True)]

    def taken(self) -> list[tuple[int, float]]:
        """Return the layouts that the last optimum takes, and how much of each."""
        usable = [n for n, use in enumerate(self._usable) if use]
        taken = zip(usable, self._programme.taken(usable), strict=True)
        return [(n, x) for n, x in taken if x > NOTHING]
