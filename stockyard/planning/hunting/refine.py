"""Heuristic pricing: layouts that help the pool's linear programme, with parts within their demand.

The exact table in `pricing.py` knows no demand. Here a beam of sets at each of its points does, where
the table is small; and layouts of the pool go through ruin and recreate with the parts worth their prices.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cached_property
from itertools import takewhile
from random import Random

from stockyard.planning.choosing.pool import NOTHING, Pool, Prices
from stockyard.planning.hunting.rebuilder import Rebuilder
from stockyard.planning.model import Candidate, Model, has_flaws
from stockyard.planning.tables.beam import Beam
from stockyard.planning.tables.dp import TOP_VALUE
from stockyard.planning.tables.lines import beam_table
from stockyard.planning.tables.pricing import Column, Layout, Pricer

Start = tuple[Candidate, float]
"""A layout and its reduced cost."""


@dataclass(frozen=True, slots=True)
class Refining:
    """How much one round of refining makes."""

    starts: int = 60
    """Layouts of the pool that one round of ruin and recreate starts from."""
    steps: int = 400
    """The steps it takes from each."""
    most_patterns: int = 100
    """Patterns taken from one beam for all sheets together."""
    least_patterns: int = 4
    """The same for each of them at least."""
    shares: tuple[float, ...] = (1.0, 0.7, 0.4)
    """A beam is made of all parts or of so many of them, by chance."""
    spare: float = 0.01
    """Layouts are pooled that cost at most this share of their piece more than their parts are worth."""
    beam_spare: float = 0.02
    """The same of those from beams."""
    seeds: int = 77
    """Seeds of the rebuilders here begin so much higher, so that they differ from those of the hunt."""


class Refiner:
    """Refines layouts of one pool, round by round; the same seed gives the same rounds."""

    def __init__(self, model: Model, pool: Pool, seed: int, manner: Refining | None = None) -> None:
        self.model, self.pool, self._manner = model, pool, manner or Refining()
        self._seed = seed
        self._random = Random(seed)
        self._rebuilders: list[Rebuilder] = []
        most = max(s.length * s.width for s in model.stock)
        self._sizes = [s.length * s.width / most for s in model.stock]

    @cached_property
    def pricer(self) -> Pricer:
        """The tables that beams use."""
        return Pricer(self.model, beam_table)

    @property
    def is_exact(self) -> bool:
        """Whether no beam runs on lines."""
        return not any(g.table.by_lines for g in self.pricer.groups)

    def improve(
        self, team: ThreadPoolExecutor, hands: int, most_money: int | None, stop: Callable[[], bool]
    ) -> bool:
        """Pool what ruin and recreate by `hands` threads finds at the prices for less money, or for less
        net material at most for `most_money`; return whether anything new was found."""
        prices = self.pool.relax(most_money)
        if prices is None:
            return False
        while len(self._rebuilders) < hands:
            seed = self._seed + len(self._rebuilders) + self._manner.seeds
            self._rebuilders.append(Rebuilder(self.model, seed))
        starts = self._starts(prices)

        def work(n: int) -> list[Candidate]:
            found = []
            for layout, reduced in takewhile(lambda _: not stop(), starts[n::hands]):
                spare = self._manner.spare * self._sizes[layout.stock] - reduced
                found += self._rebuilders[n].improve(layout, prices, spare, self._manner.steps)
            return found

        return self._pooled(c for found in team.map(work, range(hands)) for c in found)

    def beams(
        self, team: ThreadPoolExecutor, hands: int, most_money: int | None, stop: Callable[[], bool]
    ) -> bool:
        """Pool what beams by `hands` threads find at the same prices; return whether anything was new."""
        prices = self.pool.relax(most_money)
        if prices is None:
            return False
        scale = TOP_VALUE / (self.pricer.most(prices.parts) or 1.0)
        valued = []
        for _ in range(hands):
            share = self._random.choice(self._manner.shares)
            valued.append([int(y * scale) if self._random.random() < share else 0 for y in prices.parts])
        many = team.map(lambda values: self._beam(values, prices, stop), valued)
        return self._pooled(c for found in many for c in found)

    def _pooled(self, found: Iterable[Candidate]) -> bool:
        """Pool layouts; return whether there are new ones."""
        before = len(self.pool)
        for c in found:
            self.pool.add(c)
        return len(self.pool) > before

    def _starts(self, prices: Prices) -> list[Start]:
        """Return some of the layouts that the linear optimum takes or might take as well."""
        layouts, most = self.pool.layouts, self._manner.starts  # flawed pieces are none of the kernel's
        clear = [n for n in range(len(prices.reduced)) if not has_flaws(self.model, layouts[n].stock)]
        order = sorted(clear, key=lambda n: (prices.reduced[n], n))
        near = sum(prices.reduced[n] <= NOTHING for n in order)
        starts = [(layouts[n], prices.reduced[n]) for n in order[: max(near, 2 * most)]]
        return self._random.sample(starts, min(most, len(starts)))

    def _beam(self, values: Sequence[int], prices: Prices, stop: Callable[[], bool]) -> list[Candidate]:
        """Return layouts that cost next to nothing beyond the worth of their parts."""
        demand = [p.demand for p in self.model.parts]
        found = []
        for n, group in enumerate(self.pricer.groups):
            beam = Beam(group.table, values, demand, stop=stop)
            most = max(self._manner.least_patterns, self._manner.most_patterns // len(group.stock))
            for j, sheet in zip(group.stock, group.sheets, strict=True):
                spare = self._manner.beam_spare * self._sizes[j]
                for trace in takewhile(lambda _: not stop(), beam.patterns(sheet, most)):
                    column = self.pricer.traced(j, n, trace)
                    if self._reduced(column, self._area(column), prices) > spare:
                        continue
                    c = self.pricer.candidate(column)
                    if self._reduced(c, c.net, prices) <= spare:
                        found.append(c)
        return found

    def _reduced(self, c: Layout, net: int, prices: Prices) -> float:
        return self.pool.reduced_cost(c.stock, c.gives, net, prices)

    def _area(self, column: Column) -> int:
        """Return the net material that a pattern takes at least."""
        parts = self.model.parts
        return sum(n * parts[k].length * parts[k].width for k, n in column.gives)
