"""Fixtures for the tests of use cases."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard import yard as yards
from stockyard.desk import ask_planner
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem
from stockyard.yard import Yard
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
        patch.setattr(ask_planner, "plan_in_child", here)
        yield


@pytest.fixture
def y(made: Path, tmp_path: Path) -> Iterator[Yard]:
    """A copy, for one test, of the yard whose path a module gives as `made`."""
    shutil.copy(made, tmp_path / "yard.db")
    with yards.open(tmp_path / "yard.db") as found:
        yield found
