"""The choice among pooled layouts: a least cover for the level sought after, then the whole aim."""

from __future__ import annotations

from collections.abc import Sequence
from time import monotonic

from stockyard.planning.choosing.answer import Answer, judge
from stockyard.planning.choosing.choose import choose, trimmed
from stockyard.planning.choosing.covering import cover
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.model import Candidate, Model

# Seconds that covering may take, doubled while it does not come to its end; and the same in nodes.
COVER_SECONDS, MOST_COVER_SECONDS, COVER_NODES = 1.0, 4.0, 50
# Seconds that are left for the choice after it in any case.
LEAST_SECONDS = 0.05
# Layouts that CP-SAT chooses from under the whole aim.
CHOSEN_FROM = 800
# Work of CP-SAT (its deterministic seconds), and how far it grows while it finds nothing.
CHOICE_WORK, MOST_CHOICE_WORK = 0.3, 2.0


class Chooser:
    """Chooses from one pool again and again, with more work while nothing better is found."""

    def __init__(self, model: Model, pool: Pool, seed: int, *, repeatable: bool) -> None:
        """`repeatable`: let nothing depend on the clock."""
        self.model, self.pool, self.seed, self.repeatable = model, pool, seed, repeatable
        self._work = CHOICE_WORK
        self._seconds = COVER_SECONDS

    def learn(self, *, found: bool) -> None:
        """Take notice of whether the last choice was a better answer."""
        self._work = CHOICE_WORK if found else min(MOST_CHOICE_WORK, 1.5 * self._work)

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
            layouts[:CHOSEN_FROM],
            best.layouts,
            seconds=max(LEAST_SECONDS, deadline - monotonic()),
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
            nodes=COVER_NODES if self.repeatable else None,
        )
        if not ended:
            self._seconds = min(MOST_COVER_SECONDS, 2 * self._seconds)
        if found is None:
            return before
        answer = judge(self.model, trimmed(self.model, found))
        return min(before, answer, key=lambda a: a.figures)
