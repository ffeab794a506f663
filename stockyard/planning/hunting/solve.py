"""From a problem to a plan: first answers at once, then better ones until proof, limit or stop."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from math import inf
from time import monotonic

from stockyard.planning.batches import settled
from stockyard.planning.bounds.bound import plan_bound
from stockyard.planning.choosing.answer import Answer
from stockyard.planning.explain import unplaced
from stockyard.planning.hunting.alike import merge
from stockyard.planning.hunting.ending import LAST_HAND, POLISH, SAWN
from stockyard.planning.hunting.hunt import SEARCHERS, Hunt
from stockyard.planning.hunting.reduction import Reduction
from stockyard.planning.hunting.rescue import rescued
from stockyard.planning.hunting.routed import Routing
from stockyard.planning.hunting.single import is_nearly_one
from stockyard.planning.hunting.sketching import sketched
from stockyard.planning.hunting.stopping import Criterion, Gains, any_of, not_worth_it
from stockyard.planning.limits import Improvement, Limits
from stockyard.planning.model import Candidate, shares
from stockyard.planning.placing.finish import finish_routed
from stockyard.planning.placing.spots import passed
from stockyard.planning.plan import Bound, Plan, Status, Unplaced
from stockyard.planning.polish.polish import MOST_PARTS, Time, polish, tidied
from stockyard.planning.polish.reach import within_reach
from stockyard.planning.problem import Kind, Method, Problem
from stockyard.planning.sawing.finish import finish
from stockyard.planning.sets import joined
from stockyard.planning.tree import Pattern

# The share of the time in which patterns with cuts out of reach are made anew, after a first try.
REACHED = 0.05
Standing = tuple[Answer, ...]
"""The best answer of each model."""


def solve(
    problem: Problem,
    *,
    limits: Limits | None = None,
    seed: int = 0,
    report: Callable[[Improvement], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Plan:
    """Return the best plan found; every improvement is reported. `stop` is asked between rounds."""
    run = Run(problem, limits or Limits(), seed, report, stop)
    run.begin()
    run.search()
    return run.plan()


class Run:
    """One search for a plan. Its plan may be asked for at any time, also by another thread."""

    def __init__(
        self,
        problem: Problem,
        limits: Limits,
        seed: int,
        report: Callable[[Improvement], None] | None,
        stop: Callable[[], bool] | None,
    ) -> None:
        self._begun, self._seed = monotonic(), seed
        self._asked, self._all_tried = settled(problem, partial(_first, seed=seed))
        self.limits = limits
        self.problem = problem = joined(self._asked)  # every set one part
        self._report, self._told = report, stop
        self._work = 0
        self._gains = Gains(sum(p.count for p in problem.parts))
        self._kept = LAST_HAND.part * min(LAST_HAND.timed, sum(p.count for p in problem.parts))
        # Seconds of it for one pattern, at its best and at least, once they were timed; at least for all.
        self._each = self._each_least = self._least_hand = 0.0
        self._handing = LAST_HAND.handed * sum(p.count for p in problem.parts)
        self._last: object = None
        self._least = 0
        self._polished: tuple[object, tuple[Pattern, ...]] | None = None
        self._merged: list[Reduction] = [merge(m) for m in shares(problem)]
        self._share = 1.0  # of the limits, for the hunts
        if problem.method is Method.ROUTER:
            self._share = SAWN.tight if all(is_nearly_one(m.model) for m in self._merged) else SAWN.first
        repeatable = limits.work is not None
        enough: Criterion | None = None
        if not repeatable:
            enough = not_worth_it(self._gains, limits.second, self._is_settled)
            enough = self._is_settled if limits.money_alone else enough
        self._stop = any_of(stop, enough)
        self.hunts = [
            Hunt(m.model, seed + n, repeatable=repeatable, stop=self._stop)
            for n, m in enumerate(self._merged)
        ]
        self.searches: Sequence[Hunt | Routing] = self.hunts

    def begin(self) -> None:
        """Make first answers."""
        for hunt in self.hunts:
            hunt.start()
        self._tell()
        for hunt in self.hunts:
            hunt.tell = self._tell
        if self.limits.seconds is not None and sum(p.count for p in self.problem.parts) > LAST_HAND.timed:
            self._time_last_hand()
            self._keep_time()

    def _time_last_hand(self) -> None:
        """Find about the seconds that the last hand on one pattern takes, timed on some."""
        every = sum(len(h.best.layouts) for h in self.hunts)
        some = self._patterns([h.best for h in self.hunts], 1 + every // LAST_HAND.sample)
        begun = monotonic()
        self._finished(some, Bound(0, 0, ""), Status.FEASIBLE, until=-inf)
        self._each_least = (monotonic() - begun) / max(1, len(some))
        begun = monotonic()
        self._finished(self._tidied(some), Bound(0, 0, ""), Status.FEASIBLE)
        self._each = (monotonic() - begun) / max(1, len(some))

    def _keep_time(self) -> None:
        """Keep time for the last hand on the answers as they are; of equal layouts one alone takes long."""
        if self._each:
            layouts = [c for h in self.hunts for c in h.best.layouts]
            others = len({(c.stock, c.gives) for c in layouts})
            many = LAST_HAND.slower * max(others, LAST_HAND.others * len(layouts))
            self._least_hand = self._each_least * many
            best = min(self._each * many, LAST_HAND.best * (self.limits.seconds or inf))
            self._kept = self._handing + max(self._least_hand, best)

    @property
    def last_hand(self) -> float:
        """The seconds that are kept for the last hand on the plan."""
        seconds = self.limits.seconds
        return 0.0 if seconds is None else min(self._kept, LAST_HAND.most * seconds)

    def search(self) -> None:
        """Run all hunts until they are done or a limit is reached."""
        team = ThreadPoolExecutor(SEARCHERS)
        try:
            while not self._over() and self._turns(team):
                pass
            if self.problem.method is Method.ROUTER:
                self._gains.begin_anew()
                self._place_freely(team)
        finally:
            for hunt in self.hunts:
                hunt.end()
            team.shutdown(wait=False, cancel_futures=True)
        if self.problem.method is Method.SAW and not self.limits.money_alone:
            self._polish()

    def _place_freely(self, team: ThreadPoolExecutor) -> None:
        """Go on from the plans on cut trees with parts that lie anywhere."""
        self._share = 1.0
        repeatable = self.limits.work is not None
        self.searches = [
            Routing(h, self._seed + n, repeatable=repeatable, tell=self._tell)
            for n, h in enumerate(self.hunts)
        ]
        while not self._over() and self._turns(team):
            pass

    def _turns(self, team: ThreadPoolExecutor) -> bool:
        """Give each hunt that is not done a turn; return whether there was one."""
        waiting = [h for h in self.searches if not h.done]
        for n, hunt in enumerate(waiting):
            if not self._over():
                hunt.turn(team, self._left() / (len(waiting) - n))
                self._work += 1
        return bool(waiting)

    def _left(self) -> float:
        seconds = self.limits.seconds
        if seconds is None:
            return 1e9
        kept = self._to_polish() + self.last_hand
        return self._share * (seconds - kept) - (monotonic() - self._begun)

    def _over(self) -> bool:
        if self.limits.work is not None and self._work >= self._share * self.limits.work:
            return True
        return self._left() <= 0 or self._stop()

    def _is_settled(self) -> bool:
        """Whether nothing but net material can be better."""
        return all(h.proven and not h.is_planning_wholesale for h in self.hunts)

    def _tell(self) -> None:
        """Report the answers of all hunts together when they are better than before, or more is proved."""
        best = [h.best.figures for h in self.searches]
        least = sum(h.bound.money for h in self.searches)
        if best != self._last:
            self._keep_time()
            self._gains.note(sum(b.money for b in best), sum(b.net for b in best))
        elif least == self._least:
            return
        self._last, self._least = best, least
        if self._report is None:
            return
        seconds, gone = self.limits.seconds, monotonic() - self._begun
        patterns = (c.pattern for h in self.searches for c in h.best.layouts)
        self._report(
            Improvement(
                seconds=gone,
                missing=sum(sum(b.missing) for b in best) + self._hopeless(),
                money=sum(b.money for b in best),
                net=sum(b.net for b in best) + self._passed(),
                pieces=sum(len(h.best.layouts) for h in self.searches),
                least=least,
                materials=self._searched(),
                left=None if seconds is None else max(0.0, seconds - gone),
                sketches=tuple(sketched(self.problem, patterns)),
            )
        )

    def _passed(self) -> int:
        """Return what was taken off the net of routed layouts for edges that one pass cuts (ticks²)."""
        if self.searches is self.hunts:
            return 0
        return sum(passed(h.model.problem, c.pattern) for h in self.searches for c in h.best.layouts)

    def _searched(self) -> tuple[str, ...]:
        """Return the materials for which something better is still looked for."""
        rows = (s.row for h in self.searches if not h.done for s in h.model.stock)
        return tuple(dict.fromkeys(self.problem.stock[row].material for row in rows))

    def _hopeless(self) -> int:
        """Return how many parts fit no stock at all."""
        known = sum(p.demand for h in self.hunts for p in h.model.parts)
        return sum(p.count for p in self.problem.parts) - known

    def _to_polish(self) -> float:
        """Return the seconds that are kept to polish the plan."""
        seconds = self.limits.seconds
        most = self._may_polish()
        if seconds is None or sum(p.count for p in self.problem.parts) <= LAST_HAND.timed:
            return most
        # A large job may still save much net material where nothing is paid, and money where it is.
        may_save = any(not h.proven or not (h.done or h.best.figures.money) for h in self.hunts)
        return min(most, POLISH.large * seconds) if may_save else most

    def _may_polish(self) -> float:
        """Return the most seconds in which the plan may be polished."""
        if self.problem.method is Method.ROUTER:
            return 0.0
        share = POLISH.proven if all(h.proven for h in self.hunts) else POLISH.unproven
        if not self.problem.kerf:
            share = POLISH.no_kerf
        parts, seconds = sum(p.count for p in self.problem.parts), self.limits.seconds
        if parts > MOST_PARTS or self.limits.money_alone:
            return 0.0
        most = min(POLISH.most, POLISH.any + POLISH.part * parts)
        return most if seconds is None else min(most, share * seconds)

    def _left_to_polish(self) -> float:
        """Return the seconds to polish the plan now: more than was kept where the search has ended early."""
        if self.limits.seconds is None:
            return self._may_polish()
        left = self.limits.seconds - (monotonic() - self._begun) - self.last_hand
        return max(0.0, min(self._may_polish(), left))

    def _polish(self) -> None:
        """Look for patterns that are less work for the same money."""
        best = [h.best for h in self.hunts]
        if self._told is not None and self._told():
            return
        found = self._patterns(best)
        patterns = self._reached(found)
        # A piece set free might give what is missing.
        if not all(answer.complete for answer in best) or self._missing(patterns) != self._missing(found):
            return
        time = Time(self._left_to_polish(), repeatable=self.limits.work is not None)
        gains = Gains(sum(p.count for p in self.problem.parts))
        enough = not_worth_it(gains, self.limits.second, lambda: not time.repeatable)
        kept = [p for p in patterns if self.problem.stock[p.stock].flaws]  # strips know no flaws

        def better(found: tuple[Pattern, ...], price: int) -> None:
            self._polished = best, (*found, *kept)
            gains.note(0, price)

        stop, clear = any_of(self._told, enough), [p for p in patterns if p not in kept]
        if clear:
            polish(_clear(self.problem), clear, time=time, seed=self._seed, stop=stop, better=better)

    def _patterns(self, best: list[Answer], step: int = 1) -> list[Pattern]:
        """Return the layouts of these answers, or each so-manieth, as patterns of the problem."""
        return [
            p
            for merged, answer in zip(self._merged, best, strict=True)
            for p in merged.back(_trees(answer.layouts)[::step])
        ]

    def _last_patterns(self, best: list[Answer], until: float) -> list[Pattern]:
        """Return the polished patterns where these answers were polished, else each with its better tree."""
        if self._polished is not None and self._polished[0] == best:
            return list(self._polished[1])
        patterns = self._patterns(best)
        if self.problem.method is Method.ROUTER:
            return patterns
        return self._reached(self._tidied(patterns, until))

    def _reached(self, patterns: Sequence[Pattern]) -> list[Pattern]:
        """Return patterns that the shop's saws cut, as many parts of these as come out so."""
        begun, most = monotonic(), inf if self.limits.seconds is None else REACHED * self.limits.seconds
        stop = any_of(self._told, lambda: monotonic() - begun > most)
        return within_reach(self.problem, patterns, self._seed, stop)

    def _missing(self, patterns: Sequence[Pattern]) -> Counter[int]:
        """Return how many of each part a plan leaves out; of equal patterns one alone is looked at."""
        missing = Counter({i: p.count for i, p in enumerate(self.problem.parts)})
        gives = {key: p.parts() for key, p in {id(p): p for p in patterns}.items()}
        for pattern in patterns:
            missing.subtract(gives[id(pattern)])
        return +missing

    def _tidied(self, patterns: Sequence[Pattern], until: float = inf) -> list[Pattern]:
        """Return each with its better tree; equal ones have the same. Those that come too late stay."""
        found: dict[int, Pattern] = {}  # to look for an object is quicker than for a tree
        for p in patterns:
            if id(p) not in found:
                as_it_is = self.problem.stock[p.stock].flaws or monotonic() > until
                found[id(p)] = p if as_it_is else tidied(self.problem, p)
        return [found[id(p)] for p in patterns]

    def _bound(self, money: int) -> Bound:
        """Return what is proved: nothing where pieces for the batches were chosen without trying all."""
        if not self._all_tried:
            return Bound(0, 0, "other pieces for the batches might do with less")
        return plan_bound(self.problem, [h.bound for h in self.searches], money)

    def standing(self) -> Standing:
        """Return the best answers as they are now."""
        return tuple(h.best for h in self.searches)

    def is_still(self, before: Standing) -> bool:
        """Whether these are still the best answers, and none has been polished."""
        return self._polished is None and all(a is b for a, b in zip(before, self.standing(), strict=True))

    def plan(self, until: float | None = None) -> Plan:
        """Return the plan made of the best answers.

        `until`: when it should be there, on the machine's clock; less is done for few fence moves where
        that is near, but not in a job of few parts: that takes a tenth of a second at most.
        """
        few = sum(p.count for p in self.problem.parts) <= LAST_HAND.timed
        until = inf if until is None or few or self.limits.work is not None else until - self._handing
        best = [h.best for h in self.searches]
        proven = self._all_tried and all(h.proven for h in self.searches)
        patterns = self._last_patterns(best, until - self._least_hand)
        if not self._all_tried:
            patterns = rescued(self._asked, patterns)
        stock = [self.problem.stock[p.stock] for p in patterns]
        money = sum(s.cost for s in stock if s.kind is Kind.FULL)
        bound = self._bound(money)
        short = self._missing(patterns)
        proven = (proven and money <= bound.full_cost) or (money == 0 and not self._all_tried)
        status = Status.SHORT if short else Status.PROVEN if proven else Status.FEASIBLE
        return self._finished(patterns, bound, status, unplaced(self._asked, short), until)

    def _finished(
        self,
        patterns: Sequence[Pattern],
        bound: Bound,
        status: Status,
        unplaced: Sequence[Unplaced] = (),
        until: float = inf,
    ) -> Plan:
        """Return patterns as a plan."""
        routed = self.problem.method is Method.ROUTER
        last_hand = finish_routed if routed else partial(finish, tidied=False, until=until)
        return last_hand(self._asked, patterns, bound=bound, status=status, unplaced=unplaced)


