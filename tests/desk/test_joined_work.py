"""Sheets and boards told as one job: every cut is in its order of work, one question after the other."""

from __future__ import annotations

from dataclasses import replace

from stockyard.desk.joined_plan import joined
from stockyard.desk.stored_layouts import Answered, rows_of, work_of
from stockyard.planning.plan import Bound, Status
from stockyard.planning.sawing.finish import fence_moves, finish
from tests.planning.trees import job


def test_what_was_planned_in_a_hurry_is_sawn_too() -> None:
    """The clock ran out for one of two questions: its pieces have no order of their own, and are counted."""
    problem, patterns = job(3, pieces=3, depth=3)
    known = {s.material: 1 for s in problem.stock}
    ordered = finish(problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE)
    hurried = replace(ordered, work=())
    for plans in ((hurried, ordered), (ordered, hurried)):
        every = [(n, c.step) for n, x in enumerate((*plans[0].layouts, *plans[1].layouts), 1) for c in x.cuts]
        whole = joined(plans, ["sheets", "boards"])
        assert sorted(whole.work) == every
        assert fence_moves(problem, whole) > fence_moves(problem, ordered)
        rows = [
            row
            for n, plan in enumerate(plans)
            for row in rows_of(
                Answered(problem, plan, known), first=1 + n * len(plan.layouts), question=n + 1
            )
        ]
        assert work_of(rows) == whole.work
