"""Heuristic pricing: layouts made better at the prices of the pool's linear programme.

Column generation with parts within their demand (the exact table in `pricing.py` knows no demand):
single layouts go through ruin and recreate with the parts worth their prices.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from random import Random

from stockyard.planning.dp import TOP_VALUE
from stockyard.planning.model import Candidate, Model
from stockyard.planning.pool import NOTHING, Pool, Prices
from stockyard.planning.pricing import Pricer
from stockyard.planning.search import Search

# Layouts of the pool that one round starts from, and the steps it takes from each.
STARTS, STEPS = 60, 400
# Further starts by dynamic programming, where one takes at most this many steps.
DRAFTS, DRAFT_STEPS = 30, 4e6
# Layouts are pooled that cost at most this share of their piece more than their parts are worth.
SPARE = 0.01
# Seeds of the searches here, so that they differ from those of the hunt.
SEEDS = 77

Start = tuple[Candidate, float]
"""A layout and its reduced cost."""


class Refiner:
    """Refines layouts of one pool, round by round; the same seed gives the same rounds."""

    def __init__(self, model: Model, pool: Pool, seed: int) -> None:
        self.model, self.pool = model, pool
        self._seed = seed
        self._random = Random(seed)
        self._searches: list[Search] = []
        self._drafter: Pricer | None = None
        most = max(s.length * s.width for s in model.stock)
        self._spare = [SPARE * s.length * s.width / most for s in model.stock]

    def round(self, team: ThreadPoolExecutor, hands: int, most_money: int | None) -> bool:
        """Pool what `hands` threads find at the prices for less money, or for less net material at most
        for `most_money`; return whether anything new was found."""
        prices = self.pool.relax(most_money)
        if prices is None:
            return False
        while len(self._searches) < hands:
            self._searches.append(Search(self.model, self._seed + len(self._searches) + SEEDS))
        starts = self._near(prices) + self._drafts(prices)

        def work(n: int) -> list[Candidate]:
            return [
                c
                for layout, reduced in starts[n::hands]
                for c in self._searches[n].improve(layout, prices, self._spare[layout.stock] - reduced, STEPS)
            ]

        before = len(self.pool)
        for found in team.map(work, range(hands)):
            for c in found:
                self.pool.add(c)
        return len(self.pool) > before

    def _near(self, prices: Prices) -> list[Start]:
        """Return some of the layouts that the linear optimum takes or might take as well."""
        order = sorted(range(len(prices.reduced)), key=lambda n: (prices.reduced[n], n))
        near = sum(r <= NOTHING for r in prices.reduced)
        starts = [(self.pool.layouts[n], prices.reduced[n]) for n in order[: max(near, 2 * STARTS)]]
        return self._random.sample(starts, min(STARTS, len(starts)))

    def _drafts(self, prices: Prices) -> list[Start]:
        """Return best patterns of random parts, without what is beyond the demand."""
        if self._drafter is None:
            self._drafter = Pricer(self.model, DRAFT_STEPS)
        if not self._drafter.is_exact:
            return []
        drafts = []
        scale = TOP_VALUE / (self._drafter.most(prices.parts) or 1.0)
        demand = [p.demand for p in self.model.parts]
        for _ in range(DRAFTS):
            share = self._random.random()
            values = [int(y * scale) if self._random.random() < share else 0 for y in prices.parts]
            priced = self._drafter.price(values, demand)
            useful = [j for j, best in enumerate(priced.best) if best]
            if useful:
                column = self._drafter.column(priced, self._random.choice(useful))
                c = self._drafter.candidate(column)
                drafts.append((c, self.pool.reduced_cost(c, prices)))
        return drafts
