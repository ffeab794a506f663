"""The moves for a job of many parts: plans made wholesale, some layouts planned again, a piece less."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from random import Random
from time import monotonic

from stockyard.planning.choosing.answer import judge
from stockyard.planning.hunting.proof import Proof
from stockyard.planning.hunting.remainder import better, completed
from stockyard.planning.hunting.squeeze import Squeeze
from stockyard.planning.hunting.state import State
from stockyard.planning.hunting.wholesale import wholesale
from stockyard.planning.model import Candidate, Model


class ManyParts:
    """Makes them for one hunt.

    is_planning: whether plans are being made from patterns for all parts.
    """

    def __init__(self, state: State, proof: Proof) -> None:
        """`proof`: is told which cuts in piece counts hold."""
        self._state, self._proof = state, proof
        self._planned = self.is_planning = False
        self._luck = Random(state.seed)
        self._squeeze = Squeeze(state.model, state.seed, state.clock.must_end)
        self._squeezing = self._again = 0.0  # seconds that went into each

    def wholesale_due(self) -> bool:
        """Once, before all else."""
        return self._state.is_large and not self._planned

    def plan_wholesale(self, team: ThreadPoolExecutor, _: int) -> None:
        """Make plans from patterns for all parts: one after the other, then by their linear programme."""
        s, clock = self._state, self._state.clock
        self._planned = self.is_planning = True
        share = s.rhythm.wholesale_share if s.bound.money else s.rhythm.wholesale_free
        seconds = None if clock.repeatable else share * clock.left()
        made = wholesale(s.model, team, s.seed, seconds, clock.must_end, s.offer_some)
        s.offer_some(made.layouts)
        self.is_planning = False
        if s.is_whole:
            self._proof.know(made.cuts)

    def again_due(self) -> bool:
        """At times, while a plan may cost less, and for no more time than the squeeze."""
        s = self._state
        due = s.is_large and not s.proven and s.beats % s.rhythm.again_every == 0
        return due and (s.clock.repeatable or self._again <= self._squeezing)

    def plan_again(self, team: ThreadPoolExecutor, _: int) -> None:
        """Plan some layouts of the best answer again."""
        s, clock, begun = self._state, self._state.clock, monotonic()
        seconds = None if clock.repeatable else min(s.rhythm.again_seconds, clock.left())

        def plan(rest: Model, seed: int) -> list[Candidate]:
            layouts = wholesale(rest, team, seed, seconds, clock.must_end).layouts
            return completed(rest, layouts, seed)

        s.offer(judge(s.model, better(s.model, s.best.layouts, self._luck, plan)), tidy=True)
        self._again += monotonic() - begun

    def squeeze_due(self) -> bool:
        """In all other rounds while a plan may cost less."""
        s = self._state
        return s.is_large and s.best.complete and not s.proven and not self.again_due()

    def squeeze_out(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Look for room for the parts of a piece less."""
        begun = monotonic()
        plan = self._squeeze.round(team, hands, self._state.best.layouts)
        self._squeezing += monotonic() - begun
        if plan:
            self._state.offer(judge(self._state.model, plan), tidy=True)
