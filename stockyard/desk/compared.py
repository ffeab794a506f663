"""Quick plans that a plan is compared with: from full pieces alone, and with matched sets split."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stockyard.desk.ask_planner import Asked, ask, part_of, share_of
from stockyard.desk.joined_plan import facts_of, joined, joined_problem
from stockyard.desk.questions import Question
from stockyard.kinds import Kind
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.report import Facts, facts

# Share of the time that goes into the plan without offcuts, which is only for comparison.
_QUICK = 0.2
# From so many parts on it takes all of it, which the plan itself then does without.
_LARGE = 300


def is_from_full(problem: Problem, plan: Plan) -> bool:
    """Whether a plan of all parts takes no offcut, so that it tells what full pieces alone come to."""
    kinds = {s.id: s.kind for s in problem.stock}
    return not plan.unplaced and all(kinds[layout.stock] is Kind.FULL for layout in plan.layouts)


def left_for_plan(every: Sequence[Question], asked: Asked) -> float:
    """Return the share of the limits that a plan may take itself, so that both keep within them together."""
    parts = sum(p.count for q in every for p in q.problem.parts)
    racked = any(s.kind is Kind.OFFCUT for q in every for s in q.problem.stock)
    if not asked.compare or asked.limits.seconds is None or parts < _LARGE or not racked:
        return 1.0
    return 1 / (1 + _QUICK)


def _quick(asked: Asked, share: float = 1.0) -> Asked:
    """Return what is asked for a quick plan to compare with, of which only the money is told."""
    return replace(
        asked, report=None, limits=replace(part_of(asked.limits, share * _QUICK), money_alone=True)
    )


def without_offcuts(every: Sequence[Question], asked: Asked, share: float) -> Facts | None:
    """Return the facts of a quick plan from full pieces alone; a `share` of the limits was the plan's."""
    quick = _quick(asked, share)
    problems = [q.without_offcuts() for q in every]
    plans = [ask(p, quick, share_of(q, every)) for p, q in zip(problems, every, strict=True)]
    whole, plan = joined_problem(problems), joined(plans, [q.title for q in every])
    return None if plan.unplaced else facts_of(whole, plan, zip(problems, plans, strict=True))


def split(every: Sequence[Question], asked: Asked, problem: Problem, plan: Plan) -> Facts | None:
    """Return the facts of a quick plan with all sets split, where a set found no piece and its parts do."""
    left_out = {u.part for u in plan.unplaced}
    in_sets = {m for group in problem.groups for m in group.members}
    if not left_out & in_sets:
        return None
    quick = _quick(asked)
    problems = [replace(q.problem, groups=()) for q in every]
    loose = [ask(p, quick, share_of(q, every)) for p, q in zip(problems, every, strict=True)]
    apart = joined(loose, [q.title for q in every])
    return None if {u.part for u in apart.unplaced} & in_sets else facts(joined_problem(problems), apart)