def _trees(layouts: Sequence[Candidate]) -> list[Pattern]:
    """Return the tree of each layout; those that give the same from the same have one tree, the best."""
    best: dict[object, Candidate] = {}
    for c in layouts:
        known = best.setdefault((c.stock, c.gives), c)
        if c.net < known.net:
            best[c.stock, c.gives] = c
    return [best[c.stock, c.gives].pattern for c in layouts]


def _clear(problem: Problem) -> Problem:
    """Return the problem where pieces with flaws are not to be had."""
    if not any(s.flaws for s in problem.stock):
        return problem
    stock = tuple(replace(s, count=0) if s.flaws else s for s in problem.stock)
    return replace(problem, stock=stock)


def _first(problem: Problem, *, seed: int) -> tuple[int, int, int]:
    """Return how many parts first answers leave out, what they cost and their net material."""
    whole = joined(problem)
    hunts = [Hunt(merge(m).model, seed + n, repeatable=True) for n, m in enumerate(shares(whole))]
    for hunt in hunts:
        hunt.start()
    best = [h.best.figures for h in hunts]
    known = sum(p.demand for h in hunts for p in h.model.parts)
    missing = sum(p.count for p in whole.parts) - known + sum(sum(b.missing) for b in best)
    return missing, sum(b.money for b in best), sum(b.net for b in best)
