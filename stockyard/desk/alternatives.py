"""Up to three plans for one job that differ for a reason, side by side.

Each comes from the planner with its aim changed; all are then judged by the shop's own figures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Generic, Protocol, TypeVar

from stockyard.desk.ask_planner import Asked
from stockyard.desk.plan_job import Answer, plan_job
from stockyard.effort import FREE
from stockyard.kinds import Kind
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.child import at_hand
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.aim import score
from stockyard.yard.model import Job
from stockyard.yard.store import Yard

# Under "fewest pieces" one more piece pulled must save this much material: more than any sheet.
_DEAR_PULL = 20_000_000 * TICKS_PER_MM**2
# Under "largest leftover" worth rises up to this area, so that one large piece beats any split of it.
_LARGE = 6_000_000 * TICKS_PER_MM**2


Change = Callable[[Problem], Problem]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What a person compares. Areas in ticks², money in steps; sizes of the largest leftover in ticks."""

    missing: int
    full_pieces: int
    money: int
    to_buy: int
    pieces: int
    moved: int
    used_area: int
    kept_area: int
    largest: tuple[int, int]
    cuts: int

    @property
    def largest_area(self) -> int:
        """The area of the largest leftover, ticks²."""
        return self.largest[0] * self.largest[1]


@dataclass(frozen=True, slots=True)
class Reason:
    """What a plan is for, the problem that asks for it, and what it must win at: the least rank is best."""

    name: str
    change: Change
    rank: Callable[[Figures], tuple[int, ...]]


def _least_new(problem: Problem) -> Problem:
    return replace(problem, effort=FREE)


def _fewest_pieces(problem: Problem) -> Problem:
    """Full pieces on the racks count as paid for, so that opening one may save pulling many offcuts."""
    owned = tuple(s if s.count is None else replace(s, cost=0) for s in problem.stock)
    return replace(problem, stock=owned, effort=replace(problem.effort, pull=_DEAR_PULL))


def _largest_leftover(problem: Problem) -> Problem:
    return replace(problem, worth=replace(problem.worth, floor=0, whole_area=_LARGE))


REASONS = (
    Reason("least new material", _least_new, lambda f: (f.missing, f.money, f.to_buy, -f.kept_area)),
    Reason("fewest pieces to handle", _fewest_pieces, lambda f: (f.missing, f.pieces, f.moved, f.money)),
    Reason("largest leftover kept", _largest_leftover, lambda f: (f.missing, -f.largest_area, f.money)),
)


class Planned(Protocol):
    """A plan with the problem it answers."""

    @property
    def problem(self) -> Problem:
        """The shop's own problem."""

    @property
    def plan(self) -> Plan:
        """A valid plan of it."""


P = TypeVar("P", bound=Planned)


@dataclass(frozen=True, slots=True)
class Alternative(Generic[P]):
    """One plan, the reasons that lead to it, and its figures."""

    reasons: tuple[str, ...]
    answer: P
    figures: Figures


def figures(problem: Problem, plan: Plan) -> Figures:
    """Return a plan's figures under the shop's own problem."""
    stock = {s.id: s for s in problem.stock}
    pieces = [stock[layout.stock] for layout in plan.layouts]
    left = [(kept.dx, kept.dy) for layout in plan.layouts for kept in layout.leftovers]
    own = score(problem, plan)
    return Figures(
        missing=sum(own.missing),
        full_pieces=sum(p.kind is Kind.FULL for p in pieces),
        money=own.money,
        to_buy=own.bought,
        pieces=len(pieces),
        moved=sum(p.dig for p in pieces),
        used_area=sum(p.area for p in pieces),
        kept_area=sum(dx * dy for dx, dy in left),
        largest=max(left, key=lambda size: size[0] * size[1], default=(0, 0)),
        cuts=sum(len(layout.cuts) for layout in plan.layouts),
    )


def alternatives(planned: Callable[[Change], P]) -> tuple[Alternative[P], ...]:
    """Return for each reason the best plan seen, whichever aim it was made for; reasons may share one.

    `planned` makes a plan under a changed aim, which never changes what is valid; the problem it
    returns must be the shop's own, by which the plan is judged.
    """
    seen: dict[Figures, P] = {}
    for reason in REASONS:
        answer = planned(reason.change)
        seen.setdefault(figures(answer.problem, answer.plan), answer)
    won: dict[Figures, tuple[str, ...]] = {}
    for reason in REASONS:
        best = min(seen, key=reason.rank)
        won[best] = (*won.get(best, ()), reason.name)
    return tuple(Alternative(names, seen[key], key) for key, names in won.items())


@at_hand()
def compare_job(yard: Yard, job: Job, asked: Asked) -> tuple[Alternative[Answer], ...]:
    """Return up to three plans for a job, each made within `asked`'s limits. Nothing is stored.

    Raises:
        BadInput, Refused: as `plan_job`.
    """
    return alternatives(lambda change: plan_job(yard, job, replace(asked, aim=change, compare=False)))
