"""All parts of a routed job within less money than the best plan takes, by searches that begin from nothing.

Ruin and recreate with a goal: the pieces are given, and what is left out is brought to nothing. One searcher
begins anew when nothing has come for long; for the other what stays out counts more and more (guided local
search, Voudouris and Tsang 1999), so that it goes on for long.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from stockyard.planning.model import Candidate
from stockyard.planning.placing import kernel
from stockyard.planning.placing.placer import Placer

ORDERS = (kernel.LARGE_FIRST, kernel.LONG_FIRST, kernel.WIDE_FIRST, kernel.NOISY)


@dataclass(frozen=True, slots=True)
class Aiming:
    """How it is done."""

    patience: int = 25
    """Rounds without less left out after which a searcher begins anew."""
    longest: int = 400
    """The same for one whose parts left out count more and more, in rounds altogether."""
    most_pieces: int = 150
    """With more pieces in the best plan all begin from that, since from nothing takes long."""
    from_best: int = 4
    """Of so many beginnings one is from the best plan, whose least filled pieces are emptied."""
    growth: float = 1.1
    """How much more a part counts after each round that has left it out."""


class Aimed:
    """Searchers that each keep their own state; every other one is guided by what it leaves out."""

    def __init__(
        self, placers: Sequence[Placer], rules: Sequence[dict[str, float]], manner: Aiming | None = None
    ) -> None:
        """`rules`: how a searcher goes about it, in turn."""
        self._placers, self._rules, self._manner = placers, rules, manner or Aiming()
        self._least = [0.0] * len(placers)
        self._idle = [0] * len(placers)
        self._turns = self._rounds = 0
        self._budget: int | None = None

    def round(
        self, team: ThreadPoolExecutor, hands: int, best: Sequence[Candidate], *,
        budget: int, filled: float, steps: int,
    ) -> Iterator[Placer]:  # fmt: skip
        """Let `hands` searchers go on for so many steps each, and yield them; one may have placed all.

        `best`: the plan to be beaten; `filled`: least filled share of the layouts that they note.
        """
        if budget != self._budget:
            self._budget = budget
            self._idle = [self._manner.longest] * len(self._placers)
        self._rounds += 1
        chosen = [(self._rounds + n) % len(self._placers) for n in range(hands)]
        for n in chosen:
            if self._idle[n] >= self._patience(n):
                self._begin(n, best, budget, filled)
        list(team.map(lambda n: self._placers[n].run(steps), chosen))
        for n in chosen:
            placer = self._placers[n]
            yield placer
            self._idle[n] += 1
            if self._is_guided(n):
                placer.favour(self._manner.growth)
            elif placer.cost < self._least[n]:
                self._least[n], self._idle[n] = placer.cost, 0

    def _is_guided(self, n: int) -> bool:
        return bool(n % 2)

    def _patience(self, n: int) -> int:
        return self._manner.longest if self._is_guided(n) else self._manner.patience

    def _begin(self, n: int, best: Sequence[Candidate], budget: int, filled: float) -> None:
        rules = self._rules[self._turns % len(self._rules)]
        if self._is_guided(n):
            rules = self._rules[0] | {"order": kernel.DEAR_FIRST}
        placer = self._placers[n]
        placer.set_rules(budget=budget, net=False, short=False, **rules | {"filled": filled})
        anew = self._is_guided(n) or (self._turns + 1) % self._manner.from_best
        if anew and len(best) <= self._manner.most_pieces:
            placer.load(())
            placer.construct(ORDERS[self._turns % len(ORDERS)])
        else:
            placer.load(best, budget)
        self._idle[n], self._least[n] = 0, placer.cost
        self._turns += 1
