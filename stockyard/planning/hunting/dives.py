"""Dives from the layouts of a pool: for less money, or for less net material at the same money."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import takewhile
from threading import Event

from stockyard.planning.choosing.answer import Answer
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.hunting.plunge import Plunge
from stockyard.planning.hunting.refine import Refiner
from stockyard.planning.model import Candidate, Model


@dataclass(frozen=True, slots=True)
class Diving:
    """How dives are sent out."""

    shares: tuple[float, ...] = (0.2, 0.1, 0.0)
    """Share of the pieces that a dive fixes at once, in turn: quick first, then more careful."""
    layouts: int = 800
    """Layouts that a dive starts from."""
    spare: float = 0.1
    """What those of one for money may cost beyond their parts' worth."""
    seeds: int = 8
    """Seeds of one dive: as many may run side by side."""
    least_saved: float = 1e-4
    """A plan saves net material when it saves this share of it."""


class Diver:
    """Dives again and again from one pool, each time with other seeds and another share fixed at once.

    dived: how often it has been told to.
    """

    def __init__(
        self, model: Model, pool: Pool, refiner: Refiner, *, repeatable: bool, manner: Diving | None = None
    ) -> None:
        """`refiner`: its tables are used. `repeatable`: let nothing depend on the clock."""
        self._manner = manner or Diving()
        self.model, self.pool, self.repeatable = model, pool, repeatable
        self._refiner = refiner
        self.dived = 0

    def promising(self) -> list[Candidate]:
        """Return the pooled layouts that the least money might take."""
        prices = self.pool.relax(None)
        if prices is None:
            return []
        return self.pool.within(prices, prices.cost + self._manner.spare)[: self._manner.layouts]

    def save_money(
        self, team: ThreadPoolExecutor, best: Answer, hands: int, stop: Callable[[], bool]
    ) -> list[tuple[Candidate, ...]]:
        """Return plans for less money than the best so far, from `hands` dives side by side."""
        self.dived += 1
        money = best.figures.money - self.model.money_step
        return self._run(team, self.promising(), money, None, hands, stop)

    def save_net(
        self, team: ThreadPoolExecutor, best: Answer, hands: int, stop: Callable[[], bool]
    ) -> list[tuple[Candidate, ...]]:
        """Return plans that take less net material than the best so far, for no more money."""
        self.dived += 1
        money, net = best.figures.money, int(best.figures.net * (1 - self._manner.least_saved))
        prices = self.pool.relax(money)
        if prices is None:
            return []
        layouts = self.pool.within(prices, self.pool.cost(0, net, by_net=True))[: self._manner.layouts]
        return self._run(team, layouts, money, net, hands, stop)

    def _run(
        self,
        team: ThreadPoolExecutor,
        layouts: Sequence[Candidate],
        money: int,
        net: int | None,
        hands: int,
        stop: Callable[[], bool],
    ) -> list[tuple[Candidate, ...]]:
        """Dive until one dive finds a plan; return the plans.

        What dives for net material have met is pooled in any case, and what those for money have met when
        they came to their end without a plan.
        """
        share = self._manner.shares[(self.dived - 1) % len(self._manner.shares)]
        seeds = [self.dived * self._manner.seeds + n for n in range(hands)]
        dives = [Plunge(self.model, self._refiner.pricer, layouts, money, seed, share, net) for seed in seeds]
        over = Event()

        def work(dive: Plunge) -> tuple[Candidate, ...] | None:
            found = dive.run(lambda: over.is_set() or stop())
            if found and not self.repeatable:
                over.set()
            return found

        plans = list(team.map(work, dives))
        for dive, plan in zip(dives, plans, strict=True):
            if net is not None or (plan is None and not over.is_set()):
                for c in takewhile(lambda _: not stop(), dive.near()):
                    self.pool.add(c)
        return [plan for plan in plans if plan]
