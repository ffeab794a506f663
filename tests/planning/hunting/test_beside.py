"""Cut trees are searched on beside free placement while a plan on them may still cost less."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

from stockyard.planning.hunting.hunt import Hunt
from stockyard.planning.hunting.routed import RoutedRhythm, Routing
from tests.planning.hunting.test_priced import asked


@pytest.mark.parametrize(
    ("sheets", "proven", "turns"),
    [
        (3, False, round(20 * RoutedRhythm().hunted_alike)),
        (3, True, 0),
        (2, False, 0),  # whether one sheet does is asked by other means
    ],
)
def test_one_kind_of_sheet(sheets: int, proven: bool, turns: int, monkeypatch: pytest.MonkeyPatch) -> None:
    hunt = Hunt(asked((900, 900, sheets)), 0, repeatable=True)
    hunt.start()
    routing = Routing(hunt, 0, repeatable=True, tell=lambda: None)
    assert len(routing.best.layouts) == sheets
    monkeypatch.setattr(Routing, "proven", proven)
    monkeypatch.setattr(Hunt, "done", False)
    hunted: list[float] = []
    monkeypatch.setattr(routing, "_hunt_on", lambda _, seconds: hunted.append(seconds))
    monkeypatch.setattr(routing, "_search", lambda *_: None)
    with ThreadPoolExecutor(1) as team:
        for _ in range(20):
            routing.turn(team, 5.0)
    hunt.end()
    assert len(hunted) == turns
