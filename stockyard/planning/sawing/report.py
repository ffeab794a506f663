"""The plain facts of a plan: what is pulled, drawn and bought, and where the material goes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from stockyard.effort import Seconds
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Kind, Method, Problem
from stockyard.planning.sawing.aim import path_of
from stockyard.planning.sawing.finish import moves_of, plan_studied


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What a plan does. Areas are ticks², money is in steps of problem.MONEY.

    `drawn` full pieces are on the rack, `bought` ones are not; `money` is for both, `to_pay` for those
    bought. `path` is how far the router runs (ticks). `stock_area` = `parts_area` + `back_area` (leftovers
    kept) + `lost_area` (sawdust, trims, scrap).
    """

    parts: int
    missing: int
    offcuts: int
    drawn: int
    bought: int
    money: int
    to_pay: int
    to_move: int
    cuts: int
    heavy: int
    rests: int
    fence_moves: int
    leftovers: int
    stock_area: int
    parts_area: int
    back_area: int
    path: int = 0

    def seconds(self, each: Seconds) -> int:
        """Return how long the job takes at racks, saw and router."""
        handling = each.pull * (self.offcuts + self.drawn + self.bought) + each.dig * self.to_move
        sawing = each.fence * self.fence_moves + each.cut * self.cuts + each.heavy * self.heavy
        routing = each.path * self.path // (1000 * TICKS_PER_MM)
        return handling + sawing + each.rest * self.rests + routing

    @property
    def lost_area(self) -> int:
        """What becomes sawdust and scrap."""
        return self.stock_area - self.parts_area - self.back_area

    @property
    def share_used(self) -> Fraction:
        """Parts' share of what is not put back, 0 to 1."""
        spent = self.stock_area - self.back_area
        return Fraction(self.parts_area, spent) if spent else Fraction(0)


def facts(problem: Problem, plan: Plan) -> Facts:
    """Return the facts of `plan`, recomputed from its layouts."""
    stock = {s.id: s for s in problem.stock}
    every = plan_studied(problem, plan)
    pieces = [stock[layout.stock] for layout in plan.layouts]
    full = [p for p in pieces if p.kind is Kind.FULL]
    bought = [p for p in full if p.count is None]
    placed = [p for layout in plan.layouts for p in layout.parts]
    back = [left for layout in plan.layouts for left in layout.leftovers]
    return Facts(
        parts=len(placed),
        missing=sum(u.count for u in plan.unplaced),
        offcuts=len(pieces) - len(full),
        drawn=len(full) - len(bought),
        bought=len(bought),
        money=sum(p.cost for p in full),
        to_pay=sum(p.cost for p in bought),
        to_move=sum(p.dig for p in pieces),
        cuts=sum(len(layout.cuts) for layout in plan.layouts),
        heavy=sum(o.heavy for own, _ in every for o in own),
        rests=sum(len(rests) for x, (_, rests) in zip(plan.layouts, every, strict=True) if x.cuts),
        fence_moves=moves_of(problem, plan, [own for own, _ in every]),
        leftovers=len(back),
        stock_area=sum(p.area for p in pieces),
        parts_area=sum(p.dx * p.dy for p in placed),
        back_area=sum(left.dx * left.dy for left in back),
        path=path(problem, plan),
    )


def path(problem: Problem, plan: Plan) -> int:
    """Return how far the router runs (ticks), 0 at a saw."""
    return sum(path_of(problem, x) for x in plan.layouts) if problem.method is Method.ROUTER else 0
