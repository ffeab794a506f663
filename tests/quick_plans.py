"""Plans made within the test's own process and in a round or two: for tests of what is done with plans."""

from __future__ import annotations

from contextlib import nullcontext
from functools import cache

import pytest

from stockyard.desk import ask_planner, ready
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem


@cache
def solved(problem: Problem, limits: Limits, seed: int) -> Plan:
    """Solve a problem; once a process, since rounds of work alone decide what is found."""
    assert limits.seconds is None
    return solve(problem, limits=limits, seed=seed)


def plan_here(patch: pytest.MonkeyPatch, work: int = 2) -> None:
    """Let the desk plan here instead of in a child process, whatever its limits."""

    def here(problem: Problem, *_: object, seed: int, **__: object) -> Plan:
        return solved(problem, Limits(seconds=None, work=work), seed)

    patch.setattr(ask_planner, "plan_in_child", here)
    patch.setattr(ready, "at_hand", lambda **_: nullcontext())
