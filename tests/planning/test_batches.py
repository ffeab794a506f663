"""Batches: parts from pieces that measure alike in thickness, chosen, verified, refused and explained."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan, Status
from stockyard.planning.problem import Problem
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from tests.planning.second_check import complaints

MM = TICKS_PER_MM


def piece(ident: str, measured: float | None, width: float = 400, **more: Any) -> dict[str, Any]:
    row = {"id": ident, "kind": "offcut", "material": "ply", "length": 800, "width": width, **more}
    return row if measured is None else {**row, "measured": measured}


def text_of(*stock: dict[str, Any], count: int = 2, **changes: Any) -> str:
    part = {"id": "side", "length": 700, "width": 350, "count": count, "batch": "dado"}
    return json.dumps({"kerf": 3, "stock": list(stock), "parts": [part], **changes})


def solved(text: str) -> tuple[Problem, Plan]:
    problem, notes = read_problem(text)
    assert notes == ()
    plan = solve(problem, limits=Limits(seconds=None, work=1))
    assert (faults(problem, plan), complaints(text, plan_text(problem, plan))) == ((), [])
    return problem, plan


def used(plan: Plan) -> set[str]:
    return {layout.stock for layout in plan.layouts}


def test_parts_of_a_batch_come_from_pieces_within_the_spread() -> None:
    _, plan = solved(text_of(piece("a", 17.5), piece("b", 17.8), piece("c", 18.0)))
    assert used(plan) == {"b", "c"}
    _, plan = solved(text_of(piece("a", 17.5), piece("b", 17.8), piece("c", 18.1), batch_spread=0.6, count=3))
    assert used(plan) == {"a", "b", "c"}


def test_parts_without_a_batch_come_from_anywhere() -> None:
    text = text_of(piece("a", 17.5), piece("b", 17.8)).replace('"batch": "dado"', '"batch": null')
    assert used(solved(text)[1]) == {"a", "b"}


def test_one_part_alone_in_its_batch_comes_from_anywhere() -> None:
    """However many larger pieces there are, each of which could be the batch."""
    full = [piece(f"f{n}", 10 + n, 900, kind="full", cost=50) for n in range(14)]
    assert used(solved(text_of(*full, piece("small", 30), count=1))[1]) == {"small"}


def test_what_nobody_measured_is_a_batch_of_its_own() -> None:
    """One part fits each piece: two unmeasured ones of a row do, one unmeasured and a measured one do not."""
    _, plan = solved(text_of(piece("a", 17.5), piece("b", None)))
    assert [(u.part, u.count) for u in plan.unplaced] == [("side", 1)]
    _, plan = solved(text_of(piece("a", 17.5), piece("b", None, count=2)))
    assert [layout.stock for layout in plan.layouts] == ["b", "b"]


def test_a_short_plan_says_that_the_batch_is_why() -> None:
    _, plan = solved(text_of(piece("a", 17.5), piece("b", 18.0)))
    [left_out] = plan.unplaced
    assert left_out.reason.endswith("its batch dado comes from pieces that measure alike")


def test_a_plan_is_proven_where_the_pieces_were_no_choice_or_cost_nothing() -> None:
    full = {"kind": "full", "cost": 30, "count": None}
    _, plan = solved(text_of(piece("a", 17.5, **full)))
    assert plan.status is Status.PROVEN
    _, plan = solved(text_of(piece("a", 17.5, **full), piece("b", 18.0, **full)))
    assert (plan.status, plan.bound.full_cost) == (Status.FEASIBLE, 0)
    _, plan = solved(text_of(piece("a", 17.5), piece("b", 17.5), piece("c", 18.0, **full)))
    assert plan.status is Status.PROVEN


def test_a_batch_that_no_pieces_can_serve_is_refused() -> None:
    narrow = {"id": "rail", "length": 700, "width": 100, "batch": "dado", "material": "oak"}
    side = {"id": "side", "length": 700, "width": 350, "batch": "dado", "material": "ply"}
    stock = [piece("a", 17.5), piece("b", 18.0) | {"material": "oak"}]
    with pytest.raises(BadInput) as refused:
        read_problem(json.dumps({"stock": stock, "parts": [side, narrow]}))
    assert str(refused.value) == (
        "parts[0].batch: no pieces that measure within 0.2 mm of each other can give every part of the "
        "batch 'dado'"
    )


def test_the_verifier_sees_pieces_that_do_not_measure_alike() -> None:
    problem, plan = solved(text_of(piece("a", 17.5), piece("b", 17.6)))
    thicker = replace(problem.stock[1], measured=18 * MM)
    fault = "batch 'dado': its parts come from pieces that do not measure alike"
    assert faults(replace(problem, stock=(problem.stock[0], thicker)), plan) == (fault,)
    unknown = replace(problem.stock[1], measured=None)
    assert fault in faults(replace(problem, stock=(problem.stock[0], unknown)), plan)
    alike = tuple(replace(s, measured=None, delivery="monday") for s in problem.stock)
    assert faults(replace(problem, stock=alike), plan) == ()


def test_the_cheapest_of_many_choices_is_found() -> None:
    """Twenty sheets, each measured otherwise and to be paid; by hand: the two alike offcuts cost nothing."""
    sheets = [piece(f"f{n}", 10 + n, 1220, length=2440, kind="full", cost=50) for n in range(20)]
    text = text_of(*sheets, piece("o1", 40), piece("o2", 40.1))
    assert used(solved(text)[1]) == {"o1", "o2"}


def test_batches_are_chosen_for_together_however_many_choices_one_of_them_has() -> None:
    """By hand: long sides come from the free pair at 60, short ones from the free piece at 40 for two."""
    sheets = [piece(f"f{n}", 10 + n, 420, length=750, kind="full", cost=50, count=2) for n in range(14)]
    sheets.append(piece("long", 55, 900, length=1500, kind="full", cost=90))
    free = [piece("a1", 60, 400, length=1300), piece("a2", 60, 400, length=1300), piece("b", 40, 740)]
    parts = [
        {"id": "long side", "length": 1200, "width": 350, "count": 2, "batch": "long"},
        {"id": "side", "length": 700, "width": 350, "count": 2, "batch": "short"},
    ]
    problem, plan = solved(text_of(*sheets, *free, parts=parts))
    assert used(plan) == {"a1", "a2", "b"} and plan.unplaced == () and problem.batch_spread
