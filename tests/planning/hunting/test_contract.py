"""Random problem files through the whole planner: two independent checks find nothing."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from tests.planning.problems import flawed_problem, random_problem
from tests.planning.second_check import complaints

QUICK, ALL = 60, 2000
# One of the first whose search takes longer than all others together: it comes with the two thousand.
LONG = 30
# Seeds on which a bound once was above the plan.
FALSE_PROOFS = (58, 122, 1046, 1051, 1142)
# Seeds on which the bound once failed: a part too wide for one of its boards, a pattern of many leaves.
FAILED_BOUNDS = (43, 781, 1141, 1331)


def checked(seed: int, work: int, made: Callable[[int], dict[str, Any]] = random_problem) -> str | None:
    """Return what is wrong with the plan for one random problem, None when both checks pass."""
    text = json.dumps(made(seed))
    problem, notes = read_problem(text)
    assert notes == ()
    plan = solve(problem, limits=Limits(seconds=None, work=work), seed=seed)
    found = [*faults(problem, plan), *complaints(text, plan_text(problem, plan))]
    return f"seed {seed}: {found[:3]}" if found else None


def test_both_checks_pass_random_plans() -> None:
    """Mostly first plans, which take no time; every fifth after some search."""
    assert [
        line for seed in range(QUICK) if (line := checked(seed, 0 if seed % 5 or seed == LONG else 2))
    ] == []


def test_no_bound_is_above_the_plan() -> None:
    assert [line for seed in (*FALSE_PROOFS, *FAILED_BOUNDS) if (line := checked(seed, 2))] == []


def test_both_checks_pass_random_plans_on_flawed_pieces() -> None:
    assert [line for seed in range(30) if (line := checked(seed, seed % 3, flawed_problem))] == []


@pytest.mark.slow
@pytest.mark.parametrize("tenth", range(10))
def test_both_checks_pass_six_hundred_random_plans_on_flawed_pieces(tenth: int) -> None:
    assert [line for seed in range(tenth, 600, 10) if (line := checked(seed, 2, flawed_problem))] == []


@pytest.mark.slow
@pytest.mark.parametrize("tenth", range(10))
def test_both_checks_pass_two_thousand_random_plans(tenth: int) -> None:
    assert [line for seed in range(tenth, ALL, 10) if (line := checked(seed, 2))] == []
