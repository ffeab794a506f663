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

from stockyard.planning.choosing.answer import judge
from stockyard.planning.hunting.searcher import Searcher
from stockyard.planning.model import UNLIMITED, Candidate, Model
from stockyard.planning.programme import Programme
from stockyard.planning.recreate import kernel
from stockyard.planning.tables.beam import Beam
from stockyard.planning.tables.dp import TOP_VALUE
from stockyard.planning.tables.lines import beam_table
from stockyard.planning.tables.pricing import Column, Layout, Pricer, weighed

NOTHING = 1e-6
MANY = 1 << 30
# Share of the time for putting layouts together one after the other.
GREEDY_SHARE = 0.6
# How far chance counts beside how little a layout is filled when some are taken out.
SHUFFLED = 0.1
# Worths are rounded down to whole numbers, those of a pattern by less than this.
ROUNDED = 1000


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
    ruined: tuple[int, int] = (8, 36)
    """How many layouts are taken out, from and to."""
    most_kinds: int = 400
    """Kinds of part up to which the programme of the whole job is of use."""
    bias: float = 1.08
    """Power of a part's area that it is worth where there are no prices yet."""
    near: float = 0.99
    """Share of the best pattern's worth at which others of its beam are taken too."""
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
        """Return layouts that place all parts, or most of them when time is up; none for very many kinds.

        Without `seconds` nothing depends on the clock.
        """
        begun, manner = monotonic(), self._manner
        if len(self.model.parts) > manner.most_kinds:
            return []
        self._ask([p.demand for p in self.model.parts], [s.count for s in self.model.stock])
        if seconds is None:
            self._generate(team, hands, inf, manner.first_rounds)
            return self._dive(team, hands, inf)
        self._generate(team, hands, begun + manner.first * seconds, MANY)
        return self._dive(team, hands, begun + seconds)

    def greedy(self, team: ThreadPoolExecutor, hands: int, until: float) -> list[Candidate]:
        """Return layouts one after the other, each a good pattern of some of the parts left, cut as often as
        those allow. Large parts are worth a little more than their area, so that they do not stay over.
        """
        parts = self.model.parts
        largest = max(p.length * p.width for p in parts)
        worth = [(p.length * p.width / largest) ** self._manner.bias for p in parts]
        self._ask([p.demand for p in parts], [s.count for s in self.model.stock], limit=False)
        fixed: list[Layout] = []
        while any(self._demand) and not self._stop() and monotonic() < until:
            left = [y if d else 0.0 for y, d in zip(worth, self._demand, strict=True)]
            found = list(team.map(partial(self._good, left), self._seeds(hands)))
            if not any(found):
                break
            for c in (c for columns in found for c in columns):
                while self._fits(c):
                    fixed.append(c)
                    self._take(c)
        made = {id(c): self._pricer.candidate(c) for c in fixed}
        return [made[id(c)] for c in fixed]

    def _good(self, worth: Sequence[float], seed: int) -> list[Layout]:
        """Return the columns of a beam that are worth most for what they cost."""
        found: list[tuple[float, int, Column]] = []
        for value, column in self._beams(worth, None, seed):
            found.append((value / self._costs[column.stock], len(found), column))
        best = max((v for v, _, _ in found), default=0.0)
        near = sorted((f for f in found if f[0] >= self._manner.near * best), reverse=True)
        return [column for _, _, column in near]

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
            found = team.map(partial(self._helpful, worth, duals.rents), self._seeds(hands))
            self.add(c for columns in list(found) for c in columns)
            cost = self._programme.solve()
            dry = dry + 1 if cost > mark * (1 - self._manner.little) else 0
            mark = cost if not dry else mark
        return cost

    def _seeds(self, hands: int) -> list[int]:
        return [self._random.randrange(1 << 30) for _ in range(hands)]

    def _helpful(self, worth: Sequence[float], rents: Sequence[float], seed: int) -> list[Layout]:
        """Return columns that cost less than their parts are worth."""
        costs = [c + r + NOTHING for c, r in zip(self._costs, rents, strict=True)]
        return [c for value, c in self._beams(worth, costs, seed) if value > costs[c.stock]]

    def _beams(
        self, worth: Sequence[float], costs: Sequence[float] | None, seed: int
    ) -> list[tuple[float, Column]]:
        """Return columns of some parts and some stock rows, and what they are worth; `costs` at least."""
        random, manner = Random(seed), self._manner
        wanted = [k for k, y in enumerate(worth) if y > NOTHING]
        chosen = set(random.sample(wanted, min(manner.kinds, len(wanted))))
        scale = TOP_VALUE / (self._pricer.most(worth) or 1.0)
        values = [int(y * scale) if k in chosen else 0 for k, y in enumerate(worth)]
        demand = [min(a, b) for a, b in zip(self._demand, self._most, strict=True)]
        found: list[tuple[float, Column]] = []
        for n, group in enumerate(self._pricer.groups):
            rows = [(j, s) for j, s in zip(group.stock, group.sheets, strict=True) if self._counts[j]]
            if not rows or self._stop():
                continue
            beam = Beam(group.table, values, demand, width=manner.width, stop=self._stop)
            for j, sheet in random.sample(rows, min(manner.rows, len(rows))):
                least = 1 if costs is None else int(costs[j] * scale) - ROUNDED
                for trace in beam.patterns(sheet, manner.patterns, max(1, least)):
                    column = self._pricer.traced(j, n, trace)
                    found.append((sum(a * worth[k] for k, a in column.gives), column))
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
                self._take(c)
        return chosen

    def _take(self, c: Layout) -> None:
        """Take a layout off what is wanted and what stock there is."""
        for k, a in c.gives:
            self._demand[k] -= a
        if self._counts[c.stock] != UNLIMITED:
            self._counts[c.stock] -= 1

    def _fits(self, c: Layout) -> bool:
        return self._counts[c.stock] != 0 and all(a <= self._demand[k] for k, a in c.gives)

    def _ask(self, demand: Sequence[int], counts: Sequence[int], *, limit: bool = True) -> None:
        """Set what is wanted, and which layouts may be used for it; `limit`: in the programme too."""
        self._demand, self._counts = list(demand), list(counts)
        if not limit:
            return
        self._programme.ask(self._demand, self._counts)
        for n, c in enumerate(self._layouts):
            use = self._fits(c)
            if use != self._usable[n]:
                self._usable[n] = use
                self._programme.allow(n, use)
        self._programme.solve()


