"""Every way to fill a board that a plan of a given cost may use, and with them the last word on that cost.

With values y of the parts and rents q of the stock rows from the linear optimum, a plan that costs
no more than T spends at most T + sum q_j count_j - sum demand_i y_i on reduced costs; so no fill in
it has a larger one. These fills are enumerated, and a covering programme over all of them finds the
plan or proves that there is none (Carvalho 1999 does the like; "reduced cost fixing" elsewhere).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from random import Random
from time import monotonic
from typing import Any

import numpy as np

from stockyard.planning.boards.bars import BarPricer
from stockyard.planning.boards.refill import Refill
from stockyard.planning.bounds.columns import Generation
from stockyard.planning.choosing.covering import cover
from stockyard.planning.compiled import jit
from stockyard.planning.model import Candidate, Model
from stockyard.planning.tables.pricing import Column

# Values are whole numbers of this fraction of a money step; sums stay exact in 64-bit floats.
SCALE = 1e8
# Money steps of the dearest piece at most, so that they do.
MOST_MONEY = 1e7
# Duals are lowered by this much, so that rounding leaves no fill with a negative reduced cost.
SAFE = 1e-9
# Linear optima whose values are averaged, the share by which chance raises demands, pricings of each.
BLURRED, BLUR, PRICINGS = 8, 0.02, 30
# Fills of one stock row, and steps of their enumeration, at most.
MOST_FILLS, MOST_STEPS = 50_000, 50_000_000
# Numbers in the table of one stock row at most.
MOST_TABLE = 25_000_000
# When there are too many fills, those within one of these shares of the allowance are tried.
NARROWER = (4, 16, 64)
# Fills listed at most, as many as a cover of them can mostly be settled with, and how many of the cheapest
# are covered with first, for this share of the time.
LISTED, FEW, FEW_SHARE = 4000, 800, 0.5
# Numbers that a search by chance may hold: each board has one for each part.
MOST_TAKEN = 5_000_000
# Branches of the covering programme when nothing may depend on the clock.
NODES = 2000


@dataclass(frozen=True, slots=True)
class Verdict:
    """A plan within the cost (empty: none found), and whether it is proved that there is none."""

    candidates: tuple[Candidate, ...]
    refuted: bool


@jit
def _prefixes(places: int, sizes: Any, counts: Any, values: Any) -> Any:
    """table[k, c]: the most value that the first k parts, within their counts, can have in room c."""
    n = len(sizes)
    table = np.zeros((n + 1, places + 1))
    for k in range(n):
        row = table[k].copy()
        left, times = counts[k], 1
        while left > 0:  # 1, 2, 4 ... and the remainder give every count
            take = min(times, left)
            size, value = take * sizes[k], take * values[k]
            for c in range(places, size - 1, -1):
                if row[c - size] + value > row[c]:
                    row[c] = row[c - size] + value
            left -= take
            times *= 2
        table[k + 1] = row
    return table


@jit
def _fills(
    table: Any, sizes: Any, counts: Any, values: Any, room: int, need: float, most: int, steps: int
) -> tuple[Any, bool]:
    """Return the fills worth at least `need` that have no room for one more part, and whether that is all.

    Sizes rise. Depth first from the longest part down; the table tells what the shorter ones can add.
    """
    n = len(sizes)
    out = np.zeros((most, n), np.int32)
    found = 0
    take = np.full(n, -1, np.int64)
    rooms = np.zeros(n + 1, np.int64)
    worth = np.zeros(n + 1)
    rooms[n] = room
    k = n - 1
    while k < n:
        steps -= 1
        if steps < 0:
            return out[:found], False
        take[k] = min(counts[k], rooms[k + 1] // sizes[k]) if take[k] < 0 else take[k] - 1
        if take[k] < 0:
            k += 1
            continue
        rooms[k] = rooms[k + 1] - take[k] * sizes[k]
        worth[k] = worth[k + 1] + take[k] * values[k]
        if worth[k] + table[k, rooms[k]] < need:
            if take[k] == 0:
                take[k] = -1
                k += 1
            continue
        if k > 0:
            k -= 1
            continue
        is_full = True
        for i in range(n):
            if sizes[i] > rooms[0]:
                break
            if take[i] < counts[i]:
                is_full = False
                break
        if is_full:
            if found == most:
                return out[:found], False
            out[found] = take
            found += 1
    return out[:found], True


def compile_fills() -> None:
    """Compile the kernels of this module on one part."""
    one, value = np.ones(1, np.int64), np.ones(1)
    _fills(_prefixes(1, one, one, value), one, one, value, 1, 0.0, 1, 9)


class Fills:
    """The fills of one one-dimensional model at the values of its linear optimum for money."""

    def __init__(self, model: Model, generation: Generation, pricer: BarPricer, deadline: float) -> None:
        self.model, self.pricer = model, pricer
        moneys = [s.money for s in model.stock]
        self.step = model.money_step
        unit = float(max(moneys) or 1)
        generation.run(moneys, None, deadline=deadline)
        duals = generation.master.solve()
        scale = unit / self.step * SCALE
        free = any(s.count < 0 and not s.money for s in model.stock)  # such a row can have no rent
        self.usable = duals is not None and pricer.is_exact and not free and unit / self.step < MOST_MONEY
        if duals is None:
            return
        middle = _middle(generation, moneys, duals.parts, deadline)
        self._values = [int(y * scale * (1 - SAFE)) for y in middle]
        priced = pricer.price(self._values, [p.demand for p in model.parts])
        over = [b - int(m // self.step * SCALE) for b, m in zip(priced.best, moneys, strict=True)]
        self._rents = [max(0, o) if s.count >= 0 else 0 for o, s in zip(over, model.stock, strict=True)]
        # Without a count there is no rent: values are lowered until no fill is worth more than it costs.
        bought = [j for j, s in enumerate(model.stock) if s.count < 0 and s.money]
        worst = max((priced.best[j] * self.step / (moneys[j] * SCALE) for j in bought), default=1.0)
        if worst > 1.0:
            self._values = [int(v / worst * (1 - SAFE)) for v in self._values]

    def allowance(self, money: int) -> int:
        """Return the reduced cost that a plan of this money has at most, less than 0 when there is none."""
        need = sum(v * p.demand for v, p in zip(self._values, self.model.parts, strict=True))
        rents = sum(q * s.count for q, s in zip(self._rents, self.model.stock, strict=True) if q)
        return int(money // self.step * SCALE) + rents - need

    def within(
        self, allowance: int, *, most: int = LISTED, only_whole: bool = False
    ) -> tuple[list[Column], bool]:
        """Return the fills of at most this reduced cost, and whether they are all there are.

        They come with the cheapest first, and of many only the `most` cheapest. `only_whole`: return
        none when it is seen that there are too many to be listed.
        """
        found = []
        whole = True
        for n, group in enumerate(self.pricer.groups):
            for j in group:
                parts, rows, costs, ended = self._of(j, self._cost(j) - allowance)
                whole &= ended
                if not ended and only_whole:
                    return [], False
                found.append((n, j, parts, rows, costs))
        everything = np.concatenate([costs for *_, costs in found])
        dearest = np.inf
        if len(everything) > most:
            whole, dearest = False, np.partition(everything, most)[most]
        columns = []
        for n, j, parts, rows, costs in found:
            for i in np.flatnonzero(costs < dearest):
                gives = sorted((parts[k], int(rows[i, k])) for k in np.flatnonzero(rows[i]))
                columns.append((float(costs[i]), Column(j, tuple(gives), b"", n)))
        columns.sort(key=lambda c: c[0])
        return [c for _, c in columns], whole

    def listing(self, money: int) -> Listing:
        """Return the fills that a plan for `money` at most may use, unless they are too many."""
        if not self.usable:
            return Listing(self, money, 0, (), whole=False)
        allowance = self.allowance(money)
        columns, whole = self.within(allowance, only_whole=True) if allowance >= 0 else ([], True)
        return Listing(self, money, allowance, columns, whole)

    def by_chance(self, allowance: int, seed: int) -> Refill:
        """Return a search for a plan whose fills have at most this reduced cost together."""
        line, step = self.pricer.line, self.pricer.step
        parts = [
            (size // step, v, p.demand)
            for size, v, p in zip(line.parts, self._values, self.model.parts, strict=True)
        ]
        stock = [
            (room // step, self._cost(j), s.count)
            for j, (room, s) in enumerate(zip(line.stock, self.model.stock, strict=True))
        ]
        lies = [[bool(p.lies[j]) for p in self.model.parts] for j in range(len(stock))]
        return Refill(parts, stock, lies, allowance, seed)

    def cost(self, fill: Column) -> int:
        """Return what a fill costs beyond the worth of its parts."""
        return self._cost(fill.stock) - sum(self._values[k] * n for k, n in fill.gives)

    def _cost(self, j: int) -> int:
        """Return what a piece of one stock row costs, its rent included."""
        return int(self.model.stock[j].money // self.step * SCALE) + self._rents[j]

    def _of(self, j: int, need: int) -> tuple[list[int], Any, Any, bool]:
        """Return the fills of one stock row that are worth at least `need`.

        These are the parts that lie on it, how many of each are in a fill, what the fills cost beyond
        the worth of their parts, and whether they are all.
        """
        model, line, step = self.model, self.pricer.line, self.pricer.step
        parts = [k for k, p in enumerate(model.parts) if p.lies[j]]
        parts.sort(key=lambda k: (line.parts[k], k))
        room = line.stock[j] // step
        if not parts or len(parts) * (room + 1) > MOST_TABLE:
            return parts, np.zeros((0, len(parts)), np.int32), np.zeros(0), not parts
        sizes = np.array([line.parts[k] // step for k in parts], np.int64)
        counts = np.array([model.parts[k].demand for k in parts], np.int64)
        values = np.array([float(self._values[k]) for k in parts])
        table = _prefixes(room, sizes, counts, values)
        rows, ended = _fills(table, sizes, counts, values, room, float(need), MOST_FILLS, MOST_STEPS)
        rows = rows[rows.any(axis=1)]
        return parts, rows, self._cost(j) - rows @ values, bool(ended)


def _middle(
    generation: Generation, costs: Sequence[int], first: Sequence[float], deadline: float
) -> list[float]:
    """Return the mean of several values of the parts that are (next to) the best, `first` among them.

    A corner of the best values leaves more fills without a reduced cost than their middle does; where
    the linear optimum is a whole number that is the difference between thousands and hundreds.
    """
    kept, random, all_values = list(generation.cuts), Random(0), [first]
    for _ in range(BLURRED):
        if monotonic() > deadline:
            break
        raised = [d * (1 + BLUR * random.random()) for d in generation.demand]
        generation.master.ask(raised, [n * (1 + BLUR) for n in generation.counts])
        settled = generation.run(costs, None, deadline=deadline, work=PRICINGS).settled
        duals = generation.master.solve()
        if settled and duals:
            all_values.append(duals.parts)
    generation.ask(generation.demand, generation.counts)
    generation.cuts[:] = kept
    return [sum(values) / len(all_values) for values in zip(*all_values, strict=True)]


@dataclass(frozen=True, slots=True)
class Listing:
    """The fills that a plan for so much money may use, the cheapest first, when they can be listed.

    allowance: what they may cost together beyond the worth of their parts, negative when that is
    impossible. whole: whether `columns` are all of them.
    """

    fills: Fills
    money: int
    allowance: int
    columns: Sequence[Column]
    whole: bool

    def search(self, seed: int) -> Refill | None:
        """Return a search by chance, None when a cover of all fills is quick or there are too many parts."""
        parts = self.fills.model.parts
        too_many = sum(p.demand for p in parts) * len(parts) > MOST_TAKEN
        quick = self.whole and len(self.columns) <= FEW
        if quick or not self.fills.usable or self.allowance < 0 or too_many:
            return None
        return self.fills.by_chance(self.allowance, seed)

    def layouts(self, fills: Iterable[tuple[int, tuple[tuple[int, int], ...]]]) -> tuple[Candidate, ...]:
        """Return fills, each a stock row and its parts, as layouts."""
        return tuple(self.fills.pricer.candidate(Column(j, gives, b"", 0)) for j, gives in fills)

    def settle(
        self, more: Iterable[Column] = (), *, seconds: float, repeatable: bool, seed: int = 0
    ) -> Verdict:
        """Find a plan, or prove that there is none, as far as time allows.

        Where the fills are too many to be listed, the best of them and of `more` are tried.
        """
        if self.allowance < 0:
            return Verdict((), True)
        if not self.fills.usable:
            return Verdict((), False)
        deadline = monotonic() + seconds
        columns = self.columns if self.whole else self._best(more)
        if len(columns) > FEW:
            share = FEW_SHARE if self.whole else 1.0
            found, _ = self._cover(columns[:FEW], share * seconds, repeatable, seed)
            if found or not self.whole:
                return Verdict(found, False)
        found, ended = self._cover(columns, deadline - monotonic(), repeatable, seed)
        return Verdict(found, ended and self.whole and not found)

    def _best(self, more: Iterable[Column]) -> Sequence[Column]:
        """Return the cheapest fills, where there are more than can be listed."""
        columns: list[Column] = []
        for share in NARROWER:
            columns, _ = self.fills.within(self.allowance // share, only_whole=True)
            if columns:
                break
        both = dict.fromkeys(replace(c, trace=b"", group=0) for c in (*columns, *more))
        costs = {c: self.fills.cost(c) for c in both}
        return sorted((c for c in both if costs[c] <= self.allowance), key=lambda c: costs[c])

    def _cover(
        self, columns: Sequence[Column], seconds: float, repeatable: bool, seed: int
    ) -> tuple[tuple[Candidate, ...], bool]:
        """Look for a plan of some of the fills; return it, and whether the search came to its end."""
        step = self.fills.step
        layouts = [self.fills.pricer.candidate(c) for c in columns]
        found, ended = cover(
            self.fills.model,
            layouts,
            [float(c.money // step) for c in layouts],
            money_at_most=self.money,
            seconds=max(0.1, seconds),
            nodes=NODES if repeatable else None,
            seed=seed,
        )
        return found or (), ended
