"""The moves that make layouts at the prices of the pool: by beams, by ruin and recreate, by joins."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from stockyard.planning.hunting.joins import Joiner
from stockyard.planning.hunting.pace import Pace
from stockyard.planning.hunting.refine import Refiner
from stockyard.planning.hunting.state import State


class AtPrices:
    """Makes them for one hunt; what finds nothing for long is tried seldom."""

    def __init__(self, state: State, refiner: Refiner) -> None:
        self._state, self._refiner = state, refiner
        self._joiner = Joiner(state.model, state.seed)
        self._joined = 0  # the round in which layouts without waste were last looked for
        self._beams, self._improving = Pace(1), Pace(0)

    @property
    def is_beamed(self) -> bool:
        """Whether beams, and dives that use them, may help.

        Those on lines miss what leaves no waste; with several kinds of piece there is room for some.
        """
        s = self._state
        may_waste = s.kinds > 1 or not s.is_tight
        return not s.is_line and (may_waste or self._refiner.is_exact)

    def beams_due(self) -> bool:
        """Every other round once the search alone has stalled."""
        s = self._state
        may = not s.has_many_parts and self.is_beamed and s.stalled >= s.rhythm.stalled
        return may and self._beams.due(s.beats)

    def make_beams(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Make layouts by beams at the prices of the pool."""
        s = self._state
        self._beams.learn(found=self._refiner.beams(team, hands, s.money_to_keep, s.clock.must_end))

    def improving_due(self) -> bool:
        """The same, later with one kind of piece, where the search alone goes far."""
        s = self._state
        stalled = s.stalled >= (s.rhythm.stalled if s.kinds > 1 else s.rhythm.stalled_one_kind)
        return not s.has_many_parts and stalled and self._improving.due(s.beats)

    def improve(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Improve layouts at the prices of the pool."""
        s = self._state
        self._improving.learn(found=self._refiner.improve(team, hands, s.money_to_keep, s.clock.must_end))

    def joins_due(self) -> bool:
        """At times, often where a plan for less money can have next to no waste."""
        s = self._state
        if s.is_line or s.has_many_parts or self._joiner.exhausted or s.done:
            return False
        timely = s.clock.repeatable or s.clock.left() > s.rhythm.join_seconds
        often = s.rhythm.join_soon if s.is_tight else s.rhythm.join_seldom
        return timely and s.beats - self._joined >= often

    def join(self) -> bool:
        """Pool layouts without waste; return whether there are new ones."""
        s = self._state
        prices = s.pool.relax(None)
        worth = prices.parts if prices else [1.0] * len(s.model.parts)
        before = len(s.pool)
        s.add(self._joiner.round(s.best.layouts, worth))
        self._joined = s.beats
        return len(s.pool) > before
