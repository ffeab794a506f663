"""The planner beside plans made by hand: never dearer in the shop's own price, every size from the fence."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.polish.polish import Time, polish, tidied
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.aim import price, score
from stockyard.planning.sawing.finish import finish, plan_operations
from stockyard.planning.sawing.operations import Remains, remains
from stockyard.planning.sawing.tidy import split
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from tests.bench.least_moves import least_moves
from tests.bench.saw_count import Count, count
from tests.planning.polish.hand_plans import BY_HAND, by_hand
from tests.planning.polish.test_small_parts import short_strip
from tests.planning.trees import job as tree_job
from tests.printing.test_as_planned import shop

JOBS = {
    job["name"]: json.dumps(job["problem"])
    for job in json.loads((Path(__file__).parents[2] / "data" / "saw_jobs.json").read_text(encoding="utf-8"))
}


def problem_of(name: str) -> Problem:
    problem, notes = read_problem(JOBS[name])
    assert notes == ()
    return problem


def counted(name: str, plan: Plan) -> Count:
    return count(JOBS[name], plan_text(problem_of(name), plan))


@pytest.mark.parametrize("name", BY_HAND)
def test_every_plan_by_hand_holds(name: str) -> None:
    plan = by_hand(problem_of(name), BY_HAND[name])
    assert faults(problem_of(name), plan) == ()
    assert counted(name, plan).rests == 0


def as_drawn(name: str) -> Count:
    """Count a plan by hand with every sheet sawn as it is drawn, none broken down first to spare a helper."""
    problem = problem_of(name)
    problem = replace(problem, effort=replace(problem.effort, heavy=0))
    return counted(name, by_hand(problem, BY_HAND[name]))


def test_what_the_plans_by_hand_take() -> None:
    """Counted by hand: a move for each size of the job that is not a factory size, no cut without need."""
    crates, kitchen = as_drawn("crates"), as_drawn("kitchen")
    assert (crates.full, crates.cuts, crates.moves) == (1, 26, 5)
    assert (kitchen.full, kitchen.cuts, kitchen.moves) == (3, 43, 8)
    assert sum(as_drawn(name).moves for name in BY_HAND) == 36


def test_the_two_sheets_of_the_kitchen_by_hand() -> None:
    """The carcases alone: two sheets, no more than 40 cuts, a setting for each of the six sizes."""
    job = json.loads(JOBS["kitchen"])
    job["parts"] = [part for part in job["parts"] if part["thickness"] == 18]
    text = json.dumps(job)
    problem, _ = read_problem(text)
    plan = by_hand(problem, [line for line in BY_HAND["kitchen"] if "18" in line[0]])
    c = count(text, plan_text(problem, plan))
    assert (c.full, c.settings, c.moves, c.rests) == (2, 6, 6, 0)
    assert c.cuts <= 40


def test_no_plan_by_hand_moves_less_often_than_its_sizes_ask() -> None:
    """The sizes were counted by hand from the cut lists: widths for the fence, lengths for the stop."""
    least = {name: least_moves(problem_of(name)) for name in BY_HAND}
    assert least == {"kitchen": 8, "crates": 5, "drawers": 5, "face frame": 6, "bookcase": 5, "bed": 6}
    for name, settings in least.items():
        assert counted(name, by_hand(problem_of(name), BY_HAND[name])).settings >= settings


def not_dearer(name: str, limits: Limits) -> None:
    problem = problem_of(name)
    plan = solve(problem, limits=limits)
    assert faults(problem, plan) == ()
    assert score(problem, plan) <= score(problem, by_hand(problem, BY_HAND[name]))


def test_the_kitchen_is_not_dearer_than_by_hand() -> None:
    """Limited by work, so that a busy machine finds the same plan."""
    not_dearer("kitchen", Limits(seconds=None, work=4))


@pytest.mark.slow
@pytest.mark.parametrize("name", BY_HAND)
def test_no_job_is_dearer_than_by_hand(name: str) -> None:
    not_dearer(name, Limits(seconds=10.0))


def polished(problem: Problem, patterns: object, seed: int = 0) -> Plan:
    found = polish(problem, patterns, time=Time(0.0, repeatable=True), seed=seed)  # type: ignore[arg-type]
    return finish(problem, found, bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)


def test_polish_places_the_same_parts_for_no_more_money_at_no_higher_price() -> None:
    for seed in range(3):
        problem, patterns = tree_job(seed, pieces=2, depth=2)
        before = finish(
            problem, [tidied(problem, p) for p in patterns], bound=Bound(0, 0, ""), status=Status.FEASIBLE,
            tidied=False,
        )  # fmt: skip
        after = polished(problem, patterns)
        assert faults(problem, after) == ()
        assert score(problem, after).money <= score(problem, before).money
        assert price(problem, after) <= price(problem, before)


def test_the_same_polish_every_time() -> None:
    problem, patterns = tree_job(5, pieces=2, depth=2)
    assert polished(problem, patterns) == polished(problem, patterns)


def test_a_stop_is_heard_and_every_better_plan_is_told() -> None:
    """Each told plan is cheaper than the one before, the last is what comes back; no step follows a stop."""
    problem, patterns = short_strip()
    heard: list[tuple[Pattern, ...]] = []
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > 400

    found = polish(
        problem,
        patterns,
        time=Time(3.0, repeatable=False),
        seed=1,
        stop=stop,
        better=lambda plan, _: heard.append(plan),
    )
    assert asked < 410
    assert heard and heard[-1] == found
    ends = {"bound": Bound(0, 0, ""), "status": Status.FEASIBLE, "tidied": False}
    prices = [price(problem, finish(problem, told, **ends)) for told in heard]  # type: ignore[arg-type]
    assert prices == sorted(prices, reverse=True) and len(set(prices)) == len(prices)


def test_strips_that_share_settings_are_chosen_over_other_trees() -> None:
    """Two pieces that each take a side and a shelf, beside two that each take two of the same."""
    base = {
        "kerf": 3, "effort": {"fence": 20000, "cut": 10000},
        "stock": [{"id": "b", "kind": "full", "material": "m", "length": 1000, "width": 405, "count": 2}],
        "parts": [
            {"id": "wide", "length": 480, "width": 400, "count": 2},
            {"id": "long", "length": 505, "width": 390, "count": 2},
        ],
    }  # fmt: skip
    problem, _ = read_problem(json.dumps(base))
    length, width = problem.stock[0].usable
    leaves = [Node(p.length, p.width, part=n) for n, p in enumerate(problem.parts)]
    mixed = [Pattern(0, split(Axis.CROSSCUT, length, width, leaves, problem.kerf))] * 2
    before = finish(problem, mixed, bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)
    after = polished(problem, mixed)
    assert faults(problem, after) == ()
    assert price(problem, after) <= price(problem, before)
    sizes = {side for p in problem.parts for side in (p.length, p.width)}
    assert {o.figure for every in plan_operations(problem, after) for o in every} <= sizes


def test_equal_cuts_are_equal_operations() -> None:
    """Same run, reach, figure and kind: same name, machine and cautions, whatever piece and card."""
    rng = Random(1)
    for name in ("kitchen", "drawers"):
        problem = problem_of(name)
        plan = by_hand(problem, BY_HAND[name])
        seen: dict[object, object] = {}
        for every in plan_operations(problem, plan):
            for o in rng.sample(every, len(every)):
                cut = (o.way, o.run, o.reach, o.figure, o.care)
                assert seen.setdefault(cut, (o.machine, o.cautions, o.heavy)) == (
                    o.machine,
                    o.cautions,
                    o.heavy,
                )


def test_a_size_that_remains_is_named() -> None:
    """Two rails of 600 and a kerf from 1203: the second is what remains; with 2 mm more it is cut."""
    base = {
        "kerf": 3, "stock": [{"id": "b", "kind": "offcut", "material": "m", "length": 1203, "width": 50}],
        "parts": [{"id": "rail", "length": 600, "width": 50, "count": 2}],
    }  # fmt: skip
    problem, _ = read_problem(json.dumps(base))

    def sawn_from(length: int) -> tuple[Remains, ...]:
        piece = replace(problem.stock[0], length=length * MM)
        rails = [Node(600 * MM, 50 * MM, part=0)] * 2
        one = [Pattern(0, split(Axis.CROSSCUT, piece.length, piece.width, rails, problem.kerf))]
        asked = replace(problem, stock=(piece,))
        plan = finish(asked, one, bound=Bound(0, 0, ""), status=Status.FEASIBLE)
        return remains(piece, plan.layouts[0], problem.kerf)

    assert [left.size for left in sawn_from(1203)] == [600 * MM]
    assert sawn_from(1205) == ()


def as_printed(problem: Problem, patterns: list[Pattern]) -> None:
    """Every plan that the search calls better has the price of the plan that is printed of it."""
    heard: list[tuple[tuple[Pattern, ...], int]] = []
    time = Time(0.0, repeatable=True)
    polish(problem, patterns, time=time, seed=0, better=lambda *now: heard.append(now))
    assert heard
    for best, searched in heard:
        made = finish(problem, best, bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)
        assert price(problem, made) == searched


@pytest.mark.parametrize("seed", range(8))
def test_what_is_made_cheaper_is_the_plan_that_is_printed(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """In random shops: with fence, stop and guided saw or without, on one saw or two, of any width."""
    monkeypatch.setattr("stockyard.planning.polish.polish.ROUNDS", 1)
    problem, patterns = tree_job(seed, pieces=1 + seed % 4, depth=2)
    as_printed(replace(problem, saws=shop(seed)), patterns)


def test_a_sheet_that_is_the_only_one_is_searched_as_it_is_sawn() -> None:
    """No setting of it serves another piece: whether it is broken down first is decided by its own alone."""
    problem, _ = read_problem(json.dumps({
        "kerf": 3, "edge_trim": 5, "effort": {"fence": 30000, "cut": 10000, "heavy": 20000},
        "stock": [{"id": "s", "kind": "full", "material": "m", "length": 2440, "width": 1220, "grain": True}],
        "parts": [{"id": "panel", "length": 392, "width": 106, "count": 6}],
    }))  # fmt: skip
    length, width = problem.stock[0].usable
    strip = split(Axis.CROSSCUT, length, 106 * MM, [Node(392 * MM, 106 * MM, part=0)] * 3, problem.kerf)
    pattern = Pattern(0, split(Axis.RIP, length, width, [strip] * 2, problem.kerf))
    as_printed(problem, [pattern])
