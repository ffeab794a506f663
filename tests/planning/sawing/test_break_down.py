"""A sheet too large for one person is broken down by a rough cut first where that saves heavy cuts."""

from __future__ import annotations

import json

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.files import read_problem
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.aim import price
from stockyard.planning.sawing.amid import parted
from stockyard.planning.sawing.finish import finish, plan_operations
from stockyard.planning.sawing.operations import Care, Operation
from stockyard.planning.sawing.tidy import split
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from stockyard.saws import Saws
from tests.bench.saw_count import count

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


def many_strips(heavy: int, width: int = 60, many: int = 12) -> tuple[Problem, Plan, str]:
    """Narrow strips off a trimmed sheet of 2440 x 1220, all of one width; areas of `effort` are in mm²."""
    base = {
        "kerf": 3, "edge_trim": 5, "effort": {"fence": 30000, "cut": 10000, "heavy": heavy},
        "stock": [{"id": "s", "kind": "full", "material": "m", "length": 2440, "width": 1220, "grain": True}],
        "parts": [{"id": "strip", "length": 2400, "width": width, "count": many}],
    }  # fmt: skip
    problem, _ = read_problem(json.dumps(base))
    length, across = problem.stock[0].usable
    strips = [Node(2400 * MM, width * MM, part=0)] * many
    inner = split(Axis.RIP, 2400 * MM, across, strips, problem.kerf)
    pattern = Pattern(0, split(Axis.CROSSCUT, length, across, [inner], problem.kerf))
    plan = finish(problem, [pattern], bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)
    assert faults(problem, plan) == ()
    return problem, plan, json.dumps(base)


def test_a_sheet_of_many_strips_is_parted_amid_them() -> None:
    """Strips of one width on both sides of one rough cut: two people part the sheet, one person rips."""
    problem, one_by_one, _ = many_strips(0)
    own, plan, text = many_strips(20000)
    before, after = two_people(cuts(problem, one_by_one)), two_people(cuts(own, plan))
    assert before >= 6
    assert after <= 3
    (rough,) = [o for o in cuts(own, plan) if o.care is Care.ROUGH and o.way == "RIP"]
    heights = sorted(p.y for p in plan.layouts[0].parts)
    assert heights[1] < rough.figure < heights[-2], "strips lie on both sides of it"
    assert {o.figure for o in cuts(own, plan) if o.care is Care.EXACT} == {60 * MM, 2400 * MM}
    assert price(own, plan) < price(own, one_by_one)
    assert count(text, plan_text(own, plan)).rests == 0, "every width is set by the fence"


def test_a_sheet_of_few_strips_is_ripped_as_it_is() -> None:
    own, plan, _ = many_strips(20000, width=280, many=4)
    problem, one_by_one, _ = many_strips(0, width=280, many=4)
    assert price(own, plan) <= price(own, one_by_one)
    assert len(cuts(own, plan)) <= len(cuts(problem, one_by_one)) + 1


def test_without_room_for_a_rough_cut_nothing_is_parted() -> None:
    """Strips that fill the sheet to the last kerf leave nothing to cut the last of them from."""
    strips = [Node(2000 * MM, 97 * MM, part=0)] * 10
    full = Node(2000 * MM, 997 * MM, axis=Axis.RIP, children=tuple(strips))
    assert parted(full, 3 * MM, Saws()) is full
