"""From the patterns of a plan to others for the same money and a lower price of material, hands and saw.

Layouts in strips are made by chance; a local search takes a few layouts of the plan apart and cuts their
parts anew; and CP-SAT chooses from all layouts seen. What is compared in the end is the price of the plan as
it is sawn, fence moves in the order of work included.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from random import Random
from time import monotonic

from stockyard.planning.polish.mend import mended
from stockyard.planning.polish.select import Limits, choose, surplus
from stockyard.planning.polish.strips import Stripper, plans
from stockyard.planning.problem import Kind, Method, Problem
from stockyard.planning.sawing.cuts import Sawyer
from stockyard.planning.sawing.finish import Sawn, moves_in_order, sawn
from stockyard.planning.sawing.tidy import tidy
from stockyard.planning.tree import Node, Pattern

# Layouts chosen from at most, rounds, and the shares of a round's time that go into making layouts by chance
# and into the local search.
MOST, ROUNDS, MAKING, MENDING = 1500, 4, 0.2, 0.65
# Plans in strips and steps of the local search in a round when nothing may depend on the clock, and CP-SAT's
# work.
PLANS, STEPS, WORK = 15, 60, 0.2
# The choice may take so many seconds at a time, so that a stop is heard.
CHOOSING = 0.6
# So many plans, or steps, after each other that bring no new layout are the last of a round.
STALE, STALE_STEPS = 40, 150
# With more parts than this the plan stays as it is; with more cuts a plan is judged by its settings alone.
MOST_PARTS, MOST_CUTS = 1500, 150
# What a step of the local search may lose at first, in fence moves.
HEAT = 1.0


@dataclass(frozen=True, slots=True)
class Time:
    """`seconds` on the clock; `repeatable`: only so many rounds and so much work count."""

    seconds: float
    repeatable: bool


def polish(
    problem: Problem,
    patterns: Sequence[Pattern],
    *,
    time: Time,
    seed: int,
    stop: Callable[[], bool] = lambda: False,
    better: Callable[[tuple[Pattern, ...], int], None] = lambda *_: None,
) -> tuple[Pattern, ...]:
    """Return patterns that place the same parts for no more money at a lower price; tidied already.

    `stop` is asked several times a second; `better` hears of every plan that is better than the one before,
    the first one too, and of its price.
    """
    own = [p for p in patterns if p.parts()]
    if problem.method is Method.ROUTER or not own or sum(sum(p.parts().values()) for p in own) > MOST_PARTS:
        return tuple(tidied(problem, p) for p in own)
    return _Polish(problem, own, seed, stop, better).run(time)


def tidied(problem: Problem, pattern: Pattern) -> Pattern:
    """Return a pattern with its tree turned the better way."""
    effort = problem.effort_on(problem.stock[pattern.stock])
    return replace(pattern, root=tidy(pattern.root, problem.kerf, problem.worth, effort))


class _Polish:
    def __init__(
        self,
        problem: Problem,
        patterns: Sequence[Pattern],
        seed: int,
        stop: Callable[[], bool],
        better: Callable[[tuple[Pattern, ...], int], None],
    ) -> None:
        self._problem, self._rng, self._seed = problem, Random(seed), seed
        self._stop, self._better = stop, better
        self._sawyer = Sawyer(problem, tidied=False)
        self._stripper = Stripper(problem, self._rng)
        self._pool: dict[Pattern, Sawn] = {}
        self._alone: dict[Pattern, Sawn] = {}  # how a piece is sawn that is the only one
        self._trees: dict[Pattern, Pattern] = {}
        self._ordered: set[frozenset[tuple[Pattern, int]]] = set()  # plans whose order of work is known
        placed: Counter[int] = Counter()
        for p in patterns:
            placed.update(p.parts())
        self._limits = Limits(placed, *self._money(patterns))
        self._best = [self._better_tree(p) for p in patterns]
        self._exact = self._price(self._best)

    def run(self, time: Time) -> tuple[Pattern, ...]:
        """Make layouts, mend and choose, a few times over."""
        self._better(tuple(self._best), self._exact)
        begun = monotonic()
        seen = 0
        for number in range(ROUNDS):
            now, until = monotonic(), begun + time.seconds
            share = (until - now) / (ROUNDS - number)
            if not time.repeatable and (share < 0.01 or self._stop()):
                break
            made = self._make(now + MAKING * share, time.repeatable)
            # Every other round goes its own way, from the cheapest plan made by chance.
            start = made if number % 2 and made else self._best
            self._mend(start, now + (MAKING + MENDING) * share, time.repeatable)
            if len(self._pool) > seen and not self._stop():
                seen = len(self._pool)
                seconds = min(CHOOSING, max(0.02, now + share - monotonic()))
                self._choose(1e6 if time.repeatable else seconds, WORK if time.repeatable else None)
        return tuple(self._best)

    def _add(self, pattern: Pattern) -> Sawn:
        if pattern not in self._pool:
            self._pool[pattern] = sawn(self._problem, self._sawyer, pattern)
        return self._pool[pattern]

    def _better_tree(self, pattern: Pattern) -> Pattern:
        """Pool a pattern's tree as it is and turned; return the one that costs less."""
        if pattern not in self._trees:
            tries = [pattern, tidied(self._problem, pattern)]
            fence = self._problem.effort.fence
            every = [(p, self._add(p)) for p in tries]
            self._trees[pattern], _ = min(
                every, key=lambda t: (not t[1].is_reached, t[1].price + fence * len(t[1].settings))
            )
        return self._trees[pattern]

    def _make(self, until: float, repeatable: bool) -> list[Pattern]:
        """Pool the layouts of plans made by chance; return the cheapest plan that is whole, else nothing."""
        used = [p.stock for p in self._best]
        best: list[Pattern] = []
        before, stale = len(self._pool), 0
        for number, made in enumerate(plans(self._problem, self._rng, self._limits.placed, used)):
            better = []
            for pattern in made:  # of a large job one plan alone takes long
                if not repeatable and (monotonic() > until or self._stop()):
                    return best
                better.append(self._better_tree(pattern))
            if self._is_whole(better) and (not best or self._cost(better) < self._cost(best)):
                best = better
            stale = stale + 1 if len(self._pool) == before else 0
            before = len(self._pool)
            over = number >= PLANS if repeatable else monotonic() > until
            if over or stale > STALE or before > MOST or self._stop():
                break
        return best

    def _is_whole(self, plan: Sequence[Pattern]) -> bool:
        """Whether it places all parts, within the money, with cuts that the shop's saws reach."""
        placed: Counter[int] = Counter()
        for pattern in plan:
            placed.update(pattern.parts())
        return placed == self._limits.placed and self._allowed(plan)

    def _mend(self, plan: Sequence[Pattern], until: float, repeatable: bool) -> None:
        """Search around a plan, at first also through plans that are a little dearer."""
        begun, steps = monotonic(), 0
        cost = self._cost(plan)
        heat = HEAT * self._problem.effort.fence
        before, stale = len(self._pool), 0
        while stale < STALE_STEPS and not self._stop():
            gone = steps / STEPS if repeatable else (monotonic() - begun) / max(until - begun, 1e-9)
            if gone >= 1:
                return
            steps += 1
            stale = stale + 1 if len(self._pool) == before else 0
            before = len(self._pool)
            tried = mended(self._problem, self._stripper, self._rng, plan, lambda p: self._add(p).settings)
            if tried is None:
                continue
            tried = [self._better_tree(p) for p in tried]
            after = self._cost(tried)
            if after < cost + heat * (1 - gone) * self._rng.random() and self._allowed(tried):
                plan, cost = tried, after
                self._offer(plan)

    def _choose(self, seconds: float, work: float | None) -> None:
        patterns = [p for p, piece in self._pool.items() if piece.is_reached or p in self._best]
        gives = [p.parts() for p in patterns]
        own = Counter(self._best)
        start = [own[p] for p in patterns]
        pool = [self._pool[p] for p in patterns]
        times = choose(
            self._problem, pool, gives, start, self._limits, seconds=seconds, work=work, seed=self._seed
        )
        if times is not None:
            chosen = [p for p, n in zip(patterns, times, strict=True) for _ in range(n)]
            exact = self._without_surplus(chosen)
            if self._allowed(exact):
                self._offer(exact)

    def _offer(self, plan: Sequence[Pattern]) -> None:
        """Keep a plan that is cheaper as it is sawn; no order of work sets anything less than once."""
        if self._cost(plan) >= self._exact:
            return
        pieces = frozenset(Counter(plan).items())
        if pieces in self._ordered:
            return
        self._ordered.add(pieces)
        price = self._price(plan)
        if price < self._exact:
            self._best, self._exact = list(plan), price
            self._better(tuple(plan), price)

    def _sawn(self, patterns: Sequence[Pattern]) -> list[Sawn]:
        """Return the pieces of a plan as they are sawn in it: `finish` saws them so."""
        if len(patterns) != 1:
            return [self._add(p) for p in patterns]
        (only,) = patterns
        if only not in self._alone:
            self._alone[only] = sawn(self._problem, self._sawyer, only, alone=True)
        return [self._alone[only]]

    def _cost(self, patterns: Sequence[Pattern]) -> int:
        """Return the price of a plan that sets everything once."""
        every = self._sawn(patterns)
        settings = frozenset[object]().union(*(s.settings for s in every))
        return sum(s.price for s in every) + self._problem.effort.fence * len(settings)

    def _price(self, patterns: Sequence[Pattern]) -> int:
        """Return the price of a plan in its order of work; of a long one as if all were set once."""
        every = self._sawn(patterns)
        if sum(len(s.cuts) for s in every) > MOST_CUTS:
            return self._cost(patterns)
        return sum(s.price for s in every) + self._problem.effort.fence * moves_in_order(self._problem, every)

    def _money(self, patterns: Iterable[Pattern]) -> tuple[int, int]:
        """Return the money for full pieces, and for those of them that are bought."""
        stock = [self._problem.stock[p.stock] for p in patterns]
        full = [s for s in stock if s.kind is Kind.FULL]
        return sum(s.cost for s in full), sum(s.cost for s in full if s.count is None)

    def _allowed(self, patterns: Sequence[Pattern]) -> bool:
        """Whether a plan costs no more money, and saws of the shop make all its cuts."""
        if not all(self._add(p).is_reached for p in patterns):
            return False
        money, bought = self._money(patterns)
        return money <= self._limits.money and bought <= self._limits.bought

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
