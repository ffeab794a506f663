"""Fixtures for the tests of use cases."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from stockyard.desk import plan_job
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem
from tests.quick_plans import solved


@pytest.fixture(autouse=True, scope="package")
def in_this_process() -> Iterator[None]:
    """Plan in this process: a child for each of many small plans would take longer than all of them.

    `tests/planning/test_child.py` looks at the child itself.
    """

    def here(problem: Problem, limits: Limits, report: object, *, seed: int, stop: object) -> Plan:
        assert report is None and stop is None
        if limits.seconds is None:
            return solved(problem, limits, seed)
        return solve(problem, limits=limits, seed=seed)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan_job, "plan_in_child", here)
        yield
