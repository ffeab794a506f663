"""When a place is due for a count: so many days after the last one, or after its first piece came."""

from __future__ import annotations

from pathlib import Path

from stockyard.desk import counting
from stockyard.desk.shop import set_settings
from stockyard.yard import Yard
from tests.page.conftest import small_yard


def due(y: Yard) -> list[tuple[str, bool]]:
    return [(d.place, d.is_open) for d in counting.due(y)]


def test_places_come_due_and_stop_to_be(tmp_path: Path) -> None:
    keeper = small_yard(tmp_path / "yard.db")
    with keeper.open() as y:
        real = y.clock
        assert due(y) == []
        number = counting.start(y, "R1")
        assert due(y) == [("R1", True)], "a count that goes on is always told"
        tags = [p.tag for p in counting.look(y, "R1").missing]
        counting.see(y, number, tags)
        y.clock = lambda: "2998" + real()[4:]
        counting.finish(y, number, "counted")
        y.clock = lambda: "2999" + real()[4:]
        assert due(y) == [("SLOTS", False), ("R1", False)]
        assert [d.last for d in counting.due(y)] == ["", "2998" + real()[4:10]]
        set_settings(y, {"count_days": "0"})
        assert due(y) == []
