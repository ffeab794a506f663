"""Routed layouts that the prices of the pool ask for: each piece by itself, with what is worth most on it.

Column generation (Gilmore and Gomory 1961) whose layouts are found by ruin and recreate on one piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from heapq import nsmallest
from random import Random

import numpy as np

from stockyard.planning.choosing.pool import Pool, Prices
from stockyard.planning.model import Candidate, Model
from stockyard.planning.placing import kernel
from stockyard.planning.placing.placer import Placer
from stockyard.planning.placing.room import Ints

# How one piece is searched, in turn.
ALONE: tuple[dict[str, float], ...] = (
    {"removed": 3, "history": 50, "order": kernel.DEAR_FIRST, "corners": 0.1},
    {"removed": 5, "history": 20, "order": kernel.DEAR_FIRST, "blink": 0.02},
    {"removed": 2, "history": 100, "order": kernel.NOISY, "corners": 0.3, "blink": 0.01},
)


@dataclass(frozen=True, slots=True)
class Pricing:
    """How it is done."""

    pieces: int = 6
    """Pieces that one thread lays in a round."""
    work: int = 50_000
    """Steps on one piece times the parts there are, so that it takes a few hundredths of a second."""
    least_steps: int = 20
    """Steps on one piece at least."""
    most_parts: int = 1000
    """With more parts a step takes too long for that."""
    begin_from: int = 150
    """It is begun from one of so many layouts, the best by the prices."""
    spare: float = 0.01
    """What a layout may cost beyond the worth of its parts at least, in units of the dearest piece."""
    kept: int = 3
    """Rounds at the same prices, since finding them takes as long as a round where the pool is large."""
    most: int = 150
    """Layouts that one thread brings from a round at most."""


class Priced:
    """Lays single pieces at the prices of a pool."""

    def __init__(
        self, model: Model, pool: Pool, seed: int, hands: int, manner: Pricing | None = None
    ) -> None:
        self._model, self._pool, self._manner = model, pool, manner or Pricing()
        self._luck = Random(seed)
        self._demand = demand = sum(p.demand for p in model.parts)
        small = min(p.length * p.width for p in model.parts)
        most = max(s.length * s.width for s in model.stock) // small
        self._placers = [Placer(model, seed * hands + n + 1, 1, min(demand, most)) for n in range(hands)]
        self._steps = max(self._manner.least_steps, self._manner.work // demand)
        self._turns = 0
        self._prices: dict[bool, tuple[int, Prices | None]] = {}  # of net material or money, since which turn

    def round(
        self, team: ThreadPoolExecutor, hands: int, most_money: int | None, money: int, net: int
    ) -> bool:
        """Pool new layouts that a plan better than this money and net may use; return whether there are any.

        `most_money`: at prices of net material within that money; None: at prices of money.
        """
        if self._demand > self._manner.most_parts:
            return False
        pool, prices = self._pool, self._prices_of(most_money)
        if prices is None or not len(pool):
            return False
        if most_money is None:
            wanted = pool.cost(money - self._model.money_step, net, by_net=False)
        else:
            wanted = pool.cost(0, net, by_net=True)
        spare = max(self._manner.spare, wanted - prices.cost)
        best = nsmallest(self._manner.begin_from, range(len(prices.reduced)), key=prices.reduced.__getitem__)
        starts = [
            [pool.layouts[self._luck.choice(best)] for _ in range(self._manner.pieces)] for _ in range(hands)
        ]
        self._turns += 1
        jobs = [
            team.submit(self._lay, self._placers[n], starts[n], prices, spare, self._turns + n)
            for n in range(hands)
        ]
        before = len(pool)
        for job in jobs:
            for c in job.result():
                pool.add(c)
        return len(pool) > before

    def _prices_of(self, most_money: int | None) -> Prices | None:
        by_net = most_money is not None
        since, prices = self._prices.get(by_net, (0, None))
        if prices is None or self._turns - since >= self._manner.kept:
            prices = self._pool.relax(most_money)
            self._prices[by_net] = self._turns, prices
        return prices

    def _lay(
        self, placer: Placer, starts: Sequence[Candidate], prices: Prices, spare: float, turn: int
    ) -> list[Candidate]:
        """Lay a piece anew from each of these, and return the best layouts met."""
        model, pool, found = self._model, self._pool, []
        by_net, unit = bool(prices.area), prices.area or float(max(s.area for s in model.stock))
        worth = np.array(prices.parts)

        def cost(stock: int, kinds: Ints, net: int) -> float:
            return pool.reduced_cost(stock, (), net, prices) - float(worth[kinds].sum())

        for n, start in enumerate(starts):
            manner = ALONE[(turn + n) % len(ALONE)]
            placer.set_rules(
                budget=start.money, net=by_net, short=False, missing=1.0, filled=0.3, whole=0.1, **manner
            )
            placer.price(unit * worth)
            placer.load([start])
            placer.run(self._steps)
            found += placer.recorded(lambda *layout: cost(*layout) <= spare)
        return nsmallest(
            self._manner.most, found, key=lambda c: pool.reduced_cost(c.stock, c.gives, c.net, prices)
        )
