"""The table of a piece with flaws, against published sheets with flaws and their optima."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from stockyard.planning.tables.flawed import Item, Table

# Afsharian, Niknejad and Waescher 2014, Martin and others 2020; see tests/data/README.md.
DATA = Path(__file__).parents[2] / "data"
SHEETS = json.loads((DATA / "sheets_with_flaws.json").read_text(encoding="utf-8"))


def table_of(sheet: dict[str, Any], *, turned: bool) -> Table:
    items = [Item(dx, dy, 1, n, value) for n, (dx, dy, value, _) in enumerate(sheet["items"])]
    if turned:
        items += [Item(i.width, i.length, 1, i.part, i.value) for i in items]
    flaws = [(x, x + dx, y, y + dy) for x, y, dx, dy in sheet["flaws"]]
    return Table(items, flaws, *sheet["sheet"], kerf=0)


@pytest.mark.parametrize("sheet", SHEETS[:6], ids=lambda s: s["name"])
def test_the_value_is_the_published_optimum(sheet: dict[str, Any]) -> None:
    assert table_of(sheet, turned=False).value == sheet["best"]


@pytest.mark.slow
@pytest.mark.parametrize("turned", [False, True])
def test_every_optimum_is_met(*, turned: bool) -> None:
    found = {s["name"]: table_of(s, turned=turned).value for s in SHEETS}
    assert found == {s["name"]: s["best_turned" if turned else "best"] for s in SHEETS}


def test_the_best_crosscuts_of_boards_with_knots_are_met() -> None:
    """Parts as wide as the board: a flaw anywhere across it is one over its whole width."""
    boards = json.loads((DATA / "redoak_boards.json").read_text(encoding="utf-8"))
    found = {}
    for board in boards:
        length, width = board["board"]
        items = [Item(size + 2, width + 2, 1, n, size) for n, (size, _) in enumerate(board["parts"])]
        marks = [(x + 2, x + dx, 2, width) for x, _, dx, _ in board["flaws"]]
        found[board["name"]] = Table(items, marks, length + 2, width + 2, kerf=2).value
    assert len(boards) == 38 and found == {board["name"]: board["best"] for board in boards}


def test_a_kerf_is_taken_between_parts_and_a_flaw_may_lie_under_it() -> None:
    """By hand: two parts of 40 and a 3 wide blade on 83; a flaw of 3 where the blade runs costs nothing."""
    parts = [Item(43, 23, 2, 0, 1)]
    assert Table(parts, [(40 + 3, 43, 0 + 3, 20)], 86, 23, kerf=3).value == 2
    assert Table(parts, [(39 + 3, 43, 0 + 3, 20)], 86, 23, kerf=3).value == 1
