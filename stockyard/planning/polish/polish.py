"""From the patterns of a plan to others for the same money and a lower price of material, hands and saw."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from random import Random
from time import monotonic

from stockyard.planning.polish.select import Limits, choose, surplus
from stockyard.planning.polish.strips import plans
from stockyard.planning.problem import Kind, Method, Problem
from stockyard.planning.sawing.cuts import Sawyer
from stockyard.planning.sawing.finish import Sawn, sawn
from stockyard.planning.sawing.tidy import tidy
from stockyard.planning.tree import Node, Pattern

# Layouts chosen from at most, the share of the time that goes into making them, and rounds of both.
MOST, MAKING, ROUNDS = 1500, 0.5, 3
# Plans in strips that are made in a round when nothing may depend on the clock, and CP-SAT's work for one.
PLANS, WORK = 15, 0.2
# So many plans after each other that bring no new layout are the last of a round.
STALE = 40
# With more parts than this the plan stays as it is.
MOST_PARTS = 1500


@dataclass(frozen=True, slots=True)
class Time:
    """`seconds` on the clock; `repeatable`: only so many rounds and so much work count."""

    seconds: float
    repeatable: bool


def polish(problem: Problem, patterns: Sequence[Pattern], *, time: Time, seed: int) -> tuple[Pattern, ...]:
    """Return patterns that place the same parts for no more money at a lower price; tidied already."""
    own = [p for p in patterns if p.parts()]
    if problem.method is Method.ROUTER or not own or sum(sum(p.parts().values()) for p in own) > MOST_PARTS:
        return tuple(tidied(problem, p) for p in own)
    return _Polish(problem, own, seed).run(time)


def tidied(problem: Problem, pattern: Pattern) -> Pattern:
    """Return a pattern with its tree turned the better way."""
    return replace(pattern, root=tidy(pattern.root, problem.kerf, problem.worth, problem.effort))


class _Polish:
    def __init__(self, problem: Problem, patterns: Sequence[Pattern], seed: int) -> None:
        self._problem, self._rng, self._seed = problem, Random(seed), seed
        self._sawyer = Sawyer(problem, tidied=False)
        self._pool: dict[Pattern, Sawn] = {}
        self._best = Counter(self._better_tree(p) for p in patterns)
        placed: Counter[int] = Counter()
        for p in patterns:
            placed.update(p.parts())
        stock = [problem.stock[p.stock] for p in patterns]
        full = [s for s in stock if s.kind is Kind.FULL]
        self._limits = Limits(placed, sum(s.cost for s in full), sum(s.cost for s in full if s.count is None))

    def run(self, time: Time) -> tuple[Pattern, ...]:
        """Make layouts and choose, a few times over."""
        until = monotonic() + time.seconds
        chosen_from = 0
        for number in range(ROUNDS):
            left = until - monotonic()
            if left < 0.02 and not time.repeatable:
                break
            share = left / (ROUNDS - number)
            self._make(monotonic() + MAKING * share, time.repeatable)
            if len(self._pool) == chosen_from:
                break
            chosen_from = len(self._pool)
            seconds = 1e6 if time.repeatable else max(0.02, (1 - MAKING) * share)
            self._choose(seconds, WORK if time.repeatable else None)
        return tuple(self._best.elements())

    def _add(self, pattern: Pattern) -> Sawn:
        if pattern not in self._pool:
            self._pool[pattern] = sawn(self._problem, self._sawyer, pattern)
        return self._pool[pattern]

    def _better_tree(self, pattern: Pattern) -> Pattern:
        """Pool a pattern's tree as it is and turned; return the one that costs less."""
        tries = [pattern, tidied(self._problem, pattern)]
        fence = self._problem.effort.fence
        return min(tries, key=lambda p: self._add(p).price + fence * len(self._add(p).settings))

    def _make(self, until: float, repeatable: bool) -> None:
        used = [p.stock for p in self._best.elements()]
        before, stale = len(self._pool), 0
        for number, made in enumerate(plans(self._problem, self._rng, self._limits.placed, used)):
            for pattern in made:
                self._better_tree(pattern)
            stale = stale + 1 if len(self._pool) == before else 0
            before = len(self._pool)
            over = number >= PLANS if repeatable else monotonic() > until
            if over or stale > STALE or before > MOST:
                return

    def _choose(self, seconds: float, work: float | None) -> None:
        patterns = list(self._pool)
        gives = [p.parts() for p in patterns]
        start = [self._best[p] for p in patterns]
        pool = [self._pool[p] for p in patterns]
        times = choose(
            self._problem, pool, gives, start, self._limits, seconds=seconds, work=work, seed=self._seed
        )
        if times is None:
            return
        chosen = self._without_surplus([p for p, n in zip(patterns, times, strict=True) for _ in range(n)])
        if self._cost(chosen) < self._cost(self._best.elements()):
            self._best = Counter(chosen)

    def _cost(self, patterns: Iterable[Pattern]) -> int:
        every = [self._add(p) for p in patterns]
        settings = frozenset[object]().union(*(s.settings for s in every))
        return sum(s.price for s in every) + self._problem.effort.fence * len(settings)

    def _without_surplus(self, chosen: list[Pattern]) -> list[Pattern]:
        """Return the layouts without parts beyond those wanted, each taken where that saves most."""
        over = surplus([p.parts() for p in chosen], self._limits.placed)
        for part in over.elements():
            tries = []
            for n, p in enumerate(chosen):
                if p.parts().get(part):
                    less = replace(p, root=_without(p.root, part))
                    others = chosen[:n] + chosen[n + 1 :]
                    tries.append([*others, self._better_tree(less)] if less.parts() else others)
            chosen = min(tries, key=self._cost)
        return chosen


def _without(node: Node, part: int) -> Node:
    """Return a tree with one copy of a part turned into rest."""
    if node.part == part:
        return Node(node.length, node.width)
    children = list(node.children)
    for n, child in enumerate(children):
        changed = _without(child, part)
        if changed is not child:
            children[n] = changed
            return replace(node, children=tuple(children))
    return node
