"""The hunt on one model: searchers side by side, their layouts pooled, the best kept, proof sought."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from stockyard.planning import kernel
from stockyard.planning.bound import ModelBound, bound_of
from stockyard.planning.choose import choose
from stockyard.planning.model import Candidate, Model
from stockyard.planning.search import MANY, Answer, Search, Stage, judge

SEARCHERS = 2
# Steps of one round over all parts and stock rows, so that a round takes 50 to 100 ms.
ROUND_WORK = 300_000
# Layouts handed to the choice at most.
POOL = 1500
# Rounds without a better answer after which a searcher starts afresh from the best.
PATIENCE = 12
# How a searcher sorts the parts it puts back and how it values rests, in turn.
MANNERS: tuple[dict[str, float], ...] = (
    {"order": kernel.NOISY, "power": 0},
    {"order": kernel.AS_DRAWN, "power": 1},
    {"order": kernel.LONG_FIRST, "power": 0},
    {"order": kernel.LARGE_FIRST, "power": 1},
)
STARTS = (kernel.LARGE_FIRST, kernel.LONG_FIRST, kernel.WIDE_FIRST)


class Hunt:
    """The search for the best layouts of one model, to be run round by round."""

    def __init__(self, model: Model, seed: int) -> None:
        self.model = model
        self.seed = seed
        self.searchers = [Search(model, seed * SEARCHERS + n) for n in range(SEARCHERS)]
        self.best = judge(model, ())
        self.bound: ModelBound | None = None
        self.pool: dict[tuple[int, tuple[tuple[int, int], ...]], Candidate] = {}
        self.rounds = 0
        parts = sum(p.demand for p in model.parts)
        self.steps = max(20, min(5000, ROUND_WORK // (parts + len(model.stock) + 10)))
        self._stages: list[Stage | None] = [None] * SEARCHERS
        self._idle = [0] * SEARCHERS

    @property
    def proven(self) -> bool:
        """Whether no plan places more or costs less."""
        return self.best.complete and self.bound is not None and self.best.figures.money <= self.bound.money

    @property
    def done(self) -> bool:
        """Whether nothing can be better at money and net material."""
        return self.proven and self.bound is not None and self.best.figures.net <= self.bound.net

    def start(self) -> None:
        """Find first answers, one for each order of the parts."""
        searcher = self.searchers[0]
        for order in STARTS:
            searcher.set_rules(Stage.NET, budget=MANY, short=True, order=order)
            searcher.load(())
            searcher.construct()
            self.offer(searcher.answer())

    def offer(self, answer: Answer) -> bool:
        """Take `answer` as the best when it is; pool its layouts."""
        for c in answer.layouts:
            key = (c.stock, c.gives)
            if key not in self.pool or c.net < self.pool[key].net:
                self.pool[key] = c
        if answer.figures < self.best.figures:
            self.best = answer
            return True
        return False

    def find_bound(self, seconds: float, work: int | None) -> None:
        """Compute the bound and pool its layouts."""
        self.bound = bound_of(self.model, seconds=seconds, work=work)
        for c in self.bound.candidates:
            self.pool.setdefault((c.stock, c.gives), c)

    def round(self, pool: ThreadPoolExecutor) -> None:
        """Let every searcher run for one round and take over what it found."""
        self.rounds += 1
        for n, searcher in enumerate(self.searchers):
            self._prepare(n, searcher)
        list(pool.map(lambda searcher: searcher.run(self.steps), self.searchers))
        for n, searcher in enumerate(self.searchers):
            self._harvest(n, searcher)

    def _wanted(self, n: int) -> Stage:
        """What searcher `n` is after: less money as long as that may be had, else less net material."""
        if not self.best.complete:
            return Stage.NET
        cheaper = self.best.figures.money > (self.bound.money if self.bound else 0)
        return Stage.PLACE if cheaper and (n == 0 or self.rounds % 4) else Stage.NET

    def _prepare(self, n: int, searcher: Search) -> None:
        stage = self._wanted(n)
        if stage is self._stages[n] and self._idle[n] < PATIENCE:
            return
        self._stages[n], self._idle[n] = stage, 0
        manner = MANNERS[(n + self.rounds // PATIENCE) % len(MANNERS)]
        money = self.best.figures.money
        if stage is Stage.PLACE:
            searcher.set_rules(stage, budget=money - 1, **manner)
            searcher.load(self.best.layouts)
            searcher.lower_money()
        else:
            short = not self.best.complete
            searcher.set_rules(stage, budget=MANY if short else money, short=short, **manner)
            searcher.load(self.best.layouts)

    def _harvest(self, n: int, searcher: Search) -> None:
        self._idle[n] += 1
        if self._stages[n] is Stage.PLACE:
            if searcher.left_out:
                return
            better = self.offer(searcher.answer())
        else:
            better = self.offer(searcher.best_answer())
        if better:
            self._stages = [None] * SEARCHERS

    def choose(self, seconds: float, work: float | None) -> bool:
        """Choose among the pooled layouts; return whether that was better."""
        layouts = sorted(self.pool.values(), key=self._waste)[:POOL]
        found = choose(
            self.model,
            layouts,
            self.best.layouts,
            seconds=seconds,
            seed=self.seed,
            work=work,
            least_money=self.bound.money if self.bound else 0,
        )
        if found is None or not self.offer(judge(self.model, found)):
            return False
        self._stages = [None] * SEARCHERS
        return True

    def _waste(self, c: Candidate) -> float:
        used = sum(n * self.model.parts[t].length * self.model.parts[t].width for t, n in c.gives)
        return c.net / used
