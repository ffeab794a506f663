"""The choice among pooled layouts: a least cover for the level sought after, then the whole aim."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from time import monotonic

from stockyard.planning.choosing.answer import Answer, judge
from stockyard.planning.choosing.choose import choose, trimmed
from stockyard.planning.choosing.covering import cover
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.model import Candidate, Model


@dataclass(frozen=True, slots=True)
class Choosing:
    """How much is put into a choice."""

    cover_seconds: float = 1.0
    """Seconds that covering may take, doubled while it does not come to its end."""
    most_cover_seconds: float = 4.0
    """The same at most."""
    cover_nodes: int = 50
    """The same in nodes where nothing may depend on the clock."""
    least_seconds: float = 0.05
    """Seconds that are left for the choice after it in any case."""
    chosen_from: int = 800
    """Layouts that CP-SAT chooses from under the whole aim."""
    choice_work: float = 0.3
    """Work of CP-SAT (its deterministic seconds)."""
    most_choice_work: float = 2.0
    """How far it grows while nothing is found."""


class Chooser:
    """Chooses from one pool again and again, with more work while nothing better is found."""

    def __init__(
        self, model: Model, pool: Pool, seed: int, *, repeatable: bool, manner: Choosing | None = None
    ) -> None:
        """`repeatable`: let nothing depend on the clock."""
        self._manner = manner or Choosing()
        self.model, self.pool, self.seed, self.repeatable = model, pool, seed, repeatable
        self._work = self._manner.choice_work
        self._seconds = self._manner.cover_seconds

    def learn(self, *, found: bool) -> None:
        """Take notice of whether the last choice was a better answer."""
        self._work = (
            self._manner.choice_work if found else min(self._manner.most_choice_work, 1.5 * self._work)
        )

    def hopeful(self, best: Answer, *, proven: bool) -> tuple[list[Candidate], bool]:
        """Return layouts that a better plan may use, and whether it is better at net material, not money."""
        pool, figures = self.pool, best.figures
        if best.complete and not proven:
            prices = pool.relax(None)
            if prices is not None:
                layouts = pool.within(
                    prices, pool.cost(figures.money - self.model.money_step, figures.net, by_net=False)
                )
                if layouts:
                    return layouts, False
        prices = pool.relax(figures.money)
        if prices is None:
            return [], True
        return pool.within(prices, max(prices.cost, pool.cost(0, figures.net, by_net=True))), True

    def choice(
        self, before: Answer, layouts: Sequence[Candidate], by_net: bool, *, seconds: float, least_money: int
    ) -> tuple[Candidate, ...] | None:
        """Return layouts that beat an answer, or None when none were found."""
        best, deadline = before, monotonic() + seconds
        if before.complete and layouts:
            best = self._covered(before, layouts, by_net, min(self._seconds, seconds))
        found = choose(
            self.model,
            layouts[: self._manner.chosen_from],
            best.layouts,
            seconds=max(self._manner.least_seconds, deadline - monotonic()),
            seed=self.seed,
            work=self._work,
            least_money=least_money,
        )
        return found or (best.layouts if best is not before else None)

    def _covered(self, before: Answer, layouts: Sequence[Candidate], by_net: bool, seconds: float) -> Answer:
        """Return the better of an answer and the least cover found."""
        unit = self.model.money_step
        costs = [self.pool.cost(c.money, c.net, by_net=True) if by_net else c.money / unit for c in layouts]
        found, ended = cover(
            self.model,
            layouts,
            costs,
            money_at_most=before.figures.money if by_net else None,
            seconds=seconds,
            nodes=self._manner.cover_nodes if self.repeatable else None,
        )
        if not ended:
            self._seconds = min(self._manner.most_cover_seconds, 2 * self._seconds)
        if found is None:
            return before
        answer = judge(self.model, trimmed(self.model, found))
        return min(before, answer, key=lambda a: a.figures)
