"""From a problem to a plan: first answers at once, then better ones until proof, limit or stop."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from time import monotonic

from stockyard.planning.bounds.bound import plan_bound
from stockyard.planning.explain import unplaced
from stockyard.planning.hunting.alike import merge, tell_apart
from stockyard.planning.hunting.hunt import SEARCHERS, Hunt
from stockyard.planning.hunting.routed import Routing
from stockyard.planning.limits import Improvement, Limits
from stockyard.planning.model import shares
from stockyard.planning.placing.finish import finish_routed
from stockyard.planning.plan import Plan, Status
from stockyard.planning.problem import Method, Problem
from stockyard.planning.sawing.finish import finish

# Seconds that the last hand on a plan takes for each part and for all, and the most of the time kept for it.
LAST_HAND, MOST_LAST_HAND, MOST_KEPT = 0.001, 0.3, 0.5

# Share of the limits that a routed job's search on cut trees may take; free placement begins from its plans.
SAWN_FIRST = 0.4


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
        self.problem, self.limits = problem, limits
        self._report, self._stop = report, stop
        self._begun = monotonic()
        self._work = 0
        self._kept = min(MOST_LAST_HAND, LAST_HAND * sum(p.count for p in problem.parts))
        self._last: object = None
        self._merged = [merge(m) for m in shares(problem)]
        self._share = SAWN_FIRST if problem.method is Method.ROUTER else 1.0  # of the limits, for the hunts
        repeatable = limits.work is not None
        self.hunts = [
            Hunt(m.model, seed + n, repeatable=repeatable, stop=stop) for n, m in enumerate(self._merged)
        ]
        self.searches: Sequence[Hunt | Routing] = self.hunts
        self._seed = seed

    def begin(self) -> None:
        """Make first answers."""
        for hunt in self.hunts:
            hunt.start()
        self._tell()
        for hunt in self.hunts:
            hunt.tell = self._tell

    def search(self) -> None:
        """Run all hunts until they are done or a limit is reached."""
        team = ThreadPoolExecutor(SEARCHERS)
        try:
            while not self._over() and self._turns(team):
                pass
            if self.problem.method is Method.ROUTER:
                self._place_freely(team)
        finally:
            for hunt in self.hunts:
                hunt.end()
            team.shutdown(wait=False, cancel_futures=True)

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
        return self._share * (seconds - min(self._kept, MOST_KEPT * seconds)) - (monotonic() - self._begun)

    def _over(self) -> bool:
        if self.limits.work is not None and self._work >= self._share * self.limits.work:
            return True
        return self._left() <= 0 or (self._stop is not None and self._stop())

    def _tell(self) -> None:
        """Report the answers of all hunts together when they are better than before."""
        best = [h.best.figures for h in self.searches]
        if self._report is None or best == self._last:
            return
        self._last = best
        self._report(
            Improvement(
                seconds=monotonic() - self._begun,
                missing=sum(sum(b.missing) for b in best) + self._hopeless(),
                money=sum(b.money for b in best),
                net=sum(b.net for b in best),
                pieces=sum(len(h.best.layouts) for h in self.searches),
            )
        )

    def _hopeless(self) -> int:
        """Return how many parts fit no stock at all."""
        known = sum(p.demand for h in self.hunts for p in h.model.parts)
        return sum(p.count for p in self.problem.parts) - known

    def plan(self) -> Plan:
        """Return the plan made of the best answers."""
        best = [h.best for h in self.searches]
        proven = all(h.proven for h in self.searches)
        patterns = tell_apart(self._merged, (c.pattern for answer in best for c in answer.layouts))
        missing = Counter({i: p.count for i, p in enumerate(self.problem.parts)})
        for pattern in patterns:
            missing.subtract(pattern.parts())
        short = +missing
        status = Status.SHORT if short else Status.PROVEN if proven else Status.FEASIBLE
        last_hand = finish_routed if self.problem.method is Method.ROUTER else finish
        return last_hand(
            self.problem,
            patterns,
            bound=plan_bound(
                self.problem, [h.bound for h in self.searches], sum(a.figures.money for a in best)
            ),
            status=status,
            unplaced=unplaced(self.problem, short),
        )
