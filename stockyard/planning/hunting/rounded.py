"""The linear optimum of the pool rounded: most pieces as it has them, the parts left laid on the others.

A linear optimum below the money of the best plan says that layouts for less are known, not that they go
together. Some that it takes most of, by chance, are fixed, and what is left is so few pieces that the search
on freely placed parts often closes them (diving, then large neighbourhood search: Sadykov and others 2019,
Shaw 1998).
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from stockyard.planning.choosing.pool import Pool, Prices
from stockyard.planning.hunting.remainder import rest_of
from stockyard.planning.hunting.remake import Made
from stockyard.planning.model import Candidate, Model
from stockyard.planning.placing.placer import Placer
from stockyard.planning.placing.room import Ints

SEEDS = 1 << 40


@dataclass(frozen=True, slots=True)
class Rounding:
    """How it is done."""

    fewest: int = 1
    """Pieces whose parts are laid anew at least."""
    most: int = 5
    """The same at most, unless the layouts taken do not go together."""
    blur: float = 0.5
    """How far chance blurs what the linear optimum takes of each layout."""
    work: int = 40_000
    """Steps of one search times the parts it has."""
    least_steps: int = 50
    """Steps of one search at least."""
    cost: float = 0.02
    """What a noted layout may cost beyond the worth of its parts at least, in units of the dearest piece."""
    kept: int = 4
    """Rounds at the same prices, since finding them takes long where the pool is large."""
    tries: int = 3
    """Roundings that one thread lays in a round."""


class Rounded:
    """Rounds the linear optimum of the pool of a model with one stock row, otherwise each time."""

    def __init__(self, model: Model, pool: Pool, seed: int, manner: Rounding | None = None) -> None:
        self._model, self._pool, self._manner = model, pool, manner or Rounding()
        self._luck, self._turns = Random(seed), 0
        self._prices: Prices | None = None
        self._taken: list[tuple[int, float]] = []

    def round(
        self, team: ThreadPoolExecutor, hands: int, money: int, net: int, rules: Sequence[dict[str, float]]
    ) -> list[Made]:
        """Let `hands` threads lay some roundings within this money, and note what a plan of it may use.

        `net`: what the best plan takes. `rules`: manners of the search, of which chance takes one each time.
        """
        if self._turns % self._manner.kept == 0:
            self._prices, self._taken = self._pool.relax(None), self._pool.taken()
        self._turns += 1
        if self._prices is None:
            return []
        spare = max(self._manner.cost, self._pool.cost(money, net, by_net=False) - self._prices.cost)
        luck = self._luck
        jobs = [
            team.submit(
                self._make, self._some(money), money, luck.randrange(SEEDS), luck.choice(rules), spare
            )
            for _ in range(hands * self._manner.tries)
        ]
        return [job.result() for job in jobs]

    def _some(self, money: int) -> list[Candidate]:
        """Return layouts that the optimum takes, rather those that it takes most of, and that go together."""
        manner, luck = self._manner, self._luck
        order = sorted(self._taken, key=lambda entry: -entry[1] - manner.blur * luck.random())
        left, kept = [p.demand for p in self._model.parts], list[Candidate]()
        pieces = money // self._model.money_step
        pieces -= luck.randint(manner.fewest, max(manner.fewest, min(manner.most, pieces - 1)))
        for n, _ in order:
            c = self._pool.layouts[n]
            if len(kept) < pieces and all(a <= left[k] for k, a in c.gives):
                kept.append(c)
                for k, a in c.gives:
                    left[k] -= a
        return kept

    def _make(
        self, kept: list[Candidate], money: int, seed: int, rules: dict[str, float], spare: float
    ) -> Made:
        """Lay the parts that these layouts leave on pieces for what is left of the money."""
        rest, prices = rest_of(self._model, kept), self._prices
        if rest is None or prices is None:
            return Made(tuple(kept), ())
        kinds = {p.row: k for k, p in enumerate(self._model.parts)}
        known = [kinds[p.row] for p in rest.parts]
        worth = np.array([prices.parts[k] for k in known])

        def is_wanted(stock: int, laid: Ints, net: int) -> bool:
            cost = self._pool.reduced_cost(stock, (), net, prices)
            return cost - float(worth[laid].sum()) <= spare

        def again(c: Candidate) -> Candidate:
            return replace(c, gives=tuple((known[k], a) for k, a in c.gives))

        demand = sum(p.demand for p in rest.parts)
        money -= sum(c.money for c in kept)
        placer = Placer(rest, seed, min(demand, money // self._model.money_step), demand)
        placer.set_rules(budget=money, net=False, short=False, **rules)
        placer.load(())
        placer.run(max(self._manner.least_steps, self._manner.work // demand))
        met = tuple(again(c) for c in placer.recorded(is_wanted))
        if placer.left_out:
            return Made(None, met)
        return Made((*kept, *(again(c) for c in placer.answer())), met)
