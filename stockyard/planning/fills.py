"""Every way to fill a board that a plan of a given cost may use, and with them the last word on that cost.

With values y of the parts and rents q of the stock rows from the linear optimum, a plan that costs
no more than T spends at most T + sum q_j count_j - sum demand_i y_i on reduced costs; so no fill in
it has a larger one. These fills are enumerated, and a covering programme over all of them finds the
plan or proves that there is none (Carvalho 1999 does the like; "reduced cost fixing" elsewhere).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from time import monotonic
from typing import Any

import numpy as np

from stockyard.planning.bars import BarPricer
from stockyard.planning.columns import Generation
from stockyard.planning.compiled import jit
from stockyard.planning.covering import cover
from stockyard.planning.model import Candidate, Model
from stockyard.planning.pricing import Column
from stockyard.planning.refill import Refill

# Values are whole numbers of this fraction of a money step; sums stay exact in 64-bit floats.
SCALE = 1e8
# Money steps of the dearest piece at most, so that they do.
MOST_MONEY = 1e7
# Duals are lowered by this much, so that rounding leaves no fill with a negative reduced cost.
SAFE = 1e-9
# Fills of one stock row, and steps of their enumeration, at most.
MOST_FILLS, MOST_STEPS = 20_000, 50_000_000
# Numbers in the table of one stock row at most.
MOST_TABLE = 25_000_000
# When there are too many fills, those within this share of the allowance are tried.
NARROWER = 0.25
# Numbers that a search by chance may hold: each board has one for each part.
MOST_TAKEN = 5_000_000
# Share of the time that a search by chance takes where fills are too many to be listed, and the rounds of one
# bit of it; so many bits when nothing may depend on the clock.
CHANCE, ROUNDS, BITS = 0.25, 50, 40
# Branches of the covering programme when nothing may depend on the clock.
NODES = 2000


@dataclass(frozen=True, slots=True)
class Verdict:
    """A plan within the cost (empty: none found), and whether it is proved that there is none.

    listed: whether all fills of such a plan were listed, so that there is no use in trying them by chance.
    """

    candidates: tuple[Candidate, ...]
    refuted: bool
    listed: bool = True


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
        self._values = [int(y * scale * (1 - SAFE)) for y in duals.parts]
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

    def within(self, allowance: int) -> tuple[list[Column], bool]:
        """Return the fills of at most this reduced cost, and whether they are all there are."""
        columns: list[Column] = []
        whole = True
        for n, group in enumerate(self.pricer.groups):
            for j in group:
                found, ended = self._of(j, self._cost(j) - allowance)
                whole &= ended
                columns += [Column(j, gives, b"", n) for gives in found]
        return columns, whole

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

    def layouts(self, fills: Iterable[tuple[int, tuple[tuple[int, int], ...]]]) -> tuple[Candidate, ...]:
        """Return fills, each a stock row and its parts, as layouts."""
        return tuple(self.pricer.candidate(Column(j, gives, b"", 0)) for j, gives in fills)

    def _cost(self, j: int) -> int:
        """Return what a piece of one stock row costs, its rent included."""
        return int(self.model.stock[j].money // self.step * SCALE) + self._rents[j]

    def _of(self, j: int, need: int) -> tuple[list[tuple[tuple[int, int], ...]], bool]:
        """Return the fills of one stock row that are worth at least `need`."""
        model, line, step = self.model, self.pricer.line, self.pricer.step
        parts = [k for k, p in enumerate(model.parts) if p.lies[j]]
        parts.sort(key=lambda k: (line.parts[k], k))
        room = line.stock[j] // step
        if not parts or len(parts) * (room + 1) > MOST_TABLE:
            return [], not parts
        sizes = np.array([line.parts[k] // step for k in parts], np.int64)
        counts = np.array([model.parts[k].demand for k in parts], np.int64)
        values = np.array([float(self._values[k]) for k in parts])
        table = _prefixes(room, sizes, counts, values)
        rows, ended = _fills(table, sizes, counts, values, room, float(need), MOST_FILLS, MOST_STEPS)
        fills = []
        for row in rows:
            taken = ((parts[i], int(row[i])) for i in np.flatnonzero(row))
            fills.append(tuple(sorted(taken)))
        return [f for f in fills if f], bool(ended)


def by_chance(
    model: Model, generation: Generation, pricer: BarPricer, money: int, *,
    seed: int, seconds: float, repeatable: bool,
) -> tuple[Candidate, ...]:  # fmt: skip
    """Look for a plan for `money` at most by filling boards anew; return its layouts, nothing without one."""
    fills = Fills(model, generation, pricer, monotonic() + seconds)
    return _by_chance(fills, money, seed, seconds, repeatable)


def _by_chance(
    fills: Fills, money: int, seed: int, seconds: float, repeatable: bool
) -> tuple[Candidate, ...]:
    """Search by chance for so long, or for a fixed number of rounds."""
    allowance = fills.allowance(money) if fills.usable else -1
    if allowance < 0 or sum(p.demand for p in fills.model.parts) * len(fills.model.parts) > MOST_TAKEN:
        return ()
    search, deadline = fills.by_chance(allowance, seed), monotonic() + seconds
    found, n = search.run(ROUNDS), 1
    while not found and (n < BITS if repeatable else monotonic() < deadline):
        found, n = search.run(ROUNDS), n + 1
    return fills.layouts(found)


def settle(
    model: Model, generation: Generation, pricer: BarPricer, money: int, *,
    seconds: float, repeatable: bool, seed: int = 0,
) -> Verdict:  # fmt: skip
    """Find a plan for `money` at most, or prove that there is none, as far as time allows."""
    deadline = monotonic() + seconds
    fills = Fills(model, generation, pricer, deadline)
    if not fills.usable:
        return Verdict((), False)
    allowance = fills.allowance(money)
    if allowance < 0:
        return Verdict((), True)
    columns, whole = fills.within(allowance)
    listed = whole and len(columns) <= MOST_FILLS
    if not listed:
        lucky = _by_chance(fills, money, seed, CHANCE * seconds, repeatable)
        if lucky:
            return Verdict(lucky, False)
        columns, _ = fills.within(int(allowance * NARROWER))
    if not columns or len(columns) > MOST_FILLS:
        return Verdict((), listed and not columns, listed)
    layouts = [pricer.candidate(c) for c in columns]
    found, ended = cover(
        model,
        layouts,
        [float(c.money // fills.step) for c in layouts],
        money_at_most=money,
        seconds=max(0.1, deadline - monotonic()),
        nodes=NODES if repeatable else None,
    )
    return Verdict(found or (), ended and listed and not found, listed)
