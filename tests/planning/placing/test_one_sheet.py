"""All parts on one sheet: closed gap by gap, or decided by CP-SAT; sets with published answers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.alike import merge
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.model import Model, shares
from stockyard.planning.placing.closing import FOUND, Closer
from stockyard.planning.placing.exact import one_sheet
from stockyard.planning.placing.spots import spots
from stockyard.planning.problem import MONEY, Grain, Kind, Method, Part, Problem, Stock
from stockyard.planning.verify import faults

SETS = json.loads((Path(__file__).parents[2] / "data" / "fits_exactly.json").read_text())


def problem_of(row: dict[str, Any]) -> Problem:
    sheet = row["stock"][0]
    stock = Stock(
        id="s", kind=Kind.FULL, material="any", length=sheet["w"] * MM, width=sheet["h"] * MM, count=None,
        cost=MONEY, grain=True,
    )  # fmt: skip
    parts = tuple(
        Part(id=f"p{n}", length=i["w"] * MM, width=i["h"] * MM, count=i["demand"], grain=Grain.ALONG)
        for n, i in enumerate(row["items"])
    )
    return Problem(stock=(stock,), parts=parts, method=Method.ROUTER)


def model_of(row: dict[str, Any]) -> Model:
    return merge(shares(problem_of(row))[0]).model


def overlaps(model: Model, layout: Any) -> bool:
    laid = list(spots(model.problem, layout.pattern))
    piece = model.stock[0]
    inside = all(
        s.x >= 0 and s.y >= 0 and s.x + s.length <= piece.length and s.y + s.width <= piece.width
        for s in laid
    )
    return not inside or any(
        a.x < b.x + b.length and b.x < a.x + a.length and a.y < b.y + b.width and b.y < a.y + a.width
        for n, a in enumerate(laid)
        for b in laid[:n]
    )


@pytest.mark.parametrize("row", [r for r in SETS if r["zero_waste"] and r["n"] > 10], ids=lambda r: r["name"])
def test_what_was_cut_from_one_sheet_goes_back_on_it(row: dict[str, Any]) -> None:
    """Hopper and Turton 2001 (EJOR 128), Hopper 2000: feasible by construction, without any waste."""
    model = model_of(row)
    closer = Closer(model, 0, 1)
    assert closer.waste == 0
    for _ in range(30):
        ended, layout = closer.attempt()
        if ended == FOUND:
            break
    assert layout is not None
    assert sum(n for _, n in layout.gives) == sum(p.demand for p in model.parts)
    assert not overlaps(model, layout)


@pytest.mark.parametrize("row", [r for r in SETS if r["set"] == "CJCM"], ids=lambda r: r["name"])
def test_fit_or_no_fit_is_decided_right(row: dict[str, Any]) -> None:
    """Clautiaux, Jouglet, Carlier, Moukrim 2008 (C&OR 35): F in the name fits, N does not."""
    model = model_of(row)
    fits, layout = one_sheet(model, 0, seconds=60, seed=0)
    assert fits == ("F" in row["name"])
    assert layout is None or not overlaps(model, layout)


def test_no_fit_is_said_as_a_proof() -> None:
    """The plan takes two sheets and says that no plan takes one."""
    row = next(r for r in SETS if r["name"] == "E10N10")
    problem = problem_of(row)
    plan = solve(problem, limits=Limits(seconds=None, work=10))
    assert faults(problem, plan) == ()
    assert (len(plan.layouts), plan.status) == (2, "proven")
