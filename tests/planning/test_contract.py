"""Random problem files through the whole planner: two independent checks find nothing."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest

from stockyard.planning.files import read_problem
from stockyard.planning.solve import Limits, solve
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from tests.planning.problems import random_problem
from tests.planning.second_check import complaints

QUICK, ALL = 150, 2000


def checked(seed: int) -> str | None:
    """Return what is wrong with the plan for one random problem, None when both checks pass."""
    text = json.dumps(random_problem(seed))
    problem, notes = read_problem(text)
    assert notes == ()
    plan = solve(problem, limits=Limits(seconds=None, work=1), seed=seed)
    found = [*faults(problem, plan), *complaints(text, plan_text(problem, plan))]
    return f"seed {seed}: {found[:3]}" if found else None


def wrong(seeds: Iterator[int] | range) -> list[str]:
    return [line for line in map(checked, seeds) if line]


def test_both_checks_pass_random_plans() -> None:
    assert not wrong(range(QUICK))


@pytest.mark.slow
@pytest.mark.parametrize("tenth", range(10))
def test_both_checks_pass_two_thousand_random_plans(tenth: int) -> None:
    assert not wrong(range(tenth, ALL, 10))
