"""Cuts that need not be exact stand at figures one sets quickly, and finished sizes are set after them."""

from __future__ import annotations

import json

import pytest

from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.files import read_problem
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.finish import fence_moves, finish, plan_operations
from stockyard.planning.sawing.operations import Care, Operation
from stockyard.planning.sawing.rough_cuts import STEPS
from stockyard.planning.sawing.tidy import split
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from tests.bench.saw_count import count
from tests.planning.sawing.test_break_down import cuts, many_strips
from tests.planning.trees import job, plan


def blocks(unit: str, one: float, sheet: tuple[float, float], kerf: float) -> tuple[Problem, Plan, str]:
    """A sheet parted across: a block of strips of three parts, the rest a leftover."""
    text = json.dumps({
        "unit": unit, "kerf": kerf,
        "stock": [{"id": "s", "kind": "full", "material": "m", "length": sheet[0], "width": sheet[1],
                   "grain": True}],
        "parts": [{"id": "part", "length": one, "width": one / 4, "count": 6}],
    })  # fmt: skip
    problem, _ = read_problem(text)
    length, width = problem.stock[0].usable
    part = problem.parts[0]
    leaf = Node(part.length, part.width, part=0)
    block = 3 * part.length + 2 * problem.kerf
    strip = split(Axis.CROSSCUT, block, part.width, [leaf] * 3, problem.kerf)
    inner = split(Axis.RIP, block, width, [strip] * 2, problem.kerf)
    pattern = Pattern(0, split(Axis.CROSSCUT, length, width, [inner], problem.kerf))
    made = finish(problem, [pattern], bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)
    assert faults(problem, made) == ()
    return problem, made, text


@pytest.mark.parametrize(
    ("unit", "one", "sheet", "kerf", "step"),
    [("mm", 501, (2440, 1220), 3.2, 5 * MM), ("in", 19.9375, (96, 48), 0.125, INCH // 4)],
)
def test_what_would_come_off_as_the_rest_is_set_after_a_round_rough_cut(
    unit: str, one: float, sheet: tuple[float, float], kerf: float, step: int
) -> None:
    problem, made, text = blocks(unit, one, sheet, kerf)
    (rough,) = [o for o in cuts(problem, made) if o.care is Care.ROUGH]
    exact = 3 * problem.parts[0].length + 2 * problem.kerf
    assert rough.figure % step == 0
    assert exact + problem.kerf + 3 * MM <= rough.figure <= exact + problem.kerf + 3 * MM + step
    sizes = {problem.parts[0].length, problem.parts[0].width}
    assert {o.figure for o in cuts(problem, made) if o.care is Care.EXACT} == sizes
    assert count(text, plan_text(problem, made)).rests == 0


def test_a_sheet_is_parted_at_a_round_figure() -> None:
    problem, made, _ = many_strips(20000)
    roughs = [o for o in cuts(problem, made) if o.care is Care.ROUGH]
    assert roughs
    assert all(o.figure % (5 * MM) == 0 for o in roughs)


def roughs_of(problem: Problem, made: Plan) -> list[Operation]:
    return [o for every in plan_operations(problem, made) for o in every if o.care is Care.ROUGH]


def test_rough_cuts_near_one_another_share_a_figure() -> None:
    """Two sheets broken down, one of them within a step of the other."""
    problem, patterns = two_sheets()
    made = finish(problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)
    assert faults(problem, made) == ()
    assert len({o.figure for o in roughs_of(problem, made)}) == 1
    assert fence_moves(problem, made) == 3


def two_sheets() -> tuple[Problem, list[Pattern]]:
    """Blocks of parts of one width, 1508.4 and 1514.4 long, each from a sheet with a large leftover."""
    text = json.dumps({
        "kerf": 3.2,
        "stock": [{"id": "s", "kind": "full", "material": "m", "length": 2440, "width": 400, "grain": True,
                   "count": 2}],
        "parts": [{"id": "a", "length": 500, "width": 390, "count": 2},
                  {"id": "b", "length": 500, "width": 390, "count": 2}],
    })  # fmt: skip
    problem, _ = read_problem(text)
    length, width = problem.stock[0].usable
    patterns = []
    for n, extent in enumerate((1008, 1014)):
        leaf = Node(500 * MM, 390 * MM, part=n)
        strip = split(Axis.CROSSCUT, extent * MM, 390 * MM, [leaf] * 2, problem.kerf)
        inner = split(Axis.RIP, extent * MM, width, [strip], problem.kerf)
        patterns.append(Pattern(0, split(Axis.CROSSCUT, length, width, [inner], problem.kerf)))
    return problem, patterns


def test_of_random_jobs_many_rough_figures_are_round() -> None:
    """And the verifier replays them all (no part over a trim, a leftover or another)."""
    found = []
    for seed in range(40):
        problem, patterns = job(seed)
        made = plan(problem, patterns)
        assert faults(problem, made) == ()
        found += [o.figure % STEPS[problem.unit][1] == 0 for o in roughs_of(problem, made)]
    assert sum(found) >= 0.4 * len(found) > 10
