"""Ask the planner one question: in a share of the limits, under the shop's aim, with tags to its answer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from stockyard.desk.questions import AT_SAW, Question
from stockyard.desk.whole_job import WholeJob
from stockyard.planning.child import plan_in_child
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.report import facts
from stockyard.settings import WAIT

# A full piece on the rack counts this little beside one that must be bought: small enough for a rackful.
_RACK_SHARE = 1000
# Share of the time that all questions get alike: to prove that two parts need no more takes its moment too.
_ALIKE = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a plan is to be made: limits for all questions together, and who is told of progress.

    `aim` may change what is aimed at, never what is valid. `again` are the limits where a plan is only
    mended, None the same; `anew` makes a wholly new plan, whatever cards are in hand. `wait` is what a
    second's wait is worth, in fetched pieces.
    """

    limits: Limits
    again: Limits | None = None
    anew: bool = False
    seed: int = 0
    report: WholeJob | None = None
    stop: Callable[[], bool] | None = None
    compare: bool = True
    aim: Callable[[Problem], Problem] | None = None
    wait: Fraction = WAIT

    @property
    def is_stopped(self) -> bool:
        """Whether the user has stopped it."""
        return self.stop is not None and self.stop()


def fresh(question: Question, asked: Asked, share: float) -> tuple[Problem, Plan]:
    """Answer a question from the ground up; what lies at the saw already is fetched for nothing."""
    at_saw = {row for row, every in question.pieces.items() if every[0].state in AT_SAW}
    return tagged(question, ask(question.problem, asked, share, at_saw))


def tagged(question: Question, plan: Plan) -> tuple[Problem, Plan]:
    """Return problem and plan with a row for every piece: on-hand rows by tag, the nearest piece first."""
    rows = {s.id: s for s in question.problem.stock}
    used: Counter[str] = Counter()
    layouts = []
    for layout in plan.layouts:
        behind = question.pieces.get(layout.stock)
        name = behind[used[layout.stock]].tag if behind else layout.stock
        used[layout.stock] += 1
        layouts.append(replace(layout, stock=name))
    stock = []
    for row in question.problem.stock:
        pieces = question.pieces.get(row.id)
        if pieces is None:
            stock.append(row)
        else:
            stock.extend(replace(rows[row.id], id=p.tag, count=1) for p in pieces)
    return replace(question.problem, stock=tuple(stock)), replace(plan, layouts=tuple(layouts))


def share_of(question: Question, every: Sequence[Question]) -> float:
    """Return the share of the time that a question gets: some anyway, the rest by how many parts it has."""
    sizes = [sum(p.count for p in q.problem.parts) for q in every]
    own = sum(p.count for p in question.problem.parts)
    return _ALIKE / len(every) + (1 - _ALIKE) * own / sum(sizes)


def part_of(limits: Limits, share: float) -> Limits:
    """Return limits for a share of the time or of the work."""
    return replace(
        limits,
        seconds=limits.seconds and limits.seconds * share,
        work=None if limits.work is None else round(limits.work * share),
    )


def ask(problem: Problem, asked: Asked, share: float, at_saw: Collection[str] = ()) -> Plan:
    """Answer a problem within a share of the limits, under the shop's aim; `at_saw`: rows that lie there."""
    limits = replace(part_of(asked.limits, share), second=round(problem.effort.pull * asked.wait))
    aimed = _saw_first(_rack_first(asked.aim(problem) if asked.aim else problem), at_saw)
    report = asked.report.of(problem) if asked.report else None
    stop = asked.stop
    if asked.is_stopped:  # what was not begun by then gets a first plan
        limits, stop = Limits(seconds=0.0), None
    plan = plan_in_child(aimed, limits, report, seed=asked.seed, stop=stop)
    if asked.aim is not None:
        # What was proved under another aim says nothing about the shop's own.
        return replace(plan, status=unproven(plan), bound=Bound(0, 0, ""))
    if plan.status is Status.PROVEN:
        says = "no plan buys less, nor draws less from the racks than this one"
        return replace(plan, bound=Bound(facts(problem, plan).money, plan.bound.stock_area, says))
    return replace(plan, bound=replace(plan.bound, says=""))


def unproven(plan: Plan) -> Status:
    """Return the status of a plan of which nothing is proved."""
    return Status.SHORT if plan.unplaced else Status.FEASIBLE


def _rack_first(problem: Problem) -> Problem:
    """Return the problem with full pieces on the racks nearly free: they are paid for already.

    Money to be spent comes first, then what the pieces drawn are worth. No plan is worth less in full
    than it costs here, so a bound on this money is one on the full money too.
    """
    return replace(
        problem,
        stock=tuple(s if s.count is None else replace(s, cost=s.cost // _RACK_SHARE) for s in problem.stock),
    )


def _saw_first(problem: Problem, at_saw: Collection[str]) -> Problem:
    """Return the problem with what lies on the racks farther away, where something lies at the saw.

    To take it instead costs carrying both ways.
    """
    effort = problem.effort
    if not at_saw or not effort.dig:
        return problem
    both_ways = round(2 * effort.pull / effort.dig)
    far = (
        s if s.count is None or s.id in at_saw else replace(s, dig=s.dig + both_ways) for s in problem.stock
    )
    return replace(problem, stock=tuple(far))
