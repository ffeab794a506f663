"""Random router problems through the whole planner: the verifier and a check on a grid find nothing."""

from __future__ import annotations

import json
from random import Random
from typing import Any

import pytest

from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from tests.planning.placing.painted import complaints, figure
from tests.planning.problems import random_problem

QUICK, ALL = 20, 2000


def routed(seed: int) -> dict[str, Any]:
    """A random problem for a router: a wide gap or none, one pass for two edges, clamps or flaws."""
    rng = Random(seed * 7 + 1)
    problem = random_problem(seed) | {"method": "router", "one_pass": rng.random() < 0.4}
    inches = problem["unit"] == "in"
    problem["kerf"] = rng.choice([0, "1/4", "1/8 in", 0.5] if inches else [0, 6, 3.2, 12])
    for row in problem["stock"]:
        row.pop("flaws", None)
        if rng.random() < 0.4:
            row["flaws"] = [_flaw(rng, row, inches=inches) for _ in range(rng.randint(1, 4))]
            if rng.random() < 0.05:
                row["flaws"] = [{"x": 0, "y": 0, "dx": row["length"], "dy": row["width"]}]
    return problem


def _flaw(rng: Random, row: dict[str, Any], *, inches: bool) -> dict[str, Any]:
    """A clamp in a corner or anywhere, on the piece."""
    size = (2, 1.5) if inches else (60, 40)
    long, wide = (figure(row[name], "in" if inches else "mm") / (81280 if inches else 3200)
                  for name in ("length", "width"))  # fmt: skip
    dx, dy = min(size[0], int(long)), min(size[1], int(wide))
    x, y = (rng.choice([0, int(end), rng.randint(0, int(end))]) for end in (long - dx, wide - dy))
    return {"x": x, "y": y, "dx": dx, "dy": dy}


def checked(seed: int, work: int) -> str | None:
    """Return what is wrong with the plan of one problem, None when nothing is."""
    text = json.dumps(routed(seed))
    problem, notes = read_problem(text)
    assert notes == ()
    plan = solve(problem, limits=Limits(seconds=None, work=work), seed=seed)
    found = [*faults(problem, plan), *complaints(text, plan_text(problem, plan))]
    return f"seed {seed}: {found[:3]}" if found else None


def test_random_routed_plans_hold() -> None:
    assert [line for seed in range(QUICK) if (line := checked(seed, 2 if seed % 5 == 0 else 0))] == []


@pytest.mark.slow
@pytest.mark.parametrize("tenth", range(10))
def test_two_thousand_random_routed_plans_hold(tenth: int) -> None:
    assert [line for seed in range(tenth, ALL, 10) if (line := checked(seed, 4))] == []


def test_the_painted_check_sees_what_is_wrong() -> None:
    """Each fault put into a plan that holds is told."""
    problem = {
        "unit": "mm", "kerf": 6, "method": "router", "edge_trim": 5,
        "stock": [{"id": "S", "kind": "full", "material": "ply", "length": 1000, "width": 500, "count": 1,
                   "grain": True, "flaws": [{"x": 900, "y": 400, "dx": 50, "dy": 50}]}],
        "parts": [{"id": "p", "length": 300, "width": 200, "count": 2}],
    }  # fmt: skip
    spots = [
        {"id": "p", "x": 5, "y": 5, "dx": 300, "dy": 200},
        {"id": "p", "x": 311, "y": 5, "dx": 300, "dy": 200},
    ]
    layout = {"stock": "S", "cuts": [], "leftovers": [], "parts": spots}
    plan = {"unit": "mm", "layouts": [layout], "unplaced": []}

    def told(change: dict[str, Any]) -> str:
        parts = [spots[0], spots[1] | change]
        return str(
            complaints(json.dumps(problem), json.dumps(plan | {"layouts": [layout | {"parts": parts}]}))
        )

    assert told({}) == "[]"
    for change, words in (
        ({"x": 310.9}, "nearer"), ({"x": 0, "y": 250}, "beyond"), ({"dx": 200, "dy": 300}, "grain"),
        ({"x": 640, "y": 230}, "flaw"),
    ):  # fmt: skip
        assert words in told(change), change
    assert "too often" in str(
        complaints(json.dumps(problem), json.dumps(plan | {"layouts": [layout, layout]}))
    )
