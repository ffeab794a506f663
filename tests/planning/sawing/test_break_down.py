"""A sheet too large for one person is broken down by a rough cut first where that saves heavy cuts."""

from __future__ import annotations

import json

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.files import read_problem
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.aim import price
from stockyard.planning.sawing.finish import finish, plan_operations
from stockyard.planning.sawing.operations import Care, Operation
from stockyard.planning.sawing.tidy import split
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.verify import faults

ONE_PERSON = 914.4 * MM
"""36 in: a piece with both sides over it takes two people (common practice, no source)."""


def planned(heavy: int) -> tuple[Problem, Plan]:
    """Two strips of three panels from a trimmed sheet of 2440 x 1220; areas of `effort` are in mm²."""
    base = {
        "kerf": 3, "edge_trim": 5, "effort": {"fence": 30000, "cut": 10000, "heavy": heavy},
        "stock": [{"id": "s", "kind": "full", "material": "m", "length": 2440, "width": 1220, "grain": True}],
        "parts": [{"id": "panel", "length": 700, "width": 560, "count": 6}],
    }  # fmt: skip
    problem, _ = read_problem(json.dumps(base))
    length, width = problem.stock[0].usable
    panels = [Node(700 * MM, 560 * MM, part=0)] * 3
    strips = [split(Axis.CROSSCUT, length, 560 * MM, panels, problem.kerf)] * 2
    pattern = Pattern(0, split(Axis.RIP, length, width, strips, problem.kerf))
    plan = finish(problem, [pattern], bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)
    assert faults(problem, plan) == ()
    return problem, plan


def cuts(problem: Problem, plan: Plan) -> tuple[Operation, ...]:
    (every,) = plan_operations(problem, plan)
    return every


def two_people(every: tuple[Operation, ...]) -> int:
    return sum(min(o.run, o.reach) > ONE_PERSON for o in every)


def test_light_work_trims_the_sheet_whole() -> None:
    every = cuts(*planned(0))
    assert every[0].care is Care.TRIM
    assert two_people(every) > 1


def test_dear_heavy_cuts_break_the_sheet_down_first() -> None:
    """One rough rip by two people, then each half is trimmed to its size by one person."""
    problem, plan = planned(60000)
    every = cuts(problem, plan)
    assert every[0].care is Care.ROUGH
    assert two_people(every) == 1
    sizes = {(o.way, o.figure) for o in every if o.care is Care.EXACT}
    assert sizes == {("RIP", 560 * MM), ("CROSS", 700 * MM)}


def test_the_way_that_is_sawn_is_the_cheaper_one() -> None:
    """At every price of a heavy cut: no dearer than the way that is best at any other price."""
    every = [planned(heavy) for heavy in (0, 10000, 25000, 60000)]
    for problem, plan in every:
        assert price(problem, plan) == min(price(problem, other) for _, other in every)
