"""The hunt on one model: searchers side by side, their layouts pooled, the best kept, proof sought."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from stockyard.planning.boards.boards import BoardsAnswer
from stockyard.planning.bounds.bound import ModelBound
from stockyard.planning.choosing.answer import Answer, judge
from stockyard.planning.compiled import COMPILED
from stockyard.planning.hunting.at_prices import AtPrices
from stockyard.planning.hunting.choices import Choices
from stockyard.planning.hunting.clock import Clock
from stockyard.planning.hunting.growth import Grower
from stockyard.planning.hunting.hasty import hasty
from stockyard.planning.hunting.many_parts import ManyParts
from stockyard.planning.hunting.moves import Move, Moves
from stockyard.planning.hunting.proof import Found, Proof
from stockyard.planning.hunting.reduction import Reduction
from stockyard.planning.hunting.refine import Refiner
from stockyard.planning.hunting.remainder import completed
from stockyard.planning.hunting.rhythm import Rhythm
from stockyard.planning.hunting.searcher import Searcher, Standing
from stockyard.planning.hunting.state import State
from stockyard.planning.hunting.thin import Thinned, thin
from stockyard.planning.model import Model

T = TypeVar("T")
SEARCHERS = 2


class Hunt:
    """The search for the best layouts of one model, to be run turn by turn.

    state: where it stands. A turn and each round within it is the first move that is due in a table.
    """

    def __init__(
        self,
        whole: Model,
        seed: int,
        *,
        repeatable: bool = False,
        stop: Callable[[], bool] | None = None,
        rhythm: Rhythm | None = None,
    ) -> None:
        """`repeatable`: let nothing depend on the clock. `stop` is asked between rounds."""
        self._whole, self._seed, self._rhythm = whole, seed, rhythm or Rhythm()
        self._clock = Clock(stop, repeatable=repeatable)
        self.tell: Callable[[], None] = lambda: None  # called at each better answer or bound
        self._turns = 0
        self._flawed_turns = 0
        self._chose = 0  # choices so far, dives among them
        self._aside = 0  # dives and choices beside the proof
        self._next_choice = 2  # the turn in which the next one comes
        self._asked = False  # whether the proof has given its last word
        is_large = sum(p.demand for p in whole.parts) >= self._rhythm.large
        offcuts = self._rhythm.offcuts_large if is_large else self._rhythm.offcuts
        self._look_at(thin(whole, offcuts, self._rhythm.snug))

    def _look_at(self, reduced: Reduction) -> None:
        """Search on a model, the whole or a thinned one; pieces with flaws get layouts of their own."""
        whole, seed, rhythm, clock = self._whole, self._seed, self._rhythm, self._clock
        self.state = s = State(whole, reduced, seed, rhythm=rhythm, clock=clock, tell=self._told)
        self._searchers = [Searcher(s.model, seed * SEARCHERS + n, n) for n in range(SEARCHERS)]
        self._steps = max(20, min(5000, rhythm.round_work // (s.demand + len(s.model.stock) + 10)))
        refiner = Refiner(s.model, s.pool, seed * SEARCHERS)
        self._proof = Proof(whole, seed, whole=s.is_whole, repeatable=clock.repeatable)
        self._many = ManyParts(s, self._proof)
        self._priced, self._grower = AtPrices(s, refiner), Grower(s)
        self._choices = Choices(s, refiner, self._priced)
        self._turn_moves, self._round_moves = self._turn_table(), self._round_table()

    def _told(self) -> None:
        self.tell()

    def _turn_table(self) -> Moves:
        """Return what a turn may be, and when."""
        many, priced, choices = self._many, self._priced, self._choices

        def is_begun() -> bool:
            return choices.is_early and self.state.beats < self._rhythm.early

        return Moves(
            lambda: self.state.best,
            (
                Move("pieces with flaws", self._flaws_due, self._plan_flawed),
                Move("wholesale", many.wholesale_due, many.plan_wholesale),
                Move("joins", priced.joins_due, self._join),
                Move("first rounds", is_begun, self._round),
                Move("first dive", lambda: choices.is_early, choices.plunge_early),
                Move("bound", lambda: not self._asked, self._prove),
                Move("choice", lambda: self._turns >= self._next_choice, self._choose),
                Move("round", lambda: True, self._round),
            ),
        )

    def _round_table(self) -> Moves:
        """Return what a round may be, and when."""
        many, priced = self._many, self._priced
        return Moves(
            lambda: self.state.best,
            (
                Move("squeeze", many.squeeze_due, many.squeeze_out),
                Move("planning again", many.again_due, many.plan_again),
                Move("growth", self._grower.due, self._grower.grow),
                Move("beams", priced.beams_due, priced.make_beams),
                Move("improving", priced.improving_due, priced.improve),
                Move("search", lambda: True, self._search),
            ),
        )

    @property
    def model(self) -> Model:
        """What is searched."""
        return self.state.model

    @property
    def best(self) -> Answer:
        """The best answer so far."""
        return self.state.best

    @property
    def bound(self) -> ModelBound:
        """What is proved so far."""
        return self.state.bound

    @property
    def proven(self) -> bool:
        """Whether no plan places more or costs less."""
        return self.state.proven

    @property
    def done(self) -> bool:
        """Whether nothing can be better at money and net material."""
        return self.state.done

    @property
    def is_planning_wholesale(self) -> bool:
        """Whether plans are being made from patterns for all parts."""
        return self._many.is_planning

    def start(self) -> None:
        """Find first answers, one for each order of the parts; of all stock when a thinned one is short."""
        self._construct()
        if not self.best.complete and self.state.seen is not self._whole:
            self._look_at(Thinned(self._whole))
            self._construct()

    def _construct(self) -> None:
        s = self.state
        if s.demand > (s.rhythm.many_parts if COMPILED else s.rhythm.large):
            s.offer(judge(s.model, hasty(s.model, s.seed)), tidy=True)
        else:
            for order in s.rhythm.starts:
                s.offer(self._searchers[0].start(order))
            if s.best.figures.money and any(piece.money == 0 for piece in s.model.stock):
                s.offer(self._searchers[0].start(s.rhythm.starts[0], free_first=True))
        if s.flawed:
            self._plan_flawed()

    def turn(self, team: ThreadPoolExecutor, seconds: float) -> None:
        """Take the next turn: a first dive, the bound, then rounds of search with a choice or dive at times.

        `seconds` is what is left on the clock.
        """
        self._turns += 1
        self._clock.begin(seconds)
        self._turn_moves.make_next(team, SEARCHERS)

    def end(self) -> None:
        """Let the proof come to an end: nobody asks for it any more."""
        self._proof.end()

    def _flaws_due(self) -> bool:
        often = self.state.flaws.alone or self._turns % self._rhythm.flawed_every == 1
        return bool(self.state.flawed) and often

    def _plan_flawed(self, *_: object) -> None:
        """Lay out pieces with flaws, one after the other, and plan the rest on what is clear."""
        s = self.state
        self._flawed_turns += 1
        layouts = s.flaws.layouts(self._flawed_turns, self._clock.must_end)
        s.add(layouts)
        s.offer(judge(s.model, completed(s.model, layouts, s.seed + self._flawed_turns)))

    def _join(self, *_: object) -> None:
        """Pool layouts without waste, and choose when there are new ones that may lead on alone."""
        if self._priced.join() and self.state.is_tight:
            self._choices.take(self._choices.choice(for_money=True)())

    def _choose(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Dive twice where that may help, then choose among the pooled layouts while one searcher runs."""
        self._chose += 1
        if self._chose % 3 == 0 or not self._choices.plunge(team, hands):
            self._choices.take(self._beside(team, team.submit(self._choices.choice())))
        self._next_choice = self._turns + self._rhythm.choice_every

    def _prove(self, team: ThreadPoolExecutor, _: int) -> None:
        """Find the bound, and for boards a plan with it, while one searcher runs."""
        s = self.state
        start = self._choices.diver.promising() if s.is_whole and not s.is_line else []
        spends = s.best.figures.money if s.best.complete else None
        found = self._beside(team, self._proof.begin(team, self._clock.left(), start, spends), proving=True)
        self._hear()
        if found is not None:
            self._asked = True
            self._learn(found)

    def _hear(self) -> None:
        """Take over what the proof has told on the way."""
        for found in self._proof.news():
            self._learn(found)

    def _learn(self, found: Found) -> None:
        """Take over a bound and the layouts found with it."""
        s = self.state
        if isinstance(found, BoardsAnswer):
            s.learn(found.bound)
            s.offer(judge(s.model, found.candidates))
            return
        s.learn(found)
        if s.is_whole:
            s.add(found.candidates)
            s.offer(judge(s.model, found.start))

    def _beside(self, team: ThreadPoolExecutor, work: Future[T], *, proving: bool = False) -> T | None:
        """Let the first searcher run until `work` is done; return its result, None when time is up before."""
        s, repeatable = self.state, self._clock.repeatable
        for _ in range(s.rhythm.alone if repeatable else 0):
            self._round(team, 1)
        while not (repeatable or work.done()):
            if s.done or self._clock.must_end():
                self._proof.stop_boards()
                return None
            if self._proof.by_chance():
                self._hear()
                continue
            self._round(team, 1)
            self._hear()
            # With one kind of piece and no room for waste joins alone lead on, and choose by themselves.
            joined = s.is_tight and s.kinds == 1 and not s.is_line
            if (joined or proving) and self._priced.joins_due():
                self._join()
            if proving and self._is_stuck and not joined and not work.done():
                self._step_aside(team)
        return work.result()

    @property
    def _is_stuck(self) -> bool:
        """Whether so many rounds have come to nothing that it is time for a dive or a choice.

        The first dive for net material saves more than any round.
        """
        s = self.state
        if s.may_save_net and not self._aside:
            return True
        rounds = s.rhythm.stuck if s.kinds > 1 else s.rhythm.stuck_one_kind
        return s.stalled % rounds == rounds - 1

    def _step_aside(self, team: ThreadPoolExecutor) -> None:
        """Dive, or at times choose, with the hand that the proof leaves."""
        self._aside += 1
        half = self._clock.left() / 2
        if self._aside % self._rhythm.choice_aside == 0 or not self._choices.plunge(team, 1, half):
            self._choices.take(self._choices.choice()())

    def _round(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Let `hands` threads search, or make layouts at the prices of the pool."""
        self.state.beats += 1
        self.state.stalled += 1
        self._round_moves.make_next(team, hands)

    def _search(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Let so many searchers run for one round and take over what they found."""
        s, searchers = self.state, self._searchers[:hands]
        now = Standing(s.best, s.proven, self._asked, self._choices.least_filled())
        for searcher in searchers:
            searcher.prepare(now)
        list(team.map(lambda searcher: searcher.run(self._steps), searchers))
        for searcher in searchers:
            s.add(searcher.recorded())
            answer = searcher.answer()
            if answer is not None:
                s.offer(answer)
