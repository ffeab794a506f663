"""The child's side of planning: the plan of a very large job is there before a person stops it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.planning.child import Message, Task
from stockyard.planning.hunting import serve
from stockyard.planning.hunting.solve import Run
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.verify import faults
from tests.bench.shop_jobs import job


@pytest.fixture
def waiting(monkeypatch: pytest.MonkeyPatch) -> serve._Service:
    """A service with a first answer, for which the plan of any job is made ahead at once."""
    monkeypatch.setattr(serve, "WATCH", replace(serve.WATCH, ahead=0.0, ahead_parts=0))
    said: list[Message] = []
    service = serve._Service(Task(job(1), Limits(seconds=None), 0, None), said.append)
    service._run = Run(job(1), Limits(seconds=None), 0, None, None)
    service._run.begin()
    service._begun.set()
    service._ended.set()  # nothing searches
    return service


def plans_made(service: serve._Service, monkeypatch: pytest.MonkeyPatch) -> list[Plan]:
    """Count the plans that are made from now on."""
    made: list[Plan] = []
    assert service._run is not None
    plan = service._run.plan

    def counted(until: float | None = None) -> Plan:
        made.append(plan(until))
        return made[-1]

    monkeypatch.setattr(service._run, "plan", counted)
    return made


def test_a_stop_finds_the_plan_made(waiting: serve._Service, monkeypatch: pytest.MonkeyPatch) -> None:
    made = plans_made(waiting, monkeypatch)
    for _ in range(3):
        waiting._make_ahead()
    assert len(made) == 1, "the same best answer is made a plan once"
    assert not faults(job(1), made[0])
    waiting.stop()
    assert waiting._run is not None
    assert waiting._plan(waiting._run) is made[0]


def test_a_better_answer_is_made_a_plan_anew(
    waiting: serve._Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, run = plans_made(waiting, monkeypatch), waiting._run
    assert run is not None
    waiting._make_ahead()
    state = run.hunts[0].state
    state.best = replace(state.best)
    waiting.stop()
    assert waiting._plan(run) is made[1]


def test_a_plan_made_ahead_is_not_what_a_run_ends_with(
    waiting: serve._Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It leaves pieces in their own order, since a stop is to be answered at once."""
    made, run = plans_made(waiting, monkeypatch), waiting._run
    assert run is not None
    waiting._make_ahead()
    assert waiting._plan(run) is made[1]


def test_small_jobs_are_not_made_ahead(waiting: serve._Service, monkeypatch: pytest.MonkeyPatch) -> None:
    made = plans_made(waiting, monkeypatch)
    monkeypatch.setattr(serve, "WATCH", replace(serve.WATCH, ahead_parts=10_000))
    waiting._make_ahead()
    assert not made
