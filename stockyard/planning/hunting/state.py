"""Where the search on one model stands: the best answer, the pool, the bound, and what they say."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from stockyard.planning.boards.bars import line_of
from stockyard.planning.bounds.bound import ModelBound, bound_by_area
from stockyard.planning.choosing.answer import Answer, judge
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.compiled import COMPILED
from stockyard.planning.hunting.clock import Clock
from stockyard.planning.hunting.flawed import FlawedPieces
from stockyard.planning.hunting.reduction import Reduction
from stockyard.planning.hunting.remainder import completed
from stockyard.planning.hunting.rhythm import Rhythm
from stockyard.planning.model import Candidate, Model, flawed_rows, has_flaws, is_clear, without_flawed
from stockyard.planning.tables.pricing import weighed


class State:
    """What every move of a hunt reads, and the one place where answers and bounds are taken over.

    whole: what is asked. seen: what is looked at of it. model: that without the pieces with flaws.
    beats: rounds of search. stalled: those since the last better answer. flaws: plans of pieces with flaws.
    """

    def __init__(
        self,
        whole: Model,
        looked_at: Reduction,
        seed: int,
        *,
        rhythm: Rhythm,
        clock: Clock,
        tell: Callable[[], None],
    ) -> None:
        """`tell` is called at each better answer or bound."""
        self.whole, self.seen, self.seed = whole, looked_at.model, seed
        self.rhythm, self.clock, self._tell = rhythm, clock, tell
        self.flawed = flawed_rows(self.seen)
        self.model = without_flawed(self.seen)
        self.flaws = FlawedPieces(self.seen, self.flawed)
        self.is_line = line_of(self.model) is not None  # boards go their own way
        self.demand = sum(p.demand for p in whole.parts)
        self.best = judge(self.model, ())
        self._raw = self.best.figures  # of the best before its cut trees were tidied
        self.pool = Pool(self.model)
        self.bound = bound_by_area(whole)
        self.beats = self.stalled = 0

    def offer(self, answer: Answer, *, tidy: bool = False) -> bool:
        """Take `answer` as the best when it is; pool its layouts. `tidy`: whether its cut trees are."""
        if self.flawed and not all(is_clear(self.model.problem, c.pattern) for c in answer.layouts):
            return False
        if self.flawed and not answer.complete:
            answer = judge(self.model, [*answer.layouts, *self.flaws.rest(answer.layouts, self.seed)])
        if answer.figures < self._raw:
            self._raw = answer.figures
            if not tidy and not self.has_many_parts:
                answer = judge(self.model, [self._tidied(c) for c in answer.layouts])
        self.add(answer.layouts)
        if answer.figures >= self.best.figures:
            return False
        self.best = answer
        self.stalled = 0
        self._tell()
        return True

    def offer_some(self, layouts: Sequence[Candidate]) -> None:
        """Take layouts as an answer, with those for what they leave out."""
        whole = completed(self.model, layouts, self.seed, hasty=self.clock.must_end())
        self.offer(judge(self.model, whole), tidy=True)

    def _tidied(self, c: Candidate) -> Candidate:
        """Return a layout with its better tree; one of a flawed piece as it is, since that moves parts."""
        return c if has_flaws(self.model, c.stock) else weighed(self.model, c.stock, c.pattern.root)

    def add(self, layouts: Sequence[Candidate]) -> None:
        """Pool layouts."""
        for c in layouts:
            self.pool.add(c)

    def learn(self, bound: ModelBound) -> None:
        """Take over a bound, where it says more."""
        if bound.money >= self.bound.money or not bound.possible:
            self.bound = bound.with_what_held(self.bound)
            self._tell()

    @property
    def is_whole(self) -> bool:
        """Whether all of what is asked is searched, so that its layouts and bounds are the model's own."""
        return self.model is self.whole

    @property
    def kinds(self) -> int:
        """How many kinds of piece there are."""
        return len(self.model.stock)

    @property
    def has_many_parts(self) -> bool:
        """Whether there are so many that one start must do, and trees are tidied only at the end."""
        return self.demand > self.rhythm.many_parts

    @property
    def is_large(self) -> bool:
        """Whether there are so many parts that patterns are cut many times; tables want compiled code."""
        return COMPILED and self.demand >= self.rhythm.large and not self.is_line and not self.done

    @property
    def proven(self) -> bool:
        """Whether no plan places more or costs less."""
        return self.best.complete and self.best.figures.money <= self.bound.money

    @property
    def done(self) -> bool:
        """Whether nothing can be better at money and net material."""
        return self.proven and (self.net_is_fixed or self.best.figures.net <= self.bound.net)

    @property
    def net_is_fixed(self) -> bool:
        """Whether money alone says how much material a plan takes: one kind of piece, too small to keep."""
        first = self.model.stock[0]
        keeps = self.model.problem.worth.keeps(first.length, first.width)
        return len(self.whole.stock) == 1 and first.money > 0 and not keeps

    @property
    def may_save_net(self) -> bool:
        """Whether plans for the least money that is known take more net material or less."""
        return self.kinds > 1 and (self.proven or any(not s.money for s in self.model.stock))

    @property
    def money_to_keep(self) -> int | None:
        """The money to price net material at; None to price money."""
        return self.best.figures.money if self.proven or not self.best.complete else None

    @property
    def is_tight(self) -> bool:
        """Whether a plan for less money can have next to no waste."""
        return self.most_waste() < self.rhythm.tight

    def most_waste(self) -> float:
        """Return about the waste that a plan for less money may have, as a share of what is needed."""
        money = self.best.figures.money
        if not money or not self.best.complete:
            return 1.0
        area = sum(s.length * s.width for c in self.best.layouts for s in [self.model.stock[c.stock]])
        need = sum(p.length * p.width * p.demand for p in self.whole.parts)
        return area * (1 - self.model.money_step / money) / need - 1
