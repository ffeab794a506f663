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


def is_from_full(problem: Problem, plan: Plan) -> bool:
    """Whether a plan of all parts takes no offcut, so that it tells what full pieces alone come to."""
    kinds = {s.id: s.kind for s in problem.stock}
    return not plan.unplaced and all(kinds[layout.stock] is Kind.FULL for layout in plan.layouts)


def _quick(asked: Asked) -> Asked:
    """Return what is asked for a quick plan to compare with, of which only the money is told."""
    return replace(asked, report=None, limits=replace(part_of(asked.limits, _QUICK), money_alone=True))


def without_offcuts(every: Sequence[Question], asked: Asked) -> Facts | None:
    """Return the facts of a quick plan from full pieces alone."""
    quick = _quick(asked)
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
