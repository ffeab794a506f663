"""One-dimensional cutting stock, with several stock lengths and limited counts, to proof where it can be had.

Column generation gives the bound (Gilmore and Gomory 1961), dives and CP-SAT over its columns the plan.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock
from time import monotonic

from stockyard.planning.boards.bars import BarPricer, Line, line_of
from stockyard.planning.boards.fills import Fills, Listing
from stockyard.planning.boards.refill import Refill
from stockyard.planning.bounds.bound import ModelBound, Prover
from stockyard.planning.bounds.columns import Generation
from stockyard.planning.bounds.dive import dive, ordered_costs
from stockyard.planning.choosing.choose import Figures, choose, figures, trimmed
from stockyard.planning.model import Candidate, Model
from stockyard.planning.problem import Method

# Deterministic seconds of CP-SAT after each dive, doubled from dive to dive so many times at most.
CHOICE_WORK, DOUBLINGS = 0.5, 16
# Share of the time that the bound may take, and of what is left then the values for the listing of fills.
BOUND_SHARE, VALUES_SHARE = 0.5, 0.2
# Share of the time for one try where the fills are too many to be listed: another order may end sooner.
TRIED_SHARE = 0.4
# Rounds of one bit of the search by chance, and the bits after which it begins anew.
ROUNDS, BITS = 50, 40


@dataclass(frozen=True, slots=True)
class BoardsAnswer:
    """The best layouts found, the bound, and whether they meet at money with all parts placed."""

    candidates: tuple[Candidate, ...]
    bound: ModelBound
    proven: bool


def boards_of(
    model: Model,
    *,
    seed: int,
    tell: Callable[[ModelBound | BoardsAnswer], None] | None = None,
    repeatable: bool = False,
) -> Boards | None:
    """Return the way to a plan for a one-dimensional model, None when the model is not one.

    `tell` is given every better bound and plan on the way. `repeatable`: let nothing depend on the clock.
    """
    line = line_of(model) if model.problem.method is Method.SAW else None
    return None if line is None else Boards(model, line, seed, tell or (lambda _: None), repeatable)


class Boards:
    """The way to a plan of boards: `run` in one thread, `by_chance` bit by bit beside it in another."""

    def __init__(
        self,
        model: Model,
        line: Line,
        seed: int,
        tell: Callable[[ModelBound | BoardsAnswer], None],
        repeatable: bool,
    ) -> None:
        self.model, self._seed, self._tell, self._repeatable = model, seed, tell, repeatable
        self._pricer = BarPricer(model, line)
        self._generation = Generation(model, self._pricer)
        self._best: tuple[Candidate, ...] = ()
        self._listing: Listing | None = None
        self._search: Refill | None = None
        self._bits = 0
        self._stopped = False
        self._taking = Lock()

    def run(self, seconds: float, dives: int | None = None) -> BoardsAnswer:
        """Return the best plan after so many seconds or dives.

        With the money proved it still looks for less net material while there is time.
        """
        model, deadline = self.model, monotonic() + seconds
        self._prover = Prover(model, self._generation, monotonic() + seconds * BOUND_SHARE, tell=self._tell)
        self._bound = self._prover.bound()
        if self._bound.possible:
            self._list(monotonic() + VALUES_SHARE * (deadline - monotonic()))
        costs, n = ordered_costs(model), 0
        while monotonic() < deadline and (dives is None or n < dives) and not self._stopped:
            self._take(dive(self._generation, costs, deadline, self._seed + n if n else 0))
            self._choose(max(0.0, deadline - monotonic()), CHOICE_WORK * 2 ** min(n, DOUBLINGS))
            n += 1
            if self._proven and n > 1:
                break
            if self._bound.possible and not any(self._figures.missing):
                self._settle(deadline, n)
        self._search = None
        return self._answer

    def stop(self) -> None:
        """Let `run` come to its end after what it is at."""
        self._stopped = True

    def by_chance(self) -> bool | None:
        """Fill boards by chance for a little while; return whether that led to a plan for the bound's money.

        None: there is no sense in it, or not yet. A plan is told.
        """
        search, listing = self._search, self._listing
        if search is None or listing is None:
            return None
        found = search.run(ROUNDS)
        self._bits += 1
        if not found:
            if self._bits % BITS == 0 and self._search is search:
                self._search = listing.search(self._seed + self._bits)
            return False
        self._search = None
        self._take(trimmed(self.model, listing.layouts(found)))
        return True

    def _list(self, deadline: float) -> None:
        """List the fills that a plan of the bound's money may use, tried by chance unless they are few."""
        if self._listing is None:
            fills = Fills(self.model, self._generation, self._pricer, deadline)
        else:
            fills = self._listing.fills
        self._listing = fills.listing(self._bound.money)
        self._search = None if self._proven else self._listing.search(self._seed)

    def _choose(self, seconds: float, work: float) -> None:
        """Choose a better plan from the columns so far."""
        pool = [self._pricer.candidate(c) for c in self._generation.master.columns]
        least = self._bound.money
        chosen = choose(
            self.model, pool, self._best, seconds=seconds, seed=self._seed, work=work, least_money=least
        )
        if chosen is not None:
            self._take(chosen)

    def _settle(self, deadline: float, seed: int) -> None:
        """Close the gap in money between plan and bound from below, as long as verdicts come."""
        step, few = self.model.money_step, self._repeatable
        while not (self._proven or self._stopped or self._listing is None) and monotonic() < deadline:
            for _ in range(BITS if few else 0):
                if self.by_chance() in (None, True):
                    break
            left = (deadline - monotonic()) * (1.0 if self._listing.whole else TRIED_SHARE)
            verdict = self._listing.settle(
                self._generation.master.columns, seconds=left, repeatable=few, seed=seed
            )
            if verdict.candidates:
                self._take(trimmed(self.model, verdict.candidates))
            if not verdict.refuted:
                break
            self._bound = self._prover.raised(self._bound, (self._bound.money // step + 1) * step)
            self._tell(self._bound)
            self._list(deadline)

    def _take(self, candidates: tuple[Candidate, ...]) -> None:
        """Keep a plan that is better; tell where things stand."""
        with self._taking:
            self._best = min(self._best, candidates, key=lambda c: figures(self.model, c))
        self._tell(self._answer)

    @property
    def _figures(self) -> Figures:
        return figures(self.model, self._best)

    @property
    def _proven(self) -> bool:
        return not any(self._figures.missing) and self._figures.money <= self._bound.money

    @property
    def _answer(self) -> BoardsAnswer:
        return BoardsAnswer(self._best, self._bound, self._proven)
