"""Which move of a large job is due: planning again never takes more time than the squeeze."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace
from typing import Any

import pytest

from stockyard.planning.hunting import many_parts
from stockyard.planning.hunting.many_parts import ManyParts
from stockyard.planning.hunting.rhythm import Rhythm
from stockyard.planning.model import Candidate, shares
from tests.planning.jobs import rack


def moves(monkeypatch: pytest.MonkeyPatch, *, repeatable: bool) -> Any:
    """The moves of a large job in which a squeeze takes 1 s, on a clock that goes on by that alone."""
    now = [0.0]
    clock = SimpleNamespace(repeatable=repeatable, left=lambda: 1.0, must_end=lambda: True)
    best = SimpleNamespace(complete=True, layouts=())
    state: Any = SimpleNamespace(
        model=shares(rack(1, 3, 3).problem)[0], seed=1, clock=clock, rhythm=Rhythm(), is_large=True,
        proven=False, beats=Rhythm().again_every, best=best, offer=lambda *_, **__: False,
    )  # fmt: skip
    made = ManyParts(state, None)  # type: ignore[arg-type]

    def squeezed(*_: object) -> list[Candidate]:
        now[0] += 1.0
        return []

    def again(*_: object) -> list[Candidate]:
        now[0] += 2.5
        return []

    monkeypatch.setattr(made._squeeze, "round", squeezed)
    monkeypatch.setattr(many_parts, "better", again)
    monkeypatch.setattr(many_parts, "monotonic", lambda: now[0])
    return made


def test_planning_again_waits_until_the_squeeze_had_as_much_time(monkeypatch: pytest.MonkeyPatch) -> None:
    made = moves(monkeypatch, repeatable=False)
    with ThreadPoolExecutor(1) as team:
        made.plan_again(team, 1)
        for _ in range(3):
            assert not made.again_due() and made.squeeze_due()
            made.squeeze_out(team, 1)
        assert made.again_due() and not made.squeeze_due()


def test_where_nothing_may_depend_on_the_clock_it_comes_every_so_often(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made = moves(monkeypatch, repeatable=True)
    with ThreadPoolExecutor(1) as team:
        made.plan_again(team, 1)
    assert made.again_due()
