"""Large jobs: a plan of patterns, each cut many times, from the linear programme rounded down and dived into.

With thousands of parts choosing layouts is a cutting-stock problem whose linear relaxation is nearly tight
(Gilmore and Gomory 1961). Columns come from beams at its prices, each over some of the parts by chance;
what the optimum takes whole is fixed as often as it says, the rest is priced anew (residual rounding,
Waescher and Gau 1996). A plan is then bettered by taking some layouts out and planning their parts again
(large neighbourhood search, Shaw 1998).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from math import inf
from random import Random
from time import monotonic

from stockyard.planning.model import UNLIMITED, Candidate, Model
from stockyard.planning.programme import Programme
from stockyard.planning.tables.beam import Beam
from stockyard.planning.tables.dp import TOP_VALUE
from stockyard.planning.tables.pricing import Layout, Pricer

NOTHING = 1e-6
MANY = 1 << 30


@dataclass(frozen=True, slots=True)
class Manner:
    """How large jobs are planned; shares are of the time or of the pieces."""

    kinds: int = 24
    """Kinds of part that one beam is made of, by chance."""
    width: int = 8
    """Sets kept at a point of a beam."""
    patterns: int = 24
    """Patterns taken from a beam for each stock row."""
    rows: int = 6
    """Stock rows that one beam gives patterns for, by chance."""
    first: float = 0.5
    """Share of the time for the first pricing."""
    first_rounds: int = 60
    """Rounds of it where nothing may depend on the clock."""
    patience: int = 14
    """Rounds of pricing that may come to next to nothing."""
    little: float = 4e-4
    """What is next to nothing, as a share of the cost."""
    at_once: float = 0.08
    """Share of the pieces still needed that is fixed at once where nothing is taken whole."""
    whole: float = 0.97
    """A layout taken this much is taken whole."""
    rounds: int = 3
    """Rounds of pricing after each fixing."""
    absent: float = 3.0
    """What a part left out costs, in dearest pieces."""
    blur: float = 0.2
    """How far chance blurs what the optimum takes of each layout."""
    ruined: tuple[float, float] = (0.06, 0.3)
    """Share of the layouts that is taken out, from and to."""
    most_columns: int = 30_000
    """Columns kept."""


class Wholesale:
    """The linear programme of one large model, and dives into it. Money decides, then stock area."""

    def __init__(
        self,
        model: Model,
        pricer: Pricer,
        seed: int,
        stop: Callable[[], bool],
        manner: Manner | None = None,
    ) -> None:
        """`stop` is asked between beams."""
        self.model, self._pricer, self._stop = model, pricer, stop
        self._random, self._manner = Random(seed), manner or Manner()
        dearest = max(s.money for s in model.stock) or 1
        largest = max(s.area for s in model.stock)
        self._costs = [s.money / dearest + 0.05 * s.area / largest for s in model.stock]
        self._programme = Programme(model, self._manner.absent)
        self._layouts: list[Layout] = []
        self._usable: list[bool] = []
        self._known: set[tuple[int, tuple[tuple[int, int], ...]]] = set()
        face = [(s.length * s.width) for s in model.stock]
        self._most = [min(p.demand, max(face) // (p.length * p.width)) for p in model.parts]
        self._demand = [p.demand for p in model.parts]
        self._counts = [s.count for s in model.stock]

    def add(self, layouts: Iterable[Layout]) -> None:
        """Take layouts in."""
        for c in layouts:
            key = (c.stock, c.gives)
            if c.gives and key not in self._known and len(self._layouts) < self._manner.most_columns:
                self._known.add(key)
                self._programme.add(c.stock, c.gives, self._costs[c.stock])
                self._layouts.append(c)
                self._usable.append(True)

    def plan(self, team: ThreadPoolExecutor, hands: int, seconds: float | None) -> list[Candidate]:
        """Return layouts that place all parts, or most of them when time is up.

        Without `seconds` nothing depends on the clock.
        """
        begun, manner = monotonic(), self._manner
        self._ask([p.demand for p in self.model.parts], [s.count for s in self.model.stock])
        if seconds is None:
            self._generate(team, hands, inf, manner.first_rounds)
            return self._dive(team, hands, inf)
        self._generate(team, hands, begun + manner.first * seconds, MANY)
        return self._dive(team, hands, begun + seconds)

    def better(
        self, team: ThreadPoolExecutor, hands: int, best: Sequence[Candidate], seconds: float | None
    ) -> list[Candidate]:
        """Return a plan in which some layouts of the best are planned again."""
        low, high = self._manner.ruined
        many = max(4, int(len(best) * self._random.uniform(low, high)))
        filled = [self._filled(c) + 0.1 * self._random.random() for c in best]
        order = sorted(range(len(best)), key=lambda n: filled[n])
        kept = [best[n] for n in order[many:]]
        demand, counts = [p.demand for p in self.model.parts], [s.count for s in self.model.stock]
        for c in kept:
            for k, a in c.gives:
                demand[k] -= a
            if counts[c.stock] != UNLIMITED:
                counts[c.stock] -= 1
        self._ask([max(0, d) for d in demand], counts)
        until = inf if seconds is None else monotonic() + seconds
        self._generate(team, hands, until, self._manner.rounds * 3)
        return kept + self._dive(team, hands, until)

    def _filled(self, c: Candidate) -> float:
        piece, parts = self.model.stock[c.stock], self.model.parts
        return sum(n * parts[k].length * parts[k].width for k, n in c.gives) / (piece.length * piece.width)

    def _generate(self, team: ThreadPoolExecutor, hands: int, until: float, rounds: int) -> float:
        """Add columns until time is up or they come to next to nothing; return the least cost."""
        cost, mark, dry = self._programme.solve(), inf, 0
        for _ in range(rounds):
            if cost == inf or self._stop() or monotonic() > until or dry > self._manner.patience:
                break
            duals = self._programme.duals()
            worth = [y if d else 0.0 for y, d in zip(duals.parts, self._demand, strict=True)]
            found = team.map(partial(self._beams, worth, duals.rents), self._seeds(hands))
            self.add(c for columns in list(found) for c in columns)
            cost = self._programme.solve()
            dry = dry + 1 if cost > mark * (1 - self._manner.little) else 0
            mark = cost if not dry else mark
        return cost

    def _seeds(self, hands: int) -> list[int]:
        return [self._random.randrange(1 << 30) for _ in range(hands)]

    def _beams(self, worth: Sequence[float], rents: Sequence[float], seed: int) -> list[Layout]:
        """Return columns that cost less than their parts are worth."""
        random, manner = Random(seed), self._manner
        wanted = [k for k, y in enumerate(worth) if y > NOTHING]
        chosen = set(random.sample(wanted, min(manner.kinds, len(wanted))))
        scale = TOP_VALUE / (self._pricer.most(worth) or 1.0)
        values = [int(y * scale) if k in chosen else 0 for k, y in enumerate(worth)]
        demand = [min(a, b) for a, b in zip(self._demand, self._most, strict=True)]
        found: list[Layout] = []
        for n, group in enumerate(self._pricer.groups):
            rows = [(j, s) for j, s in zip(group.stock, group.sheets, strict=True) if self._counts[j]]
            if not rows or self._stop():
                continue
            beam = Beam(group.table, values, demand, width=manner.width, stop=self._stop)
            for j, sheet in random.sample(rows, min(manner.rows, len(rows))):
                least = int((self._costs[j] + rents[j]) * scale) - 1000
                for trace in beam.patterns(sheet, manner.patterns, max(1, least)):
                    column = self._pricer.traced(j, n, trace)
                    if sum(a * worth[k] for k, a in column.gives) > self._costs[j] + rents[j] + NOTHING:
                        found.append(column)
        return found

    def _dive(self, team: ThreadPoolExecutor, hands: int, until: float) -> list[Candidate]:
        """Fix layouts until all parts are placed, or time is up."""
        fixed: list[Layout] = []
        while any(self._demand) and not self._stop() and monotonic() < until:
            chosen = self._chosen()
            if not chosen:
                break
            fixed += chosen
            self._ask(self._demand, self._counts)
            if any(self._demand):
                self._generate(team, hands, until, self._manner.rounds)
        made = {id(c): self._pricer.candidate(c) for c in fixed}
        return [made[id(c)] for c in fixed]

    def _chosen(self) -> list[Layout]:
        """Return what the optimum takes whole, or some of what it takes most of; take it off the demand."""
        usable = [n for n, use in enumerate(self._usable) if use]
        taken = zip(self._programme.taken(usable), usable, strict=True)
        blurred = [(x + self._manner.blur * self._random.random(), x, n) for x, n in taken if x > NOTHING]
        order = sorted(blurred, reverse=True)
        many = max(1.0, self._manner.at_once * sum(x for _, x, _ in order))
        chosen: list[Layout] = []
        for _, x, n in order:
            if len(chosen) >= many and x < self._manner.whole:
                continue
            c = self._layouts[n]
            for _ in range(max(1, int(x + 1 - self._manner.whole))):
                if not self._fits(c):
                    break
                chosen.append(c)
                for k, a in c.gives:
                    self._demand[k] -= a
                if self._counts[c.stock] != UNLIMITED:
                    self._counts[c.stock] -= 1
        return chosen

    def _fits(self, c: Layout) -> bool:
        return self._counts[c.stock] != 0 and all(a <= self._demand[k] for k, a in c.gives)

    def _ask(self, demand: Sequence[int], counts: Sequence[int]) -> None:
        """Set what is wanted, and which layouts may be used for it."""
        self._demand, self._counts = list(demand), list(counts)
        self._programme.ask(self._demand, self._counts)
        for n, c in enumerate(self._layouts):
            use = self._fits(c)
            if use != self._usable[n]:
                self._usable[n] = use
                self._programme.allow(n, use)
        self._programme.solve()


def rest_of(model: Model, layouts: Iterable[Candidate]) -> Model | None:
    """Return the model of the parts and the stock that layouts leave, None when no part is left."""
    placed: Counter[int] = Counter()
    used: Counter[int] = Counter()
    for c in layouts:
        placed.update(dict(c.gives))
        used[c.stock] += 1
    parts = [replace(p, demand=p.demand - placed[k]) for k, p in enumerate(model.parts)]
    stock = tuple(
        s if s.count == UNLIMITED else replace(s, count=s.count - used[j]) for j, s in enumerate(model.stock)
    )
    left = tuple(p for p in parts if p.demand > 0)
    return replace(model, parts=left, stock=stock) if left else None
