"""Rough, then final, in problem files: the sawn size is planned, both are written."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest

from stockyard.errors import BadInput
from stockyard.measure import Length
from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import Limits, solve
from stockyard.planning.problem import Problem, too_thin
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_data
from stockyard.rough import Over


def asked(**changes: Any) -> Problem:
    """An oak job in millimetres; `changes` are of its part."""
    part = {"id": "leg", "length": 700, "width": 50, "count": 3, **changes}
    problem = {
        "unit": "mm", "kerf": 3, "over": {"oak": {"length": 12, "width": 6, "face": 2.5}},
        "stock": [{"id": "board", "kind": "full", "material": "oak", "thickness": 27, "length": 2300,
                   "width": 180, "grain": True, "count": 2}],
        "parts": [part],
    }  # fmt: skip
    return read_problem(json.dumps(problem))[0]


def test_both_sizes_are_in_the_plan() -> None:
    problem = asked()
    plan = solve(problem, limits=Limits(seconds=None, work=1))
    assert faults(problem, plan) == ()
    placed = [p for layout in plan_data(problem, plan)["layouts"] for p in layout["parts"]]
    # By hand: 700 + 12, 50 + 6; 27 - 2 x 2.5.
    assert {(p["dx"], p["dy"]) for p in placed} == {(Decimal(712), Decimal(56))}
    assert {tuple(p["final"].items()) for p in placed} == {
        (("length", Decimal(700)), ("width", Decimal(50)), ("thickness", Decimal(22)))
    }


def test_a_part_may_say_otherwise() -> None:
    (own,) = asked(over={"length": 20, "width": 0}).parts
    assert (own.length, own.width, own.final_thickness) == (720 * 3200, 50 * 3200, None)
    by = {"jointer": {"width": 3, "face": 1}, "planer": {"length": 6, "face": 1.5}}
    (machined,) = asked(over=by).parts
    assert machined.over == Over(Length(6 * 3200), Length(3 * 3200), Length(8000))
    (bare,) = asked(over=False).parts
    assert (bare.length, bare.over) == (700 * 3200, None)
    plan = solve(asked(over=False), limits=Limits(seconds=None, work=1))
    assert "final" not in plan_data(asked(over=False), plan)["layouts"][0]["parts"][0]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"width": 5}, "parts[0].over: the allowance of 6 mm is larger than its width of 5 mm"),
        ({"final_thickness": 23}, "parts[0].final_thickness: planing 2.5 mm off each face leaves 22 mm"),
        ({"over": {"face": 14}}, "parts[0].final_thickness: planing 14 mm off each face leaves nothing"),
        ({"over": {"length": -1}}, "parts[0].over.length: '-1' must be 0 or more"),
        (
            {"over": {"planer": {"face": 14}}},
            "parts[0].final_thickness: planing 14 mm off each face leaves nothing",
        ),
        ({"over": "much"}, "parts[0].over: 'much' must be an object"),
    ],
)
def test_what_can_not_be_milled_is_refused_by_its_row(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(BadInput) as wrong:
        asked(**changes)
    assert says in str(wrong.value) and "\n" not in str(wrong.value)


def test_stock_that_is_too_thin_gives_none_and_the_verifier_sees_it() -> None:
    problem = asked(final_thickness=22)
    thin = problem.stock[0].__class__(
        **{f: getattr(problem.stock[0], f) for f in problem.stock[0].__slots__} | {"measured": 26 * 3200}
    )
    assert too_thin(problem.parts[0], thin) and not too_thin(problem.parts[0], problem.stock[0])
    plan = solve(problem, limits=Limits(seconds=None, work=1))
    from dataclasses import replace

    thinner = replace(problem, stock=(thin,))
    assert any("too thin" in fault for fault in faults(thinner, plan))
    (left,) = solve(thinner, limits=Limits(seconds=None, work=1)).unplaced
    assert left.reason == "it is planed from 27 mm, and the thickest piece measures 26 mm"
