"""The hunt on one model: searchers side by side, their layouts pooled, the best kept, proof sought."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from math import gcd
from queue import SimpleQueue
from random import Random
from time import monotonic
from typing import TypeVar

from stockyard.planning import kernel
from stockyard.planning.boards import BoardsAnswer, solve_boards
from stockyard.planning.bound import ModelBound, bound_by_area, bound_of
from stockyard.planning.choose import choose, trimmed
from stockyard.planning.covering import cover
from stockyard.planning.dp import TOP_VALUE
from stockyard.planning.model import Candidate, Model
from stockyard.planning.pool import NOTHING, Pool, Prices
from stockyard.planning.pricing import Pricer, weighed
from stockyard.planning.search import MANY, Answer, Search, Stage, judge
from stockyard.planning.thin import thin

T = TypeVar("T")
SEARCHERS = 2
FOREVER = 1e6
# What dives on boards may take when their number is limited anyway.
BOARDS_SECONDS = 1e4
# One-off offcuts the search looks at.
MOST_OFFCUTS = 400
# Steps of one round over all parts and stock rows, so that a round takes 50 to 100 ms.
ROUND_WORK = 300_000
# Rounds that one searcher takes alone beside the bound or the choice when nothing may depend on the clock.
ALONE = 4
# The choice comes in every so many rounds.
CHOICE_EVERY = 6
# Pricings of each phase of column generation when nothing may depend on the clock.
PRICINGS = 40
# Layouts that one round of pricing starts from, and the steps it takes from each.
PRICED, STEPS = 60, 400
# Further starts by dynamic programming, where one takes at most this many steps.
DRAFTS, DRAFT_STEPS = 30, 4e6
# Layouts are pooled that cost at most this share of their piece more than their parts are worth.
SPARE = 0.01
# Rounds without a better answer after which layouts are priced, and chosen from before the bound is there.
STALLED, STUCK = 4, 12
# After this many rounds of pricing without a find only every so many are still made.
DRY, SELDOM = 3, 4
# Seconds that covering may take, doubled while it does not come to its end; and the same in nodes.
COVER_SECONDS, MOST_COVER_SECONDS, COVER_NODES = 1.0, 8.0, 50
# Layouts that CP-SAT chooses from under the whole aim.
CHOSEN_FROM = 800
# Work of the choice (CP-SAT's deterministic seconds), and how far it grows while it finds nothing.
CHOICE_WORK, MOST_CHOICE_WORK = 0.3, 2.0
# Rounds without a better answer after which a searcher starts afresh from the best.
PATIENCE = 40
# How a searcher goes about placing all parts for less money, in turn: see the settings in forest.py.
PLACING: tuple[dict[str, float], ...] = (
    {"order": kernel.NOISY, "history": 300, "removed": 14, "whole": 0, "room_weight": 0.003},
    {"order": kernel.NOISY, "history": 300, "removed": 10, "whole": 0, "room_weight": 0.003},
    {"order": kernel.LONG_FIRST, "history": 300, "removed": 10, "blink": 0.05},
    {"order": kernel.NOISY, "history": 100, "removed": 8},
)
# And about less net material.
MANNERS: tuple[dict[str, float], ...] = (
    {"order": kernel.NOISY, "power": 0, "history": 100, "removed": 8, "refund": 0.9},
    {"order": kernel.AS_DRAWN, "power": 1, "history": 100, "removed": 12, "refund": 0.5},
    {"order": kernel.LONG_FIRST, "power": 0, "history": 20, "removed": 6, "refund": 0.95, "keen": 0},
    {"order": kernel.NOISY, "power": 1, "history": 300, "removed": 12, "refund": 0.7, "keen": 0},
)
# With more parts than this one start must do, and trees are tidied only at the end.
MANY_PARTS = 3000
STARTS = (kernel.LARGE_FIRST, kernel.LONG_FIRST, kernel.WIDE_FIRST)


class Hunt:
    """The search for the best layouts of one model, to be run round by round."""

    def __init__(self, whole: Model, seed: int, *, repeatable: bool = False) -> None:
        """`repeatable`: let nothing depend on the clock."""
        self.repeatable = repeatable
        self.whole = whole
        self.seed = seed
        self._demand = sum(p.demand for p in whole.parts)
        self._look_at(thin(whole, MOST_OFFCUTS))
        self.bound = bound_by_area(whole)
        self.rounds = 0
        self._stages: list[Stage | None] = [None] * SEARCHERS
        self._fresh = [False] * SEARCHERS
        self._beats = 0
        self._stalled = 0  # rounds since the last better answer
        self._turns = [0] * SEARCHERS
        self._idle = [0] * SEARCHERS
        self._choice_work = CHOICE_WORK
        self._cover_seconds = COVER_SECONDS
        self._random = Random(seed)
        self._dry = 0  # rounds of pricing without a find
        self._deadline = 0.0
        self._proof: Future[ModelBound | BoardsAnswer] | None = None
        self._asked = False  # whether the proof has given its last word
        self._news: SimpleQueue[ModelBound | BoardsAnswer] = SimpleQueue()

    def _look_at(self, model: Model) -> None:
        """Search on `model`, the whole or a thinned one."""
        self.model = model
        self.searchers = [Search(model, self.seed * SEARCHERS + n) for n in range(SEARCHERS)]
        self._pricers: list[Search] = []
        self._drafter: Pricer | None = None
        self.best = judge(model, ())
        self._raw = self.best.figures  # of the best before its cut trees were tidied
        self.pool = Pool(model)
        self.steps = max(20, min(5000, ROUND_WORK // (self._demand + len(model.stock) + 10)))

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
        if not self.best.complete and self.model is not self.whole:
            self._look_at(self.whole)
            self._construct()

    def _construct(self) -> None:
        searcher = self.searchers[0]
        for order in STARTS[: 1 if self._demand > MANY_PARTS else None]:
            searcher.set_rules(Stage.PLACE, budget=MANY, short=True, manner={"order": order})
            searcher.load(())
            searcher.construct()
            self.offer(searcher.answer())

    def offer(self, answer: Answer) -> bool:
        """Take `answer` as the best when it is; pool its layouts."""
        if answer.figures < self._raw:
            self._raw = answer.figures
            if self._demand <= MANY_PARTS:
                tidied = [weighed(self.model, c.stock, c.pattern.root) for c in answer.layouts]
                answer = judge(self.model, tidied)
        for c in answer.layouts:
            self.pool.add(c)
        if answer.figures >= self.best.figures:
            return False
        self.best = answer
        self._stalled = 0
        self._fresh = [False] * SEARCHERS
        return True

    def turn(self, team: ThreadPoolExecutor, seconds: float) -> None:
        """Take the next turn: the bound first, then rounds of search, now and then a choice.

        `seconds` is what is left on the clock.
        """
        self.rounds += 1
        self._deadline = monotonic() + (FOREVER if self.repeatable else seconds)
        if not self._asked:
            self._prove(team)
        elif self.rounds % CHOICE_EVERY == 2:
            self._choose(team)
        else:
            self._round(team, SEARCHERS)

    def _left(self) -> float:
        """Return the seconds left for this turn."""
        return max(0.01, self._deadline - monotonic())

    def _prove(self, team: ThreadPoolExecutor) -> None:
        """Find the bound, and for boards a plan with it, while one searcher runs."""
        if self._proof is None:
            self._proof = team.submit(self._bound_or_boards)
        found = self._beside(team, self._proof)
        self._hear()
        if found is not None:
            self._asked = True
            self._learn(found)

    def _hear(self) -> None:
        """Take what the proof has told on the way, unless that would depend on the clock."""
        while not (self.repeatable or self._news.empty()):
            self._learn(self._news.get())

    def _learn(self, found: ModelBound | BoardsAnswer) -> None:
        """Take over a bound and the layouts found with it."""
        bound = found.bound if isinstance(found, BoardsAnswer) else found
        if bound.money >= self.bound.money or not bound.possible:
            self.bound = bound
        if isinstance(found, BoardsAnswer):
            self.offer(judge(self.model, found.candidates))
            return
        if self.model is self.whole:
            for c in found.candidates:
                self.pool.add(c)
            self.offer(judge(self.model, found.start))

    def _bound_or_boards(self) -> ModelBound | BoardsAnswer:
        few, seconds = self.repeatable, self._left()
        if self.model is self.whole:
            boards = solve_boards(
                self.model,
                seconds=BOARDS_SECONDS if few else seconds,
                seed=self.seed,
                dives=2 if few else None,
                tell=self._news.put,
            )
            if boards is not None:
                return boards
        return bound_of(self.whole, seconds=seconds, work=PRICINGS if few else None, tell=self._news.put)

    def _beside(self, team: ThreadPoolExecutor, work: Future[T]) -> T | None:
        """Let the first searcher run until `work` is done; return its result, None when time is up before."""
        for _ in range(ALONE if self.repeatable else 0):
            self._round(team, 1)
        while not (self.repeatable or work.done()):
            if self.done or monotonic() > self._deadline:
                return None
            self._round(team, 1)
            self._hear()
            if work is self._proof and self._stalled % STUCK == STUCK - 1 and not work.done():
                self._take(self._choice(self.best, *self._hopeful()))
        return work.result()

    def _round(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Let `hands` threads search, or every other time improve layouts of the pool."""
        self._beats += 1
        self._stalled += 1
        often = 2 if self._dry < DRY else 2 * SELDOM
        if self._stalled >= STALLED and self._demand <= MANY_PARTS and self._beats % often == 0:
            self._improve(team, hands)
        else:
            self._search(team, self.searchers[:hands])

    def _search(self, team: ThreadPoolExecutor, searchers: list[Search]) -> None:
        """Let searchers run for one round and take over what they found."""
        for n, searcher in enumerate(searchers):
            self._prepare(n, searcher)
        list(team.map(lambda searcher: searcher.run(self.steps), searchers))
        for n, searcher in enumerate(searchers):
            self._harvest(n, searcher)

    def _improve(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Look for layouts that the linear programme over the pool would take: heuristic pricing."""
        prices = self._prices()
        if prices is None:
            return
        while len(self._pricers) < hands:
            self._pricers.append(Search(self.model, self.seed * SEARCHERS + len(self._pricers) + 77))
        order = sorted(range(len(prices.reduced)), key=lambda n: (prices.reduced[n], n))
        near = sum(r <= NOTHING for r in prices.reduced)
        starts = [(self.pool.layouts[n], prices.reduced[n]) for n in order[: max(near, 2 * PRICED)]]
        starts = self._random.sample(starts, min(PRICED, len(starts))) + self._drafts(prices)

        most = max(s.length * s.width for s in self.model.stock)
        spare = [SPARE * s.length * s.width / most for s in self.model.stock]

        def work(n: int) -> list[Candidate]:
            return [
                c
                for layout, reduced in starts[n::hands]
                for c in self._pricers[n].improve(layout, prices, spare[layout.stock] - reduced, STEPS)
            ]

        before = len(self.pool)
        for some in team.map(work, range(hands)):
            for c in some:
                self.pool.add(c)
        self._dry = 0 if len(self.pool) > before else self._dry + 1

    def _drafts(self, prices: Prices) -> list[tuple[Candidate, float]]:
        """Return best patterns of random parts, without what is beyond the demand, as further starts."""
        if self._drafter is None:
            self._drafter = Pricer(self.model)
        if self._drafter.steps > DRAFT_STEPS or not self._drafter.is_exact:
            return []
        drafts = []
        scale = TOP_VALUE / max(1e-9, self._drafter.most(prices.parts))
        for _ in range(DRAFTS):
            share = self._random.random()
            values = [int(y * scale) if self._random.random() < share else 0 for y in prices.parts]
            priced = self._drafter.price(values, [p.demand for p in self.model.parts])
            j = self._random.choice([j for j, b in enumerate(priced.best) if b] or [-1])
            if j >= 0:
                c = self._drafter.candidate(self._drafter.column(priced, j))
                worth = sum(n * prices.parts[k] for k, n in c.gives)
                cost = self.pool.cost(c.money, c.net, by_net=bool(prices.area))
                drafts.append((c, cost + prices.pieces[j] - worth))
        return drafts

    def _prices(self) -> Prices | None:
        """Return the prices at the level sought after: money, or net material once money is proved."""
        by_net = self.proven or not self.best.complete
        return self.pool.relax(self.best.figures.money if by_net else None)

    def _wanted(self, n: int) -> Stage:
        """What searcher `n` is after: less money as long as that may be had, else less net material."""
        if not self.best.complete or self.proven:
            return Stage.NET
        last = self._stages[n]
        alternate = (n == 1 or not self._asked) and len(self.model.stock) > 1 and last is Stage.PLACE
        return Stage.NET if alternate else Stage.PLACE

    def _prepare(self, n: int, searcher: Search) -> None:
        pointless = self.proven and self._stages[n] is Stage.PLACE
        if self._fresh[n] and self._idle[n] < PATIENCE and not pointless:
            return
        stage = self._wanted(n)
        self._fresh[n] = True
        self._turns[n] += 1
        self._stages[n], self._idle[n] = stage, 0
        manners = PLACING if stage is Stage.PLACE else MANNERS
        manner = manners[(n + self._turns[n]) % len(manners)]
        money = self.best.figures.money
        if stage is Stage.PLACE:
            searcher.set_rules(stage, budget=money - 1, filled=self.pool.filled, manner=manner)
            searcher.load(self.best.layouts)
            searcher.lower_money()
        else:
            short = not self.best.complete
            budget = MANY if short else money
            searcher.set_rules(stage, budget=budget, short=short, filled=self.pool.filled, manner=manner)
            searcher.load(self.best.layouts)

    def _harvest(self, n: int, searcher: Search) -> None:
        self._idle[n] += 1
        for c in searcher.recorded():
            self.pool.add(c)
        if self._stages[n] is Stage.NET:
            self.offer(searcher.best_answer())
        elif not searcher.left_out:
            self.offer(searcher.answer())

    def _choose(self, team: ThreadPoolExecutor) -> None:
        """Choose among the pooled layouts while one searcher runs."""
        self._take(self._beside(team, team.submit(self._choice, self.best, *self._hopeful())))

    def _take(self, found: tuple[Candidate, ...] | None) -> None:
        """Take over a choice; the next one is given more work while choices find nothing."""
        if found is not None and self.offer(judge(self.model, found)):
            self._choice_work = CHOICE_WORK
        else:
            self._choice_work = min(MOST_CHOICE_WORK, 1.5 * self._choice_work)

    def _hopeful(self) -> tuple[list[Candidate], bool]:
        """Return layouts that a better plan may use, and whether it is better at net material, not money."""
        best, pool = self.best.figures, self.pool
        if self.best.complete and not self.proven:
            prices = pool.relax(None)
            step = gcd(*(s.money for s in self.model.stock)) or 1
            if prices is not None:
                layouts = pool.within(prices, pool.cost(best.money - step, best.net, by_net=False))
                if layouts:
                    return layouts, False
        prices = pool.relax(best.money)
        if prices is None:
            return [], True
        return pool.within(prices, max(prices.cost, pool.cost(0, best.net, by_net=True))), True

    def _choice(
        self, before: Answer, layouts: Sequence[Candidate], by_net: bool
    ) -> tuple[Candidate, ...] | None:
        """Return a better choice: a least cover for the level sought after, then CP-SAT on the whole aim."""
        best = before
        if before.complete and layouts:
            best = self._covered(before, layouts, by_net)
        found = choose(
            self.model,
            layouts[:CHOSEN_FROM],
            best.layouts,
            seconds=self._left(),
            seed=self.seed,
            work=self._choice_work,
            least_money=self.bound.money,
        )
        return found or (best.layouts if best is not before else None)

    def _covered(self, before: Answer, layouts: Sequence[Candidate], by_net: bool) -> Answer:
        """Return the better of an answer and the least cover found."""
        unit = gcd(*(s.money for s in self.model.stock)) or 1
        costs = [self.pool.cost(c.money, c.net, by_net=True) if by_net else c.money / unit for c in layouts]
        found, ended = cover(
            self.model,
            layouts,
            costs,
            money_at_most=before.figures.money if by_net else None,
            seconds=min(self._cover_seconds, self._left()),
            nodes=COVER_NODES if self.repeatable else None,
        )
        if not ended:
            self._cover_seconds = min(MOST_COVER_SECONDS, 2 * self._cover_seconds)
        if found is None:
            return before
        answer = judge(self.model, trimmed(self.model, found))
        return min(before, answer, key=lambda a: a.figures)
