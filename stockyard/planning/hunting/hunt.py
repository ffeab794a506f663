"""The hunt on one model: searchers side by side, their layouts pooled, the best kept, proof sought."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from random import Random
from time import monotonic
from typing import TypeVar

from stockyard.planning.boards.bars import line_of
from stockyard.planning.boards.boards import BoardsAnswer
from stockyard.planning.bounds.bound import bound_by_area
from stockyard.planning.choosing.answer import Answer, judge
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.compiled import COMPILED
from stockyard.planning.hunting.decide import Chooser
from stockyard.planning.hunting.dives import Diver
from stockyard.planning.hunting.flawed import FlawedPieces
from stockyard.planning.hunting.hasty import hasty
from stockyard.planning.hunting.joins import Joiner
from stockyard.planning.hunting.moves import Move, Moves
from stockyard.planning.hunting.pace import Pace
from stockyard.planning.hunting.proof import Found, Proof
from stockyard.planning.hunting.reduction import Reduction
from stockyard.planning.hunting.refine import Refiner
from stockyard.planning.hunting.remainder import better, completed
from stockyard.planning.hunting.rhythm import Rhythm
from stockyard.planning.hunting.searcher import Searcher, Standing
from stockyard.planning.hunting.squeeze import Squeeze
from stockyard.planning.hunting.thin import Thinned, thin
from stockyard.planning.hunting.wholesale import wholesale
from stockyard.planning.model import Candidate, Model, flawed_rows, has_flaws, is_clear, without_flawed
from stockyard.planning.tables.pricing import weighed

T = TypeVar("T")
SEARCHERS = 2
FOREVER = 1e6


class Hunt:
    """The search for the best layouts of one model, to be run round by round."""

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
        self.repeatable, self.rhythm = repeatable, rhythm or Rhythm()
        self._stop = stop or (lambda: False)
        self.tell: Callable[[], None] = lambda: None  # called at each better answer or bound
        self.whole = whole
        self.seed = seed
        self._demand = sum(p.demand for p in whole.parts)
        self._flawed_turns = 0
        is_large = self._demand >= self.rhythm.large
        offcuts = self.rhythm.offcuts_large if is_large else self.rhythm.offcuts
        self._look_at(thin(whole, offcuts, self.rhythm.snug))
        self.bound = bound_by_area(whole)
        self.rounds = 0
        self._beats = 0
        self._stalled = 0  # rounds since the last better answer
        self._chose = 0  # choices so far, dives among them
        self._aside = 0  # dives and choices beside the proof
        self._next_choice = 2  # the round in which the next one comes
        self._joined = 0  # the round in which layouts without waste were last looked for
        self._beams, self._improving = Pace(1), Pace(0)
        self._deadline = 0.0
        self._asked = False  # whether the proof has given its last word
        self._wholesale = False  # whether plans were made from patterns for all parts
        self.is_planning_wholesale = False
        self._luck = Random(seed)
        self.moves, self.round_moves = self._turns(), self._rounds()

    def _look_at(self, reduced: Reduction) -> None:
        """Search on a model, the whole or a thinned one; pieces with flaws get layouts of their own."""
        self.seen = reduced.model
        self.flawed = flawed_rows(self.seen)
        self.model = model = without_flawed(self.seen)
        self._flaws = FlawedPieces(self.seen, self.flawed)
        self._is_line = line_of(model) is not None  # boards go their own way
        self.searchers = [Searcher(model, self.seed * SEARCHERS + n, n) for n in range(SEARCHERS)]
        self.best = judge(model, ())
        self._raw = self.best.figures  # of the best before its cut trees were tidied
        self.pool = Pool(model)
        self.joiner = Joiner(model, self.seed)
        self.refiner = Refiner(model, self.pool, self.seed * SEARCHERS)
        self.diver = Diver(model, self.pool, self.refiner, repeatable=self.repeatable)
        self._proof = Proof(self.whole, self.seed, whole=model is self.whole, repeatable=self.repeatable)
        self.chooser = Chooser(model, self.pool, self.seed, repeatable=self.repeatable)
        self.squeeze = Squeeze(model, self.seed, self._must_end)
        self.steps = max(20, min(5000, self.rhythm.round_work // (self._demand + len(model.stock) + 10)))

    @property
    def _kinds(self) -> int:
        """How many kinds of piece there are."""
        return len(self.model.stock)

    @property
    def proven(self) -> bool:
        """Whether no plan places more or costs less."""
        return self.best.complete and self.best.figures.money <= self.bound.money

    @property
    def done(self) -> bool:
        """Whether nothing can be better at money and net material."""
        if not self.proven:
            return False
        return self._net_is_fixed or self.best.figures.net <= self.bound.net

    @property
    def _net_is_fixed(self) -> bool:
        """Whether money alone says how much material a plan takes: one kind of piece, too small to keep."""
        first = self.model.stock[0]
        keeps = self.model.problem.worth.keeps(first.length, first.width)
        return len(self.whole.stock) == 1 and first.money > 0 and not keeps

    def start(self) -> None:
        """Find first answers, one for each order of the parts; of all stock when a thinned one is short."""
        self._construct()
        if not self.best.complete and self.seen is not self.whole:
            self._look_at(Thinned(self.whole))
            self._construct()

    def _construct(self) -> None:
        if self._demand > (self.rhythm.many_parts if COMPILED else self.rhythm.large):
            self.offer(judge(self.model, hasty(self.model, self.seed)), tidy=True)
        else:
            for order in self.rhythm.starts:
                self.offer(self.searchers[0].start(order))
        if self.flawed:
            self._plan_flawed()

    def offer(self, answer: Answer, *, tidy: bool = False) -> bool:
        """Take `answer` as the best when it is; pool its layouts. `tidy`: whether its cut trees are."""
        if self.flawed and not all(is_clear(self.model.problem, c.pattern) for c in answer.layouts):
            return False
        if self.flawed and not answer.complete:
            answer = judge(self.model, [*answer.layouts, *self._flaws.rest(answer.layouts, self.seed)])
        if answer.figures < self._raw:
            self._raw = answer.figures
            if not tidy and self._demand <= self.rhythm.many_parts:
                tidied = [self._tidied(c) for c in answer.layouts]
                answer = judge(self.model, tidied)
        for c in answer.layouts:
            self.pool.add(c)
        if answer.figures >= self.best.figures:
            return False
        self.best = answer
        self._stalled = 0
        self.tell()
        for searcher in self.searchers:
            searcher.fresh = False
        return True

    def _tidied(self, c: Candidate) -> Candidate:
        """Return a layout with its better tree; one of a flawed piece as it is, since that moves parts."""
        return c if has_flaws(self.model, c.stock) else weighed(self.model, c.stock, c.pattern.root)

    def _flaws_due(self) -> bool:
        often = self._flaws.alone or self.rounds % self.rhythm.flawed_every == 1
        return bool(self.flawed) and often

    def _plan_flawed(self, *_: object) -> None:
        """Lay out pieces with flaws, one after the other, and plan the rest on what is clear."""
        self._flawed_turns += 1
        layouts = self._flaws.layouts(self._flawed_turns, self._must_end)
        for c in layouts:
            self.pool.add(c)
        self.offer(judge(self.model, completed(self.model, layouts, self.seed + self._flawed_turns)))

    def turn(self, team: ThreadPoolExecutor, seconds: float) -> None:
        """Take the next turn: a first dive, the bound, then rounds of search with a choice or dive at times.

        `seconds` is what is left on the clock.
        """
        self.rounds += 1
        self._deadline = monotonic() + (FOREVER if self.repeatable else seconds)
        self.moves.make_next(team, SEARCHERS)

    def _turns(self) -> Moves:
        """Return what a turn may be, and when."""
        return Moves(
            lambda: self.best,
            (
                Move("pieces with flaws", self._flaws_due, self._plan_flawed),
                Move("wholesale", lambda: self._is_large and not self._wholesale, self._plan_wholesale),
                Move("joins", self._joins_due, self._join),
                Move("first rounds", lambda: self._is_early and self._beats < self.rhythm.early, self._round),
                Move("first dive", lambda: self._is_early, self._plunge_early),
                Move("bound", lambda: not self._asked, self._prove),
                Move("choice", lambda: self.rounds >= self._next_choice, self._choose),
                Move("round", lambda: True, self._round),
            ),
        )

    def _rounds(self) -> Moves:
        """Return what a round may be, and when."""
        return Moves(
            lambda: self.best,
            (
                Move("squeeze", self._squeeze_due, self._squeeze_out),
                Move("planning again", self._again_due, self._plan_again),
                Move("beams", self._beams_due, self._make_beams),
                Move("improving", self._improving_due, self._improve),
                Move("search", lambda: True, self._search),
            ),
        )

    @property
    def _is_early(self) -> bool:
        """Whether the first dive, which comes before the bound, is still to be made."""
        may = self.best.complete and not (self.repeatable or self.proven or self._is_large)
        return may and not self.diver.dived and self._is_beamed

    @property
    def _is_beamed(self) -> bool:
        """Whether beams, and dives that use them, may help.

        Those on lines miss what leaves no waste; with several kinds of piece there is room for some.
        """
        may_waste = self._kinds > 1 or not self._is_tight
        return not self._is_line and (may_waste or self.refiner.is_exact)

    @property
    def _is_large(self) -> bool:
        """Whether there are so many parts that patterns are cut many times; tables want compiled code."""
        return COMPILED and self._demand >= self.rhythm.large and not self._is_line and not self.done

    def _plan_wholesale(self, team: ThreadPoolExecutor, _: int) -> None:
        """Make plans from patterns for all parts: one after the other, then by their linear programme."""
        self._wholesale = self.is_planning_wholesale = True
        share = self.rhythm.wholesale_share if self.bound.money else self.rhythm.wholesale_free
        seconds = None if self.repeatable else share * self._left()
        made = wholesale(self.model, team, self.seed, seconds, self._must_end, self._offer_all)
        self._offer_all(made.layouts)
        self.is_planning_wholesale = False
        if self.model is self.whole:
            self._proof.know(made.cuts)

    def _offer_all(self, layouts: Sequence[Candidate]) -> None:
        """Take layouts as an answer, with those for what they leave out."""
        whole = completed(self.model, layouts, self.seed, hasty=self._must_end())
        self.offer(judge(self.model, whole), tidy=True)

    def _plan_again(self, team: ThreadPoolExecutor, _: int) -> None:
        """Plan some layouts of the best answer again."""
        seconds = None if self.repeatable else min(self.rhythm.again_seconds, self._left())

        def plan(rest: Model, seed: int) -> list[Candidate]:
            layouts = wholesale(rest, team, seed, seconds, self._must_end).layouts
            return completed(rest, layouts, seed)

        self.offer(judge(self.model, better(self.model, self.best.layouts, self._luck, plan)), tidy=True)

    def _joins_due(self) -> bool:
        """Whether layouts without waste should be looked for now."""
        if self._is_line or self._demand > self.rhythm.many_parts or self.joiner.exhausted or self.done:
            return False
        timely = self.repeatable or self._left() > self.rhythm.join_seconds
        return timely and self._beats - self._joined >= (
            self.rhythm.join_soon if self._is_tight else self.rhythm.join_seldom
        )

    def _join(self, *_: object) -> None:
        """Pool layouts without waste, and choose when there are new ones."""
        prices = self.pool.relax(None)
        worth = prices.parts if prices else [1.0] * len(self.model.parts)
        before = len(self.pool)
        for c in self.joiner.round(self.best.layouts, worth):
            self.pool.add(c)
        self._joined = self._beats
        if self._is_tight and len(self.pool) > before:
            self._take(self._choice(for_money=True)())

    @property
    def _is_tight(self) -> bool:
        """Whether a plan for less money can have next to no waste."""
        return self._most_waste() < self.rhythm.tight

    def _most_waste(self) -> float:
        """Return about the waste that a plan for less money may have, as a share of what is needed."""
        money = self.best.figures.money
        if not money or not self.best.complete:
            return 1.0
        area = sum(s.length * s.width for c in self.best.layouts for s in [self.model.stock[c.stock]])
        need = sum(p.length * p.width * p.demand for p in self.whole.parts)
        return area * (1 - self.model.money_step / money) / need - 1

    def _least_filled(self) -> float:
        """Return the least filled share of the layouts to pool now.

        Before the first dive, which must come soon, they waste no more than a plan for less money may.
        """
        return max(self.rhythm.filled, 1 - self._most_waste()) if self._is_early else self.rhythm.filled

    @property
    def _is_late(self) -> bool:
        """Whether the time of this turn is over."""
        return not self.repeatable and monotonic() > self._deadline

    def _must_end(self) -> bool:
        """Whether the time of this turn is over, or the user has stopped it."""
        return self._is_late or self._stop()

    def _left(self) -> float:
        """Return the seconds left for this turn."""
        return max(0.01, self._deadline - monotonic())

    def _prove(self, team: ThreadPoolExecutor, _: int) -> None:
        """Find the bound, and for boards a plan with it, while one searcher runs."""
        start = self.diver.promising() if self.model is self.whole and not self._is_line else []
        spends = self.best.figures.money if self.best.complete else None
        found = self._beside(team, self._proof.begin(team, self._left(), start, spends), proving=True)
        self._hear()
        if found is not None:
            self._asked = True
            self._learn(found)

    def end(self) -> None:
        """Let the proof come to an end: nobody asks for it any more."""
        self._proof.end()

    def _hear(self) -> None:
        """Take over what the proof has told on the way."""
        for found in self._proof.news():
            self._learn(found)

    def _learn(self, found: Found) -> None:
        """Take over a bound and the layouts found with it."""
        bound = found.bound if isinstance(found, BoardsAnswer) else found
        if bound.money >= self.bound.money or not bound.possible:
            self.bound = bound.with_what_held(self.bound)
            self.tell()
        if isinstance(found, BoardsAnswer):
            self.offer(judge(self.model, found.candidates))
            return
        if self.model is self.whole:
            for c in found.candidates:
                self.pool.add(c)
            self.offer(judge(self.model, found.start))

    def _beside(self, team: ThreadPoolExecutor, work: Future[T], *, proving: bool = False) -> T | None:
        """Let the first searcher run until `work` is done; return its result, None when time is up before."""
        for _ in range(self.rhythm.alone if self.repeatable else 0):
            self._round(team, 1)
        while not (self.repeatable or work.done()):
            if self.done or self._must_end():
                self._proof.stop_boards()
                return None
            if self._proof.by_chance():
                self._hear()
                continue
            self._round(team, 1)
            self._hear()
            # With one kind of piece and no room for waste joins alone lead on, and choose by themselves.
            joined = self._is_tight and self._kinds == 1 and not self._is_line
            if (joined or proving) and self._joins_due():
                self._join()
            if proving and self._is_stuck and not joined and not work.done():
                self._step_aside(team)
        return work.result()

    @property
    def _is_stuck(self) -> bool:
        """Whether so many rounds have come to nothing that it is time for a dive or a choice.

        The first dive for net material saves more than any round.
        """
        if self._may_save_net and not self._aside:
            return True
        rounds = self.rhythm.stuck if self._kinds > 1 else self.rhythm.stuck_one_kind
        return self._stalled % rounds == rounds - 1

    def _step_aside(self, team: ThreadPoolExecutor) -> None:
        """Dive, or at times choose, with the hand that the proof leaves."""
        self._aside += 1
        if self._aside % self.rhythm.choice_aside == 0 or not self._plunge(team, self._left() / 2, hands=1):
            self._take(self._choice()())

    def _round(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Let `hands` threads search, or make layouts at the prices of the pool."""
        self._beats += 1
        self._stalled += 1
        self.round_moves.make_next(team, hands)

    def _again_due(self) -> bool:
        return self._is_large and not self.proven and self._beats % self.rhythm.again_every == 0

    def _squeeze_due(self) -> bool:
        return self._is_large and self.best.complete and not self.proven and not self._again_due()

    def _squeeze_out(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Look for room for the parts of a piece less."""
        plan = self.squeeze.round(team, hands, self.best.layouts)
        if plan:
            self.offer(judge(self.model, plan), tidy=True)

    def _beams_due(self) -> bool:
        may = (
            self._demand <= self.rhythm.many_parts
            and self._is_beamed
            and self._stalled >= self.rhythm.stalled
        )
        return may and self._beams.due(self._beats)

    def _improving_due(self) -> bool:
        stalled = self._stalled >= (self.rhythm.stalled if self._kinds > 1 else self.rhythm.stalled_one_kind)
        return self._demand <= self.rhythm.many_parts and stalled and self._improving.due(self._beats)

    def _most_money(self) -> int | None:
        """Return the money to price net material at; None to price money."""
        return self.best.figures.money if self.proven or not self.best.complete else None

    def _make_beams(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Make layouts by beams at the prices of the pool."""
        self._beams.learn(found=self.refiner.beams(team, hands, self._most_money(), self._must_end))

    def _improve(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Improve layouts at the prices of the pool."""
        self._improving.learn(found=self.refiner.improve(team, hands, self._most_money(), self._must_end))

    def _search(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Let so many searchers run for one round and take over what they found."""
        searchers = self.searchers[:hands]
        now = Standing(self.best, self.proven, self._asked, self._least_filled())
        for searcher in searchers:
            searcher.prepare(now)
        list(team.map(lambda searcher: searcher.run(self.steps), searchers))
        for searcher in searchers:
            for c in searcher.recorded():
                self.pool.add(c)
            answer = searcher.answer()
            if answer is not None:
                self.offer(answer)

    def _choose(self, team: ThreadPoolExecutor, _: int) -> None:
        """Dive twice where that may help, then choose among the pooled layouts while one searcher runs."""
        self._chose += 1
        if self._chose % 3 == 0 or not self._plunge(team):
            self._take(self._beside(team, team.submit(self._choice())))
        self._next_choice = self.rounds + self.rhythm.choice_every

    def _plunge_early(self, team: ThreadPoolExecutor, _: int) -> None:
        """Make the first dive, in a share of the time."""
        self._plunge(team, max(self.rhythm.early_seconds, self.rhythm.early_share * self._left()))

    def _plunge(self, team: ThreadPoolExecutor, seconds: float = FOREVER, *, hands: int = SEARCHERS) -> bool:
        """Dive: for less money, so many seconds at most, and where that fails or can not be had for less net
        material, which seldom fails; return whether that makes sense."""
        until = monotonic() + seconds
        if self.done or not self.best.complete or not self._is_beamed:
            return False

        def stop() -> bool:
            return self._must_end() or monotonic() > until

        is_early = self._is_early  # the bound must not wait for a dive for net material
        plans = [] if self.proven else self.diver.save_money(team, self.best, hands, stop)
        if not plans and self._may_save_net and not is_early:
            plans = self.diver.save_net(team, self.best, hands, self._must_end)
        elif self.proven:
            return False
        for plan in plans:
            self.offer(judge(self.model, plan))
        return True

    @property
    def _may_save_net(self) -> bool:
        """Whether plans for the least money that is known take more net material or less."""
        return self._kinds > 1 and (self.proven or any(not s.money for s in self.model.stock))

    def _choice(self, *, for_money: bool = False) -> Callable[[], tuple[Candidate, ...] | None]:
        """Return the work of choosing a better answer from the pool as it is now; `for_money`: only that."""
        best, chooser = self.best, self.chooser
        layouts, by_net = chooser.hopeful(best, proven=self.proven)
        if by_net and (for_money or (best.complete and self._net_is_fixed)):
            return lambda: None  # the pool holds no plan for less money yet
        seconds, least = self._left(), self.bound.money
        return lambda: chooser.choice(best, layouts, by_net, seconds=seconds, least_money=least)

    def _take(self, found: tuple[Candidate, ...] | None) -> None:
        """Take over a choice."""
        self.chooser.learn(found=found is not None and self.offer(judge(self.model, found)))
