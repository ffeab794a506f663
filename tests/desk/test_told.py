"""What small functions of the desk say, case by case; the expected words follow from their sentences."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from stockyard.advice.costs import MonthCost, Sum
from stockyard.desk import pull_walk, spreadsheets, together
from stockyard.desk.costs import found_notes
from stockyard.measure import TICKS_PER_MM, Unit

TAGS = [f"P{n}" for n in range(1, 20)]


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (0, ""), (1, "Put P1 back on top."), (2, "Put back on top in this order: P1, P2."),
        (pull_walk._FEW, f"Put back on top in this order: {', '.join(TAGS[: pull_walk._FEW])}."),
        (pull_walk._FEW + 1, f"Put the {pull_walk._FEW + 1} back on top, the last one off first."),
    ],
)  # fmt: skip
def test_what_was_lifted_off_goes_back_in_order(number: int, says: str) -> None:
    assert pull_walk.put_back_words(TAGS[:number]) == says


@pytest.mark.parametrize(
    ("above", "says"),
    [
        (0, "on top"), (1, "2nd"), (2, "3rd"), (3, "4th"), (8, "9th"), (9, "10th"), (10, "11th"),
        (11, "12th"), (12, "13th"), (19, "20th"), (20, "21st"), (21, "22nd"), (22, "23rd"), (100, "101st"),
        (109, "110th"), (110, "111th"), (111, "112th"), (119, "120th"), (120, "121st"),
    ],
)  # fmt: skip
def test_a_place_in_a_stack_is_counted_from_the_top(above: int, says: str) -> None:
    assert pull_walk._ordinal(above) == (says if above == 0 else f"{says} from the top")


def month(name: str, area: int, money: int) -> MonthCost:
    nothing = Sum(area=0, money=0)
    return MonthCost(
        month=name, bought=nothing, used=nothing, scrapped=nothing, gone=Sum(area=area, money=money),
        racks=nothing,
    )  # fmt: skip


def test_less_than_nothing_left_uncut_is_explained_with_its_months() -> None:
    assert found_notes([month("2026-01", 0, 0), month("2026-02", 5, 7)]) == ()
    rows = [month("2026-01", -1, 0), month("2026-02", 5, 5), month("2026-03", 5, -1)]
    (note,) = found_notes(rows)
    assert note.startswith("Left uncut is below nothing in 2026-01, 2026-03: more offcuts came in")


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("", ""), (None, None), (7, 7), ("oak", "oak"), ("=1+1", "'=1+1"), ("12E45", "'12E45"),
        ("2026-03", "2026-03"), ("2026-03-04", "2026-03-04"), ("-5", "'-5"), ("@x", "'@x"),
    ],
)  # fmt: skip
def test_no_cell_is_taken_for_a_formula_or_a_number(cell: Any, written: Any) -> None:
    assert spreadsheets._cell(cell) == written


@pytest.mark.parametrize(
    ("money", "stock", "back", "says"),
    [
        (90_000, 50, 20, "Planned one after another they would take $1.00 more."),
        (100_000, 50, 21, "Planned one after another they would take 1.00 m² more of material."),
        (100_000, 50, 20, "Planned one after another they would take no more."),
        (100_000, 51, 20, "Planned one after another they would take no more."),
        (110_000, 50, 20, "Planned one after another they would take no more."),
        (110_000, 50, 21, "Planned one after another they would take 1.00 m² more of material."),
    ],
)
def test_what_planning_together_saves_is_money_first_and_then_material(
    money: int, stock: int, back: int, says: str
) -> None:
    """One after another: 10 of money and 30 square metres."""
    square = (1000 * TICKS_PER_MM) ** 2
    shop: Any = SimpleNamespace(unit=Unit.MM, settings=SimpleNamespace(currency="$"))
    now: Any = SimpleNamespace(
        facts=SimpleNamespace(money=money, stock_area=stock * square, back_area=back * square)
    )
    before: Any = together.OneByOne(money=100_000, material=30 * square)  # type: ignore[arg-type]
    assert list(together._saved(shop, now, before)) == [says]