def better(
    model: Model, best: Sequence[Candidate], random: Random, plan: Callable[[Model, int], list[Candidate]]
) -> list[Candidate]:
    """Return a plan in which some layouts of the best, rather those least filled, are planned again.

    `plan` does so for a model of their parts, with a seed.
    """
    parts, (low, high) = model.parts, Manner().ruined
    many = min(len(best), random.randint(low, high))

    def filled(c: Candidate) -> float:
        piece = model.stock[c.stock]
        return sum(n * parts[k].length * parts[k].width for k, n in c.gives) / (piece.length * piece.width)

    order = sorted(range(len(best)), key=lambda n: filled(best[n]) + SHUFFLED * random.random())
    kept = [best[n] for n in order[many:]]
    rest = rest_of(model, kept)
    if rest is None:
        return list(best)
    again = plan(rest, random.randrange(MANY))
    return kept + [weighed(model, c.stock, c.pattern.root) for c in again]


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


def wholesale(
    model: Model,
    team: ThreadPoolExecutor,
    hands: int,
    seed: int,
    seconds: float | None,
    stop: Callable[[], bool],
    tell: Callable[[Sequence[Candidate]], None] = lambda _: None,
) -> list[Candidate]:
    """Return layouts for the parts of a model, the best of two ways; `tell` is given those of the first.

    They may leave parts out when time is up, or where no pattern was found for them.
    """
    begun = monotonic()
    planner = Wholesale(model, Pricer(model, beam_table), seed, stop)
    first = planner.greedy(team, hands, inf if seconds is None else begun + GREEDY_SHARE * seconds)
    tell(first)
    planner.add(first)
    left = None if seconds is None else max(0.0, seconds - (monotonic() - begun))
    second = planner.plan(team, hands, left)
    both = [judge(model, completed(model, layouts, seed)) for layouts in (first, second) if layouts]
    return list(min(both, key=lambda a: a.figures).layouts) if both else []


def completed(model: Model, layouts: Sequence[Candidate], seed: int) -> list[Candidate]:
    """Return layouts with those for the parts that they leave out, put in one after the other."""
    rest = rest_of(model, layouts)
    if rest is None:
        return list(layouts)
    last = Searcher(rest, seed, 0).start(kernel.LARGE_FIRST)
    return [*layouts, *(weighed(model, c.stock, c.pattern.root) for c in last.layouts)]
