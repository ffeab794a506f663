"""Large jobs: a plan of patterns, each cut many times, from the linear programme rounded down and dived into.

With thousands of parts choosing layouts is a cutting-stock problem whose linear relaxation is nearly tight
(Gilmore and Gomory 1961). Patterns are drawn from tables solved at its prices (`supply.py`); what the optimum
takes whole is fixed as often as it says, the rest is priced anew (residual rounding, Waescher and Gau 1996).
Before that the best patterns are taken one after the other, each as often as it goes (Haessler 1971). A plan
is then bettered by planning some layouts again (`remainder.py`). The numbers are in `manner.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from math import inf
from random import Random
from time import monotonic

from stockyard.planning.bounds.columns import lagrangian
from stockyard.planning.bounds.piececuts import PieceCut
from stockyard.planning.choosing.answer import judge
from stockyard.planning.hunting.manner import Manner
from stockyard.planning.hunting.remainder import completed
from stockyard.planning.hunting.supply import Drawn, Supply
from stockyard.planning.model import UNLIMITED, Candidate, Model
from stockyard.planning.programme import Programme
from stockyard.planning.tables.pricing import Layout

NOTHING = 1e-6
MANY = 1 << 30


@dataclass(frozen=True, slots=True)
class Made:
    """Layouts for most parts of a model, and cuts in piece counts that every plan of it obeys."""

    layouts: list[Candidate]
    cuts: list[PieceCut]


class Wholesale:
    """The linear programme of one large model, and dives into it. Money decides, then stock area."""

    def __init__(
        self, model: Model, seed: int, stop: Callable[[], bool], manner: Manner | None = None
    ) -> None:
        """`stop` is asked between and in pricings."""
        self.model, self._stop = model, stop
        self._random, self._manner = Random(seed), manner or Manner()
        self._supply = Supply(model, stop)
        dearest = max(s.money for s in model.stock) or 1
        largest = max(s.area for s in model.stock)
        self._costs = [s.money / dearest + 0.05 * s.area / largest for s in model.stock]
        areas = [p.length * p.width for p in model.parts]
        rates = [c / (s.length * s.width) for c, s in zip(self._costs, model.stock, strict=True)]
        self._shares = [self._last_rate(rates) * a for a in areas]
        self._programme = Programme(model)
        self._programme.price_each_absent(self._manner.absent * max(rates) * a for a in areas)
        self._layouts: list[Layout] = []
        self._usable: list[bool] = []
        self._known: set[tuple[int, tuple[tuple[int, int], ...]]] = set()
        self._demand = [p.demand for p in model.parts]
        self._counts = [s.count for s in model.stock]
        self._proved: list[tuple[float, PieceCut]] = []

    @property
    def cuts(self) -> list[PieceCut]:
        """The cuts that the tables proved, by the bound that each gives alone, the best last."""
        return [cut for _, cut in sorted(self._proved, key=lambda pair: pair[0])]

    def _last_rate(self, rates: Sequence[float]) -> float:
        """Return what the area costs that is needed last, when the cheapest is taken first."""
        need = sum(p.demand * p.length * p.width for p in self.model.parts)
        for rate, s in sorted(zip(rates, self.model.stock, strict=True), key=lambda pair: pair[0]):
            need -= s.length * s.width * s.count
            if s.count == UNLIMITED or need <= 0:
                return rate
        return max(rates)

    def add(self, layouts: Iterable[Layout]) -> int:
        """Take layouts in; return how many are new."""
        before = len(self._layouts)
        for c in layouts:
            key = (c.stock, c.gives)
            if c.gives and key not in self._known and len(self._layouts) < self._manner.most_columns:
                self._known.add(key)
                self._programme.add(c.stock, c.gives, self._costs[c.stock])
                self._layouts.append(c)
                self._usable.append(True)
        return len(self._layouts) - before

    def plan(self, team: ThreadPoolExecutor, seconds: float | None) -> list[Candidate]:
        """Return layouts that place all parts, or most of them when time is up; none for very many kinds.

        Without `seconds` nothing depends on the clock.
        """
        begun, manner = monotonic(), self._manner
        if len(self.model.parts) > manner.most_kinds or self._stop():
            return []
        self._ask([p.demand for p in self.model.parts], [s.count for s in self.model.stock])
        until = inf if seconds is None else begun + manner.pricing * seconds
        self._generate(team, until, manner.first_rounds if seconds is None else MANY)
        self._ask(self._demand, self._counts)  # from here on patterns keep to what is wanted
        fixed = self._dive(team, inf if seconds is None else begun + seconds)
        return self._made([*fixed, *self._one_by_one(team, inf)])

    def greedy(self, team: ThreadPoolExecutor, until: float) -> list[Candidate]:
        """Return layouts for all parts, or most of them when time is up, one after the other."""
        self._ask([p.demand for p in self.model.parts], [s.count for s in self.model.stock], limit=False)
        fixed = self._one_by_one(team, until)
        self.add(fixed)
        return self._made(fixed)

    def _one_by_one(self, team: ThreadPoolExecutor, until: float) -> list[Layout]:
        """Take good patterns of the parts left, each as often as it goes, until none is left."""
        manner, near = self._manner, self._manner.near
        begun, whole = monotonic(), self._left_over()
        fixed: list[Layout] = []
        while any(self._demand) and not self._stop() and monotonic() < until:
            before = self._left_over()
            worths = [
                [a**bias if d else 0.0 for a, d in zip(self._shares, self._demand, strict=True)]
                for bias in manner.biases
            ]
            taken = self._best_of([c for d in self._drawn(team, worths) for _, c in d.columns], near)
            if not taken:
                break
            fixed += taken
            self._supply.ask(self._demand, self._counts)
            left, now = self._left_over(), monotonic()
            few = before - left < manner.few * before
            late = left * (now - begun) > (whole - left) * (until - now)
            near += -manner.nearer if few or late else manner.nearer
            near = min(manner.near, max(manner.least_near, near))
        return fixed

    def _left_over(self) -> float:
        """Return what the parts still wanted come to, by area."""
        return sum(a * d for a, d in zip(self._shares, self._demand, strict=True))

    def _best_of(self, found: Sequence[Layout], near: float) -> list[Layout]:
        """Take those that hold most for what they cost off the demand; return them."""
        worth = [
            sum(a * self._shares[k] for k, a in c.gives) / self._costs[c.stock] if c.gives else 0.0
            for c in found
        ]
        least = near * max(worth, default=0.0)
        order = sorted((n for n, w in enumerate(worth) if w and w >= least), key=lambda n: (-worth[n], n))
        taken: list[Layout] = []
        for n in order:
            while self._fits(found[n]):
                taken.append(found[n])
                self._take(found[n])
        return taken

    def _generate(self, team: ThreadPoolExecutor, until: float, rounds: int) -> None:
        """Add columns until time is up, none helps, or the bound is near the cost.

        Where none helps at smoothed prices and the bound is no better either, patterns beyond the demand are
        let in, then the prices are smoothed less.
        """
        manner, centre, best, share = self._manner, list(self._shares), 0.0, 1.0
        may_go_beyond, beyond = len(self.model.stock) <= manner.most_beyond, False
        cost = self._programme.solve()
        for n in range(rounds):
            if cost == inf or self._stop() or monotonic() > until or cost <= best * (1 + manner.tight):
                break
            duals, before = self._programme.duals(), best
            worths = [
                [share * s * c + (1 - share * s) * y for c, y in zip(centre, duals.parts, strict=True)]
                for s in (manner.smooth if best else (1.0, 0.3) if not n else (0.0, 0.3))
            ]
            found = self._drawn(team, worths, beyond=beyond)
            for worth, drawn in zip(worths, found, strict=True):
                bound = self._learn(drawn)
                if bound > best:
                    best, centre = bound, worth
            if self._helpful(found, duals.parts, duals.rents) or best > before:
                share = 1.0
            elif may_go_beyond and not beyond:
                beyond = True
            elif share:
                share = share * manner.less_smooth if share > manner.least_smooth else 0.0
            else:
                break
            cost = self._programme.solve()

    def _learn(self, drawn: Drawn) -> float:
        """Keep the cut that a table proves; return the bound it gives."""
        if drawn.cut is None:
            return 0.0
        best = [h / drawn.scale for h in drawn.cut.holds]
        bound = lagrangian(drawn.cut.need / drawn.scale, best, self._costs, self._counts)
        self._proved.append((bound, drawn.cut))
        return bound

    def _helpful(self, found: Sequence[Drawn], parts: Sequence[float], rents: Sequence[float]) -> int:
        """Add the columns that cost less than their parts are worth; return how many."""
        return self.add(
            c
            for drawn in found
            for _, c in drawn.columns
            if sum(a * parts[k] for k, a in c.gives) > self._costs[c.stock] + rents[c.stock] + NOTHING
        )

    def _drawn(
        self, team: ThreadPoolExecutor, worths: Sequence[Sequence[float]], *, beyond: bool = False
    ) -> list[Drawn]:
        """Draw patterns at each of these worths, side by side."""
        usable = [j for j, n in enumerate(self._counts) if n]
        tries = max(self._manner.least_tries, self._manner.tries // max(1, len(usable)))
        rows = dict.fromkeys(usable, tries)
        seeds = [self._random.randrange(MANY) for _ in worths]
        draw = partial(self._supply.draw, rows=rows, loss=self._manner.loss, beyond=beyond)
        return list(team.map(lambda w, s: draw(w, seed=s), worths, seeds))

    def _dive(self, team: ThreadPoolExecutor, until: float) -> list[Layout]:
        """Fix layouts until all parts are placed, nothing is taken, or time is up."""
        fixed: list[Layout] = []
        begun, steps, at_once = monotonic(), 0, self._manner.at_once
        while any(self._demand) and not self._stop() and monotonic() < until:
            chosen = self._chosen(at_once)
            if not chosen:
                break
            fixed += chosen
            self._ask(self._demand, self._counts)
            for _ in range(self._manner.rounds if any(self._demand) else 0):
                duals = self._programme.duals()
                wanted = [y if d else 0.0 for y, d in zip(duals.parts, self._demand, strict=True)]
                mean = [(y + a) / 2 if y else 0.0 for y, a in zip(wanted, self._shares, strict=True)]
                if not self._helpful(self._drawn(team, (wanted, mean)), duals.parts, duals.rents):
                    break
                self._programme.solve()
            steps += 1
            if until < inf:  # so much at once that the steps there is time for come to the end
                more = (until - monotonic()) / ((monotonic() - begun) / steps)
                at_once = max(self._manner.at_once, 1 - self._manner.small ** (1 / max(1.0, more)))
        return fixed

    def _made(self, fixed: Sequence[Layout]) -> list[Candidate]:
        """Return columns as layouts, equal ones as the same."""
        made = {id(c): self._supply.candidate(c) for c in fixed}
        return [made[id(c)] for c in fixed]

    def _chosen(self, at_once: float) -> list[Layout]:
        """Return what the optimum takes whole, or some of what it takes most of; take it off the demand."""
        usable = [n for n, use in enumerate(self._usable) if use]
        taken = zip(self._programme.taken(usable), usable, strict=True)
        order = sorted(((x, n) for x, n in taken if x > NOTHING), reverse=True)
        many = max(1.0, at_once * sum(x for x, _ in order))
        chosen: list[Layout] = []
        for x, n in order:
            if len(chosen) >= many and x < self._manner.whole:
                continue
            for _ in range(max(1, int(x + 1 - self._manner.whole))):
                if not self._fits(self._layouts[n]):
                    break
                chosen.append(self._layouts[n])
                self._take(self._layouts[n])
        return chosen

    def _take(self, c: Layout) -> None:
        """Take a layout off what is wanted and what stock there is."""
        for k, a in c.gives:
            self._demand[k] -= a
        if self._counts[c.stock] != UNLIMITED:
            self._counts[c.stock] -= 1

    def _fits(self, c: Layout) -> bool:
        return self._counts[c.stock] != 0 and all(a <= self._demand[k] for k, a in c.gives)

    def _ask(self, demand: Sequence[int], counts: Sequence[int], *, limit: bool = True) -> None:
        """Set what is wanted, and which layouts may be used for it; `limit`: in the programme too."""
        self._demand, self._counts = list(demand), list(counts)
        self._supply.ask(demand, counts)
        if not limit:
            return
        self._programme.ask(self._demand, self._counts)
        for n, c in enumerate(self._layouts):
            use = self._fits(c)
            if use != self._usable[n]:
                self._usable[n] = use
                self._programme.allow(n, use)
        self._programme.solve()


def wholesale(
    model: Model,
    team: ThreadPoolExecutor,
    seed: int,
    seconds: float | None,
    stop: Callable[[], bool],
    tell: Callable[[Sequence[Candidate]], None] = lambda _: None,
) -> Made:
    """Return layouts for the parts of a model, the best of two ways; `tell` is given those of the first.

    They may leave parts out when time is up, or where no pattern was found for them.
    """
    begun = monotonic()
    planner, manner = Wholesale(model, seed, stop), Manner()
    share = manner.greedy if len(model.stock) <= manner.greedy_rows else manner.greedy_among_rows
    first = planner.greedy(team, inf if seconds is None else begun + share * seconds)
    tell(first)
    left = None if seconds is None else max(0.0, seconds - (monotonic() - begun))
    second = planner.plan(team, left)
    both = [
        judge(model, completed(model, layouts, seed, hasty=stop())) for layouts in (first, second) if layouts
    ]
    best = list(min(both, key=lambda a: a.figures).layouts) if both else []
    return Made(best, planner.cuts)
