"""One searcher of a hunt: what it is after, in turn, and how it goes about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stockyard.planning.choosing.answer import Answer
from stockyard.planning.hunting.rebuilder import MANY, Rebuilder, Stage
from stockyard.planning.model import Candidate, Model
from stockyard.planning.recreate import kernel

Settings = Mapping[str, float]
"""Settings of ruin and recreate by their names in `recreate/forest.py`, in small letters."""


@dataclass(frozen=True, slots=True)
class Manners:
    """How searchers go about it; each takes the next manner of its stage whenever it begins anew."""

    patience: int = 40
    """Rounds without a better answer after which a searcher starts afresh from the best."""
    placing: tuple[Settings, ...] = (
        {"order": kernel.NOISY, "history": 300, "removed": 14, "whole": 0, "room_weight": 0.003},
        {"order": kernel.NOISY, "history": 300, "removed": 10, "whole": 0, "room_weight": 0.003},
        {"order": kernel.LONG_FIRST, "history": 300, "removed": 10, "blink": 0.05},
        {"order": kernel.NOISY, "history": 100, "removed": 8},
    )
    """To place all parts for less money."""
    saving: tuple[Settings, ...] = (
        {"order": kernel.NOISY, "power": 0, "history": 100, "removed": 8, "refund": 0.9},
        {"order": kernel.AS_DRAWN, "power": 1, "history": 100, "removed": 12, "refund": 0.5},
        {"order": kernel.LONG_FIRST, "power": 0, "history": 20, "removed": 6, "refund": 0.95, "keen": 0},
        {"order": kernel.NOISY, "power": 1, "history": 300, "removed": 12, "refund": 0.7, "keen": 0},
    )
    """To take less net material."""


MANNERS = Manners()


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a hunt stands: its best answer, whether its money is proved, whether the bound is known.

    `filled`: least filled share of the layouts to record.
    """

    best: Answer
    proven: bool
    asked: bool
    filled: float


class Searcher:
    """One rebuilder, begun anew from the best answer whenever that is better or nothing has come for long."""

    def __init__(self, model: Model, seed: int, number: int) -> None:
        """`number`: which of the searchers of its hunt this is, so that they differ."""
        self.model, self._number = model, number
        self._rebuilder = Rebuilder(model, seed)
        self._stage: Stage | None = None
        self._begun: Answer | None = None  # from which it goes on
        self._turns = self._idle = 0

    def start(self, order: int, *, free_first: bool = False) -> Answer:
        """Return a first answer, made with the parts in one order, at first from what costs nothing alone."""
        manner = {"order": order}
        self._rebuilder.set_rules(Stage.PLACE, budget=0 if free_first else MANY, short=True, manner=manner)
        self._rebuilder.load(())
        self._rebuilder.construct()
        if free_first:
            self._rebuilder.set_rules(Stage.PLACE, budget=MANY, short=True, manner=manner)
            self._rebuilder.construct()
        return self._rebuilder.answer()

    def prepare(self, now: Standing) -> None:
        """Go on as before, or begin anew from the best answer."""
        pointless = now.proven and self._stage is Stage.PLACE
        if self._begun is now.best and self._idle < MANNERS.patience and not pointless:
            return
        stage, rebuilder = self._wanted(now), self._rebuilder
        self._begun = now.best
        self._turns += 1
        self._stage, self._idle = stage, 0
        manners = MANNERS.placing if stage is Stage.PLACE else MANNERS.saving
        manner = manners[(self._number + self._turns) % len(manners)]
        money, short = now.best.figures.money, not now.best.complete
        if stage is Stage.PLACE:
            rebuilder.set_rules(stage, budget=money - 1, filled=now.filled, manner=manner)
        else:
            budget = MANY if short else money
            rebuilder.set_rules(stage, budget=budget, short=short, filled=now.filled, manner=manner)
        stock = self.model.problem.stock
        rebuilder.load([c for c in now.best.layouts if not stock[c.pattern.stock].flaws])
        if stage is Stage.PLACE:
            rebuilder.lower_money()

    def _wanted(self, now: Standing) -> Stage:
        """Return what to be after: less money as long as that may be had, else less net material."""
        if not now.best.complete or now.proven:
            return Stage.NET
        may_change = self._number == 1 or not now.asked
        alternate = may_change and len(self.model.stock) > 1 and self._stage is Stage.PLACE
        return Stage.NET if alternate else Stage.PLACE

    def run(self, steps: int) -> None:
        """Search for so many steps."""
        self._rebuilder.run(steps)

    def recorded(self) -> list[Candidate]:
        """Return the layouts met in this round."""
        self._idle += 1
        return self._rebuilder.recorded()

    def answer(self) -> Answer | None:
        """Return what the round has come to, None while parts are left out that should not be."""
        if self._stage is Stage.NET:
            return self._rebuilder.best_answer()
        return None if self._rebuilder.left_out else self._rebuilder.answer()
