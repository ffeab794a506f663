"""What no plan can beat: least money, least stock, least net; and that in plain words.

Each bound is the least cost of whole piece counts that obey every cut found (`piececuts`), whether
it came from a dual feasible function or from pricing in column generation.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from math import gcd, isinf
from time import monotonic

from stockyard.planning.bounds import dff
from stockyard.planning.bounds.columns import Generation, never
from stockyard.planning.bounds.dive import dive, ordered_costs
from stockyard.planning.bounds.freely import FreePricer
from stockyard.planning.bounds.piececuts import MANY_ROWS, PieceCut, least
from stockyard.planning.model import Candidate, Model
from stockyard.planning.plan import Bound
from stockyard.planning.problem import MONEY, Kind, Method, Problem
from stockyard.planning.tables.pricing import Layout, Pricer

# Cuts kept for the programmes over piece counts: the last of each phase of column generation.
KEPT_CUTS = 40
# The area bound is good enough when it is this close to the linear optimum.
AREA_TOLERANCE = 0.001
# Pricings of one phase: this many steps of the dynamic programme, some seconds, but not too few.
STEPS, LEAST_PRICINGS = 2e10, 40
# The same where parts lie anywhere and each pricing is a question to CP-SAT.
FREE_PRICINGS = 12
# From this many of each part on a plan is made by diving.
MANY_ALIKE = 3
# Seconds of each small programme while better cuts are still looked for.
GLANCE = 0.3
# Seconds between two times that what is proved is told while pricing goes on.
NEWS = 1.0
# A linear optimum that leaves out more than this many parts leaves some out.
NONE_MISSING = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelBound:
    """Proved of every plan that places all parts of one model.

    money: least for full pieces. bought: of it, least for pieces that must be bought. area: least
    stock area (ticks², real area of the pieces used). area_at_money, net: least area and least net
    (level 3) among plans that spend no more than `money`; above all plans when there is none such.
    possible: False when it is proved that not all parts can be placed (the figures are then 0).
    exact: column generation came to its end, so that more time would not raise the bounds.
    candidates: layouts met on the way. start: layouts of a whole plan (or most of one), where many
    parts are alike and column generation is good at finding one.
    """

    money: int
    bought: int
    area: int
    area_at_money: int
    net: int
    possible: bool
    exact: bool
    candidates: tuple[Candidate, ...] = ()
    start: tuple[Candidate, ...] = ()

    def with_what_held(self, before: ModelBound) -> ModelBound:
        """Return it where no figure is less than one that was known `before`, if all parts can be placed.

        What was proved of plans for less money says nothing of those that may spend more.
        """
        if not (self.possible and before.possible):
            return self
        area, net, at_money = max(self.area, before.area), self.net, self.area_at_money
        if before.money >= self.money:
            net, at_money = max(net, before.net), max(at_money, before.area_at_money)
        return replace(self, area=area, area_at_money=max(area, at_money), net=net)


def bound_of(
    model: Model,
    *,
    seconds: float,
    work: int | None = None,
    tell: Callable[[ModelBound], None] | None = None,
    stop: Callable[[], bool] = never,
    start: Iterable[Candidate] = (),
    known: Sequence[PieceCut] = (),
    spends: int | None = None,
) -> ModelBound:
    """Return what no plan of `model` can beat, as far as it can be proved in `seconds`.

    `tell` is given what is known on the way; `stop` is asked between pricings. `work` limits the
    pricings of each phase of column generation; there is a limit on them anyway, so that a long time
    allowed does not make the answer depend on the clock. Good layouts to `start` from save pricings, and so
    do cuts `known` to hold. `spends`: the money of a plan of all parts that is known.
    """
    deadline = monotonic() + seconds
    if model.problem.method is not Method.SAW:
        freely = Generation(model, FreePricer(model), stop)
        few = min(work or FREE_PRICINGS, FREE_PRICINGS)
        return Prover(model, freely, deadline, few, tell, known).bound(spends)
    pricer = Pricer(model)
    enough = max(LEAST_PRICINGS, int(STEPS // pricer.steps))
    generation = Generation(model, pricer, stop)
    for layout in start:
        generation.master.add(layout)
    found = Prover(model, generation, deadline, min(work or enough, enough), tell, known).bound(spends)
    wanted = sum(p.demand for p in model.parts)
    if not found.possible or not pricer.is_exact or wanted < MANY_ALIKE * len(model.parts):
        return found
    if tell:
        tell(found)
    return replace(found, start=dive(generation, ordered_costs(model), deadline))


def plan_bound(problem: Problem, bounds: Sequence[ModelBound], money: int) -> Bound:
    """Return the bound of a whole problem, in figures and words, for a plan that costs `money`.

    `bounds` are those of its shares. The least area is that of plans of the least money when the
    plan has it, otherwise that of any plan.
    """
    if not all(b.possible for b in bounds):
        return Bound(0, 0, "not all parts can be cut from this stock")
    least_money = sum(b.money for b in bounds)
    area = sum(b.area_at_money if money <= least_money else b.area for b in bounds)
    return Bound(least_money, area, says(problem, least_money, money))


def says(problem: Problem, least_money: int, money: int) -> str:
    """Return in words that no plan can spend less than `least_money`, and how much more `money` is."""
    full = [s for s in problem.stock if s.kind is Kind.FULL and s.cost > 0]
    costs = {s.cost for s in full}
    if not least_money:
        return "no full piece need be drawn" if money else "no full piece is needed, and none is used"
    if len(costs) > 1:
        needed = f"full pieces for {least_money / MONEY:.2f} are needed whatever you do"
    else:
        count = -(-least_money // costs.pop())
        many = "one full piece is" if count == 1 else f"{count} full pieces are"
        needed = f"{many} needed whatever you do"
    if money <= least_money:
        return needed
    return f"{needed}; this plan spends {(money - least_money) / MONEY:.2f} more than that"


def bound_by_area(model: Model) -> ModelBound:
    """Return what area alone proves, at once: the parts need the free pieces first, then the best value."""
    need = sum(p.demand * p.length * p.width for p in model.parts)
    free = sum(s.count * s.length * s.width for s in model.stock if not s.money and s.count > 0)
    boundless = any(not s.money and s.count < 0 for s in model.stock)
    short = 0 if boundless else max(0, need - free)
    paid = [s for s in model.stock if s.money]
    step = gcd(*(s.money for s in paid)) or 1
    money = min((-(-short * s.money // (s.length * s.width)) for s in paid), default=0)
    money = -(-money // step) * step
    kerf = model.problem.kerf
    area = min(-(-need * (s.area - s.pull) // (s.length * s.width)) for s in model.stock)
    parts = sum(p.demand * (p.length - kerf) * (p.width - kerf) for p in model.parts)
    return ModelBound(
        money=money, bought=max(0, money - _on_rack(model)), area=area, area_at_money=area,
        net=parts + min(s.pull for s in model.stock), possible=True, exact=False,
    )  # fmt: skip


def _on_rack(model: Model) -> int:
    """Return what all full pieces on the rack cost together."""
    return sum(s.money * s.count for s in model.stock if not s.to_buy)


class Prover:
    """Gathers cuts phase by phase and answers from all of them."""

    def __init__(
        self,
        model: Model,
        generation: Generation | None,
        deadline: float,
        work: int | None = None,
        tell: Callable[[ModelBound], None] | None = None,
        known: Sequence[PieceCut] = (),
    ) -> None:
        self.model, self.deadline, self.work, self._tell = model, deadline, work, tell
        self.settled = True
        self._told = monotonic()
        self._moneys = [s.money for s in model.stock]
        self._areas = [s.area - s.pull for s in model.stock]
        self._cuts = [*dff.cuts(model), *known[-KEPT_CUTS:]]
        self._columns: dict[Layout, None] = {}
        self._generation = generation

    def bound(self, spends: int | None = None) -> ModelBound:
        """Run all phases; that for money is over where a plan of all parts is known that spends nothing."""
        self._glance()
        if spends != 0 and self._phase(self._moneys, None, 0.0) > NONE_MISSING:
            self._phase([0] * len(self._moneys), None, 0.0)  # proves that some part must stay out
        self._glance()
        money = self.money(self._left())
        if not isinf(money):
            self._phase(self._areas, int(money), AREA_TOLERANCE)
        return replace(self.known(self._left()), candidates=self.candidates())

    def _glance(self) -> None:
        """Tell what is known so far."""
        if self._tell:
            self._tell(self.known(min(GLANCE, self._left())))
            self._told = monotonic()

    def _news(self) -> None:
        """Take over the cuts that are there by now, and tell what they prove, where that is quick."""
        assert self._generation is not None
        if len(self.model.stock) > MANY_ROWS and monotonic() - self._told > NEWS:
            self._cuts += self._generation.cuts[-KEPT_CUTS:]
            self._glance()

    def _left(self) -> float:
        stopped = self._generation is not None and self._generation.stop()
        return 0.0 if stopped else self.deadline - monotonic()

    def known(self, seconds: float) -> ModelBound:
        """Return what the cuts found so far prove, with `seconds` for each figure."""
        model, money = self.model, self.money(seconds)
        if isinf(money):
            return ModelBound(
                money=0, bought=0, area=0, area_at_money=0, net=0, possible=False, exact=True,
            )  # fmt: skip
        area, at_money = self.area(int(money), seconds)
        return ModelBound(
            money=int(money), bought=max(0, int(money) - _on_rack(model)), area=area, area_at_money=at_money,
            net=self.net(int(money), seconds), possible=True, exact=self.settled,
        )  # fmt: skip

    def raised(self, bound: ModelBound, money: int) -> ModelBound:
        """Return a bound for which more money is proved: what holds at that money is asked anew."""
        return replace(
            bound, money=money, bought=max(0, money - _on_rack(self.model)),
            area_at_money=max(bound.area, self.area(money, GLANCE)[1]), net=self.net(money, GLANCE),
        )  # fmt: skip

    def money(self, seconds: float) -> float:
        """Return the least money; infinity when not all parts can be placed."""
        return least(self.model, self._cuts, self._moneys, seconds=seconds)

    def area(self, money: int, seconds: float) -> tuple[int, int]:
        """Return the least area of any plan, and of plans that spend no more than `money`."""
        at_money = least(self.model, self._cuts, self._areas, money, seconds=seconds)
        whatever = int(least(self.model, self._cuts, self._areas, seconds=seconds))
        return whatever, whatever if isinf(at_money) else int(at_money)

    def net(self, money: int, seconds: float) -> int:
        """Return the least net: no leftover is worth more than its area, and every pull has its price."""
        model, kerf = self.model, self.model.problem.kerf
        parts = sum(p.demand * (p.length - kerf) * (p.width - kerf) for p in model.parts)
        ones = [1] * len(model.stock)
        pieces = least(model, self._cuts, ones, money, seconds=seconds)
        if isinf(pieces):
            pieces = least(model, self._cuts, ones, seconds=seconds)
        return parts + int(pieces) * min(s.pull for s in model.stock)

    def candidates(self) -> tuple[Candidate, ...]:
        """Return the columns of the linear optima as layouts."""
        if self._generation is None:
            return ()
        pricer = self._generation.pricer
        return tuple(pricer.candidate(c) for c in self._columns if pricer.exact(c))

    def _phase(self, costs: Sequence[int], money_at_most: int | None, tolerance: float) -> float:
        """Run column generation for one objective; return how many parts its optimum leaves out."""
        if self._generation is None or self._left() <= 0:
            self.settled &= self._generation is None
            return 0.0
        relaxed = self._generation.run(
            costs,
            money_at_most,
            deadline=self.deadline,
            work=self.work,
            step=gcd(*costs) or 1,
            tolerance=tolerance,
            guess=[p.length * p.width for p in self.model.parts] if costs is self._areas else (),
            tell=self._news,
        )
        self.settled &= relaxed.settled
        self._columns |= dict.fromkeys(c for c, _ in relaxed.taken)
        self._cuts += self._generation.cuts[-KEPT_CUTS:]
        self._generation.cuts.clear()
        return relaxed.missing
