"""Matched sets from problem file to plan: kept together, in order, flush; refused and explained in a line."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.exact import problem_data, read_problem_data
from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Layout, Plan, Status
from stockyard.planning.problem import Group, Part, Problem, Run
from stockyard.planning.sawing.finish import finish
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from tests.planning.problems import flawed_problem, random_problem
from tests.planning.second_check import complaints
from tests.planning.set_problems import with_sets

MM = TICKS_PER_MM
QUICK, ALL = 24, 300
FRONTS = {"id": "fronts", "run": "across", "members": ["top", "middle", "bottom"], "count": 2}


def part(ident: str, length: float, width: float, count: int = 2, **more: Any) -> dict[str, Any]:
    return {"id": ident, "length": length, "width": width, "count": count, **more}


def sheet(length: float = 2440, width: float = 1220, **more: Any) -> dict[str, Any]:
    return {
        "id": "sheet", "kind": "full", "material": "oak ply", "length": length, "width": width, "count": None,
        "cost": 50, "grain": True, **more,
    }  # fmt: skip


def problem_text(**changes: Any) -> str:
    parts = [
        part("top", 600, 140),
        part("middle", 600, 180),
        part("bottom", 600, 220),
        part("side", 700, 400),
    ]
    return json.dumps({"kerf": 3, "stock": [sheet()], "parts": parts, "groups": [FRONTS], **changes})


def solved(text: str, work: int = 1) -> tuple[Problem, Plan]:
    problem, notes = read_problem(text)
    assert notes == ()
    return problem, solve(problem, limits=Limits(seconds=None, work=work))


def test_a_set_lies_on_one_piece_in_order_a_kerf_apart() -> None:
    text = problem_text()
    problem, plan = solved(text)
    assert (plan.status, faults(problem, plan), complaints(text, plan_text(problem, plan))) == (
        Status.PROVEN, (), [],
    )  # fmt: skip
    [layout] = plan.layouts
    rows = {(p.x, p.y): p.part for p in layout.parts if p.part != "side"}
    for (x, y), ident in rows.items():
        if ident == "top":  # 140 mm and a kerf, then 180 mm and a kerf
            assert rows[x, y + 143 * MM] == "middle"
            assert rows[x, y + (143 + 183) * MM] == "bottom"


def test_the_panel_is_one_piece_until_it_is_taken_apart() -> None:
    _, plan = solved(problem_text())
    [layout] = plan.layouts
    apart = [c for c in layout.cuts if c.gives[0] in ("top 1", "top 2")]
    assert [(c.direction, c.at) for c in apart] == [("rip", 140 * MM)] * 2
    made = {name for c in layout.cuts for name in c.gives}
    assert all(c.piece in made for c in apart)


def test_sets_are_kept_with_a_problem_to_the_tick() -> None:
    problem, _ = read_problem(problem_text())
    assert problem.groups == (
        Group(id="fronts", run=Run.ACROSS, members=("top", "middle", "bottom"), count=2),
    )
    assert read_problem_data(problem_data(problem)) == problem


TOP = part("top", 600, 140)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"parts": [TOP, part("middle", 610, 180), part("bottom", 600, 220)]},
         "groups[0]: 'middle' and 'top' are not equally long (610 mm and 600 mm), so they can not lie flush"),
        ({"parts": [TOP, part("middle", 600, 180, 3), part("bottom", 600, 220)]},
         "groups[0]: 'middle' is wanted 3 times, the set takes 2"),
        ({"parts": [TOP, part("middle", 600, 180)]}, "groups[0].members: 'bottom' is no part"),
        ({"groups": [{**FRONTS, "members": []}]}, "groups[0].members: '[]' must be a list of part ids"),
        ({"groups": [{**FRONTS, "run": "up"}]}, "groups[0].run: 'up' must be along or across"),
        ({"groups": [FRONTS, {**FRONTS, "id": "b"}]}, "groups[1].members: 'top' is in groups[0] already"),
        ({"groups": [FRONTS, FRONTS]}, "groups[1].id: 'fronts' is already used by groups[0]"),
        ({"parts": [TOP, part("middle", 600, 180, grain="across"), part("bottom", 600, 220)]},
         "groups[0]: the grain of 'middle' runs another way than that of 'top'"),
        ({"parts": [part("top", 600, 140, thickness=18), part("middle", 600, 180, thickness=12),
                    part("bottom", 600, 220)]}, "groups[0]: 'middle' is of another thickness than 'top'"),
        ({"parts": [part("top", 600, 140, material="oak"), part("middle", 600, 180, material="ash"),
                    part("bottom", 600, 220)]}, "groups[0]: no material is accepted by all of its members"),
    ],
)  # fmt: skip
def test_a_set_that_can_be_no_panel_is_refused_in_one_line(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_problem(problem_text(**changes))
    assert str(refused.value) == words


def test_equal_widths_let_a_set_run_along_the_grain() -> None:
    doors = {"id": "doors", "run": "along", "members": ["left", "right"]}
    parts = [part("left", 700, 300, 1), part("right", 500, 300, 1)]
    problem, plan = solved(problem_text(parts=parts, groups=[doors]))
    assert faults(problem, plan) == ()
    by = {p.part: p for p in plan.layouts[0].parts}
    assert (by["right"].x - by["left"].x, by["right"].y) == (703 * MM, by["left"].y)


def test_a_set_does_not_turn_on_stock_without_a_grain() -> None:
    """It would fit turned by a quarter; but then it would not run across the piece."""
    parts = [part("top", 600, 140, 2), part("middle", 600, 180, 2), part("bottom", 600, 220, 2)]
    problem, plan = solved(problem_text(stock=[sheet(560, 1220, grain=False)], parts=parts))
    assert {u.part: u.count for u in plan.unplaced} == {"top": 2, "middle": 2, "bottom": 2}
    assert faults(problem, plan) == ()


def test_a_set_that_fits_no_piece_says_which_it_needs() -> None:
    text = problem_text(stock=[sheet(2440, 400)])
    problem, plan = solved(text)
    assert (plan.status, faults(problem, plan)) == (Status.SHORT, ())
    assert complaints(text, plan_text(problem, plan)) == []
    assert {u.reason for u in plan.unplaced} == {
        "the set fronts needs 600 mm x 546 mm of one piece: wider than any piece; "
        "the widest is 400 mm usable (sheet); split, each of its parts finds a piece"
    }
    assert {u.part: u.count for u in plan.unplaced} == {"top": 2, "middle": 2, "bottom": 2}


def test_a_set_costs_what_its_panel_costs() -> None:
    """The bound is the set as one rectangle: 600 x 546 mm, and both are proved."""
    for seed in range(8):
        sides = part("side", 500 + 37 * seed, 410 + 11 * seed, 5)
        parts = [part("top", 600, 140), part("middle", 600, 180), part("bottom", 600, 220), sides]
        _, together = solved(problem_text(parts=parts), work=3)
        _, panel = solved(problem_text(parts=[part("panel", 600, 546), sides], groups=[]), work=3)
        assert (together.status, panel.status) == (Status.PROVEN, Status.PROVEN), seed
        assert len(together.layouts) == len(panel.layouts), seed


def test_a_routed_set_lies_a_bit_apart() -> None:
    text = problem_text(method="router")
    problem, plan = solved(text)
    assert (faults(problem, plan), complaints(text, plan_text(problem, plan))) == ((), [])


def _other_way(layout: Layout) -> Layout:
    swap = {"top": "middle", "middle": "top"}
    return replace(layout, parts=tuple(replace(p, part=swap.get(p.part, p.part)) for p in layout.parts))


def _split(layout: Layout) -> Layout:
    return replace(
        layout, parts=tuple(replace(p, x=p.x - 1) if p.part == "bottom" else p for p in layout.parts)
    )


@pytest.mark.parametrize("spoil", [_other_way, _split])
def test_the_verifier_sees_a_set_out_of_order(spoil: Callable[[Layout], Layout]) -> None:
    problem, plan = solved(problem_text())
    spoiled = replace(plan, layouts=(spoil(plan.layouts[0]),))
    words = "layout 1: set 'fronts': '{}' does not lie in its row, in order, flush and a kerf apart"
    assert any(words.format(m) in faults(problem, spoiled) for m in ("top", "middle", "bottom"))


def test_the_verifier_sees_a_half_set_left_out() -> None:
    problem, plan = solved(problem_text(stock=[sheet(2440, 400)]))
    [first, *others] = plan.unplaced
    spoiled = replace(plan, unplaced=(replace(first, count=1), *others))
    assert any("not left out in whole sets" in f for f in faults(problem, spoiled))


def test_the_verifier_sees_a_set_left_out_that_a_piece_could_give() -> None:
    problem, plan = solved(problem_text(stock=[sheet(2440, 400)]))
    wider = replace(problem, stock=(replace(problem.stock[0], width=546 * MM),))
    assert "unplaced: 'top' could still be cut from 'sheet'" in faults(wider, plan)


def test_the_verifier_sees_a_set_cut_apart_too_soon() -> None:
    """Two copies beside each other, ripped through at once, then crosscut: no panel was ever alone."""
    a = Part(id="a", length=100 * MM, width=50 * MM, count=2)
    b = replace(a, id="b", width=60 * MM)
    text = problem_text(stock=[sheet(203, 113)], parts=[], groups=[])
    loose = replace(read_problem(text)[0], parts=(a, b))
    rows = [Node(203 * MM, p.width, axis=Axis.CROSSCUT, children=(Node(p.length, p.width, i),) * 2)
            for i, p in enumerate(loose.parts)]  # fmt: skip
    root = Node(203 * MM, 113 * MM, axis=Axis.RIP, children=tuple(rows))
    ripped = finish(loose, [Pattern(0, root)], bound=Bound(0, 0, ""), status=Status.FEASIBLE)
    assert faults(loose, ripped) == ()
    pair = Group(id="pair", run=Run.ACROSS, members=("a", "b"), count=2)
    assert faults(replace(loose, groups=(pair,)), ripped) == (
        "layout 1: set 'pair': it is cut apart before it is alone on its panel",
    ) * 2  # fmt: skip


def test_the_verifier_sees_a_set_laid_the_other_way_up() -> None:
    """On stock without a grain each part may lie turned, but not in a set."""
    a = Part(id="a", length=100 * MM, width=50 * MM, count=2)
    text = problem_text(stock=[sheet(50, 203, grain=False)], parts=[], groups=[])
    loose = replace(read_problem(text)[0], parts=(a,))
    root = Node(50 * MM, 203 * MM, axis=Axis.RIP, children=(Node(a.width, a.length, 0),) * 2)
    laid = finish(loose, [Pattern(0, root)], bound=Bound(0, 0, ""), status=Status.FEASIBLE)
    assert faults(loose, laid) == ()
    pair = Group(id="pair", run=Run.ACROSS, members=("a", "a"))
    assert faults(replace(loose, groups=(pair,)), laid) == (
        "layout 1: set 'pair': 'a' lies another way up than its set",
    ) * 2  # fmt: skip


def checked(seed: int, work: int, made: Callable[[int], dict[str, Any]] = random_problem) -> str | None:
    """Return what is wrong with the plan for one random problem with sets, None when both checks pass."""
    text = json.dumps(with_sets(seed, made))
    try:
        problem, notes = read_problem(text)
    except BadInput as refused:
        assert "can give every part of the batch" in str(refused)
        return None
    assert notes == ()
    plan = solve(problem, limits=Limits(seconds=None, work=work), seed=seed)
    found = [*faults(problem, plan), *complaints(text, plan_text(problem, plan))]
    return f"seed {seed}: {found[:3]}" if found else None


def test_both_checks_pass_random_sets() -> None:
    assert [line for seed in range(QUICK) if (line := checked(seed, 0 if seed % 5 else 2))] == []


@pytest.mark.slow
@pytest.mark.parametrize("tenth", range(10))
def test_both_checks_pass_three_hundred_random_sets(tenth: int) -> None:
    assert [line for seed in range(tenth, ALL, 10) if (line := checked(seed, 2))] == []


def test_both_checks_pass_random_sets_and_batches_on_flawed_pieces() -> None:
    assert [line for seed in range(20) if (line := checked(seed, 0 if seed % 5 else 2, flawed_problem))] == []


@pytest.mark.slow
@pytest.mark.parametrize("tenth", range(10))
def test_both_checks_pass_three_hundred_random_sets_and_batches_on_flawed_pieces(tenth: int) -> None:
    assert [line for seed in range(tenth, ALL, 10) if (line := checked(seed, 2, flawed_problem))] == []
