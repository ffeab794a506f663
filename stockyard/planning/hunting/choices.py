"""The moves that make a plan of pooled layouts: a dive or a choice, for less money or net material."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from time import monotonic

from stockyard.planning.choosing.answer import judge
from stockyard.planning.hunting.at_prices import AtPrices
from stockyard.planning.hunting.clock import FOREVER
from stockyard.planning.hunting.decide import Chooser
from stockyard.planning.hunting.dives import Diver
from stockyard.planning.hunting.refine import Refiner
from stockyard.planning.hunting.state import State
from stockyard.planning.model import Candidate


class Choices:
    """Makes them for one hunt."""

    def __init__(self, state: State, refiner: Refiner, priced: AtPrices) -> None:
        """`priced`: knows whether the tables that dives use may help."""
        self._state, self._priced = state, priced
        repeatable = state.clock.repeatable
        self.diver = Diver(state.model, state.pool, refiner, repeatable=repeatable)
        self._chooser = Chooser(state.model, state.pool, state.seed, repeatable=repeatable)

    @property
    def is_early(self) -> bool:
        """Whether the first dive, which comes before the bound, is still to be made."""
        s = self._state
        may = s.best.complete and not (s.clock.repeatable or s.proven or s.is_large)
        return may and not self.diver.dived and self._priced.is_beamed

    def least_filled(self) -> float:
        """Return the least filled share of the layouts to pool now.

        Before the first dive, which must come soon, they waste no more than a plan for less money may.
        """
        s = self._state
        return max(s.rhythm.filled, 1 - s.most_waste()) if self.is_early else s.rhythm.filled

    def plunge_early(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Make the first dive, in a share of the time."""
        rhythm, left = self._state.rhythm, self._state.clock.left()
        self.plunge(team, hands, max(rhythm.early_seconds, rhythm.early_share * left))

    def plunge(self, team: ThreadPoolExecutor, hands: int, seconds: float = FOREVER) -> bool:
        """Dive: for less money, so many seconds at most, and where that fails or can not be had for less net
        material, which seldom fails; return whether that makes sense."""
        s, until = self._state, monotonic() + seconds
        if s.done or not s.best.complete or not self._priced.is_beamed:
            return False

        def stop() -> bool:
            return s.clock.must_end() or monotonic() > until

        is_early = self.is_early  # the bound must not wait for a dive for net material
        plans = [] if s.proven else self.diver.save_money(team, s.best, hands, stop)
        if not plans and s.may_save_net and not is_early:
            plans = self.diver.save_net(team, s.best, hands, s.clock.must_end)
        elif s.proven:
            return False
        for plan in plans:
            s.offer(judge(s.model, plan))
        return True

    def choice(self, *, for_money: bool = False) -> Callable[[], tuple[Candidate, ...] | None]:
        """Return the work of choosing a better answer from the pool as it is now; `for_money`: only that."""
        s, best, chooser = self._state, self._state.best, self._chooser
        layouts, by_net = chooser.hopeful(best, proven=s.proven)
        if by_net and (for_money or (best.complete and s.net_is_fixed)):
            return lambda: None  # the pool holds no plan for less money yet
        seconds, least = s.clock.left(), s.bound.money
        return lambda: chooser.choice(best, layouts, by_net, seconds=seconds, least_money=least)

    def take(self, found: tuple[Candidate, ...] | None) -> None:
        """Take over a choice."""
        s = self._state
        self._chooser.learn(found=found is not None and s.offer(judge(s.model, found)))
