"""Layouts of which the shop's saws make every cut, where those of a plan have cuts out of reach.

What such layouts give is cut anew in strips, from their pieces and from others of the stock where it must be.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from random import Random

from stockyard.planning.polish.strips import Stripper
from stockyard.planning.problem import Kind, Problem, fits, is_limited
from stockyard.planning.sawing.cuts import Sawyer
from stockyard.planning.sawing.finish import Sawn, sawn
from stockyard.planning.tree import Axis, Pattern

# Plans made by chance at most, until so many have brought nothing better; in a job of more parts than this
# the first one must do. And tries at the layout of a piece.
PLANS, STALE, MANY, TRIES = 60, 20, 300, 6


def within_reach(
    problem: Problem, patterns: Sequence[Pattern], seed: int, stop: Callable[[], bool] = lambda: False
) -> list[Pattern]:
    """Return patterns that place what these do, as far as the saws reach; the same where they reach all.

    A pattern of a piece with flaws stays as it is.
    """
    if not any(is_limited(problem.stock[p.stock], problem.saws) for p in patterns):
        return list(patterns)
    return _Maker(problem, patterns, Random(seed)).best(stop)


class _Maker:
    """Makes plans within reach for one plan that is not."""

    def __init__(self, problem: Problem, patterns: Sequence[Pattern], rng: Random) -> None:
        self._problem, self._rng = problem, rng
        self._sawyer, self._stripper = Sawyer(problem, tidied=False), Stripper(problem, rng)
        self._sawn: dict[Pattern, Sawn] = {}
        self._stay = [p for p in patterns if problem.stock[p.stock].flaws or self._reached(p)]
        self._freed = [p for p in patterns if p not in self._stay]
        self._wanted = Counter({i: p.count for i, p in enumerate(problem.parts)})

    def best(self, stop: Callable[[], bool]) -> list[Pattern]:
        """Return the best of some plans made by chance."""
        if not self._freed:
            return self._stay
        best, least, stale = self._plan(self._stay), None, 0
        least = self._figures(best)
        many = sum(self._wanted.values()) > MANY
        for number in range(0 if many else PLANS):
            if stale > STALE or stop():
                break
            # At times all is cut anew, with pieces that have flaws as they are.
            again = [p for p in self._stay if self._problem.stock[p.stock].flaws]
            made = self._plan(again if number % 3 == 2 else self._stay)
            figures = self._figures(made)
            stale = 0 if figures < least else stale + 1
            if figures < least:
                best, least = made, figures
        return best

    def _reached(self, pattern: Pattern) -> bool:
        return self._of(pattern).is_reached

    def _of(self, pattern: Pattern) -> Sawn:
        if pattern not in self._sawn:
            self._sawn[pattern] = sawn(self._problem, self._sawyer, pattern)
        return self._sawn[pattern]

    def _plan(self, stay: Sequence[Pattern]) -> list[Pattern]:
        """Return these patterns, and others for what they leave out, from pieces in an order of chance."""
        made, left = list(stay), Counter(self._wanted)
        for p in made:
            left.subtract(p.parts())
        for row in self._rows(made):
            while (+left) and self._is_there(row, made):
                found = self._fullest(row, +left)
                if found is None:
                    break
                made.append(found)
                left.subtract(found.parts())
        return made

    def _rows(self, made: Sequence[Pattern]) -> Iterator[int]:
        """Yield stock rows: those set free, then offcuts, then full pieces, the cheap ones first."""
        rng, stock = self._rng, self._problem.stock
        kept = Counter(p.stock for p in made)
        freed = [p.stock for p in self._freed if not kept[p.stock]]
        rng.shuffle(freed)

        def rank(j: int) -> tuple[bool, int, float]:
            return stock[j].kind is Kind.FULL, stock[j].cost, stock[j].area * (0.8 + 0.4 * rng.random())

        others = sorted(range(len(stock)), key=rank)
        yield from dict.fromkeys([*freed, *others])

    def _is_there(self, row: int, made: Sequence[Pattern]) -> bool:
        stock = self._problem.stock[row]
        return not stock.flaws and (stock.count is None or sum(p.stock == row for p in made) < stock.count)

    def _fullest(self, row: int, left: Mapping[int, int]) -> Pattern | None:
        """Return a layout of a piece within reach that holds much of what is left; None when nothing fits."""
        piece, parts = self._problem.stock[row], self._problem.parts
        own = {i: n for i, n in left.items() if fits(parts[i], piece, self._problem.saws)}
        if not own:
            return None
        tries = [self._stripper.pattern(row, own, self._rng.choice(list(Axis))) for _ in range(TRIES)]
        found = [p for p in tries if p is not None and self._reached(p)]
        for i in [] if found else sorted(own, key=lambda i: -parts[i].area):
            for axis in Axis:
                one = self._stripper.pattern(row, {i: 1}, axis)
                if one is not None and self._reached(one):
                    return one
        return max(found, key=lambda p: sum(parts[i].area * n for i, n in p.parts().items()), default=None)

    def _figures(self, plan: Sequence[Pattern]) -> tuple[tuple[int, ...], int, int, int]:
        """Return what a plan leaves out by priority, its money, what of it is bought, and its price."""
        left = Counter(self._wanted)
        for p in plan:
            left.subtract(p.parts())
        parts = self._problem.parts
        levels = sorted({p.priority for p in parts}, reverse=True)
        missing = tuple(sum(n for i, n in left.items() if parts[i].priority == level) for level in levels)
        full = [s for s in (self._problem.stock[p.stock] for p in plan) if s.kind is Kind.FULL]
        settings = frozenset[object]().union(*(self._of(p).settings for p in plan))
        price = sum(self._of(p).price for p in plan) + self._problem.effort.fence * len(settings)
        return missing, sum(s.cost for s in full), sum(s.cost for s in full if s.count is None), price
