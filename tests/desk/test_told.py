"""What small functions of the desk say, case by case; the expected words follow from their sentences."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice
from types import SimpleNamespace
from typing import Any

import pytest

from stockyard.advice.costs import MonthCost, Sum
from stockyard.desk import (
    ask_planner,
    card_numbers,
    part_materials,
    pull_walk,
    questions,
    routed_sheets,
    spreadsheets,
    together,
)
from stockyard.desk.costs import found_notes
from stockyard.kinds import Form, Kind, Method
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Layout, Placement, Plan, Status, Unplaced
from stockyard.planning.problem import Part, Problem, Stock

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


STOCK = [
    SimpleNamespace(name=name, thickness_name=thick, form=form)
    for name, thick, form in (
        ("birch ply", "18 mm", Form.SHEET), ("Baltic birch ply", "18 mm", Form.SHEET),
        ("MDF", "18", Form.SHEET),
        ("birch ply", "3/4", Form.SHEET), ("oak", "4/4", Form.BOARD), ("fir", "2x4", Form.BOARD),
        ("fir ply", "1 1/2", Form.SHEET), ("pine", "38.1 mm", Form.BOARD),
    )
]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "name", "millimetres", "numbers"),
    [
        ("birch ply", "", None, [0, 1, 3]), ("bir ply", "18 mm", 18, [0, 1]),
        ("BIRCH, ply", "18MM", 18, [0, 1]),
        ("bi ply", "18 mm", 18, []), ("mdf", "18 mm", 18, [2]), ("birch ply", "3/4", 19.05, [3]),
        ("birch ply", "12 mm", 12, []), ("", "4/4", None, [4]), ("fir", "2x4", 38.1, [5]),
        ("", "1x8", 38.1, [7]), ("", "38.1", 38.1, [6, 7]),
    ],
)  # fmt: skip
def test_a_material_is_known_by_its_words_and_by_the_name_of_its_thickness_or_what_that_says(
    words: str, name: str, millimetres: float | None, numbers: list[int]
) -> None:
    """Lumber is never a sheet of that thickness; a name that fits to the letter goes first."""
    ticks = None if millimetres is None else round(millimetres * TICKS_PER_MM)
    known: Any = STOCK
    found = part_materials._found(part_materials.Wanted(words, name, ticks), known, Unit.MM)
    assert [STOCK.index(m) for m in found] == numbers


@pytest.mark.parametrize(
    ("wanted", "done", "cut", "standing", "free"),
    [
        (3, 0, (), (), [1, 2, 3, 4, 5]), (3, 1, (2,), (), [1, 3, 4, 5, 6]), (3, 1, (), (), [2, 3, 4, 5, 6]),
        (3, 0, (), (1,), [2, 3, 4, 5, 6]), (3, 2, (3,), (1,), [4, 5, 6, 7, 8]),
        (2, 1, (5,), (), [2, 3, 4, 5, 6]), (2, 1, (2,), (2,), [3, 4, 5, 6, 7]),
        (3, 1, (1, 2), (), [2, 3, 4, 5, 6]), (2, 0, (2,), (), [1, 2, 3, 4, 5]),
    ],
)  # fmt: skip
def test_a_number_is_free_that_no_part_bears(
    wanted: int, done: int, cut: tuple[int, ...], standing: tuple[int, ...], free: list[int]
) -> None:
    """As many are borne as are done, those that are cut first; past what is wanted it is counted on."""
    assert list(islice(card_numbers._free(wanted, done, cut, standing), 5)) == free


@pytest.mark.parametrize(
    ("kind", "thickness", "supplier", "says"),
    [
        (Kind.FULL, 18 * TICKS_PER_MM, "Mill", ", 18 thick"),
        (Kind.OFFCUT, 17 * TICKS_PER_MM, "", ", 17 thick"),
        (Kind.OFFCUT, None, "Mill", ", T1 not measured"),
        (Kind.FULL, None, "Mill", ", not measured, of 2026-03-04 Mill"),
        (Kind.FULL, None, "", ", not measured, of 2026-03-04"),
    ],
)  # fmt: skip
def test_a_row_of_stock_says_what_a_caliper_says(
    kind: Kind, thickness: int | None, supplier: str, says: str
) -> None:
    piece: Any = SimpleNamespace(
        kind=kind, thickness=thickness, supplier=supplier, tag="T1", shelved_at="2026-03-04T08:15:00"
    )
    assert questions._measures(piece, Unit.MM) == says


@pytest.mark.parametrize(
    ("rate", "supplier", "says"),
    [
        (None, "Mill", "Mill"), (None, "", ""),
        (95_000, "Mill", "about 4 board feet at $9.50 a board foot, Mill"),
        (95_000, "", "about 4 board feet at $9.50 a board foot"),
    ],
)  # fmt: skip
def test_lumber_by_the_board_foot_is_bought_with_about_how_much_it_is(
    rate: int | None, supplier: str, says: str
) -> None:
    """By hand: 8 ft x 6 in of 4/4 / 12 = 4 board feet."""
    shop: Any = SimpleNamespace(settings=SimpleNamespace(currency="$"))
    oak: Any = SimpleNamespace(thickness_name="4/4", thickness=TICKS_PER_INCH)
    offer: Any = SimpleNamespace(
        rate=rate,
        measure="board foot",
        supplier=supplier,
        length=96 * TICKS_PER_INCH,
        width=6 * TICKS_PER_INCH,
    )
    assert pull_walk._sold(shop, oak, offer) == says


def test_a_part_of_several_is_numbered_on_its_sheet_and_a_single_one_is_not() -> None:
    sheet = Stock(id="F", kind=Kind.FULL, material="ply", length=1000, width=1000, count=2)
    parts = (Part(id="a", length=100, width=80, count=2), Part(id="b", length=90, width=70))
    pair = (Placement("a", 0, 0, 100, 80), Placement("b", 200, 0, 70, 90))
    spots = [pair, (Placement("a", 0, 0, 80, 100),)]
    layouts = [Layout(stock="F", parts=own, cuts=(), leftovers=()) for own in spots]
    problem = Problem(stock=(sheet,), parts=parts, method=Method.ROUTER, kerf=6)
    made = routed_sheets.routed_sheets(problem, layouts, {})
    assert [[(p.label, p.turned) for p in s.parts] for s in made] == [
        [("a 1", False), ("b", True)], [("a 2", True)],
    ]  # fmt: skip
    assert [s.name for s in made] == ["sheet 1 F", "sheet 2 F"]


@pytest.mark.parametrize(("state", "says"), [("standing", "2026-03-04"), ("done", "2026-03-04, done")])
def test_papers_bear_the_day_of_their_plan(state: str, says: str) -> None:
    plan: Any = SimpleNamespace(made_at="2026-03-04T08:15:00", state=state)
    assert pull_walk.dated(plan) == says


def test_what_is_proved_under_another_aim_is_no_proof_for_the_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    found = Plan(status=Status.PROVEN, bound=Bound(5, 6, "no plan buys less"), layouts=())
    problem = Problem(stock=(), parts=())
    monkeypatch.setattr(ask_planner, "plan_in_child", lambda *_, **__: found)
    own = ask_planner.ask(problem, ask_planner.Asked(limits=Limits(seconds=1.0)), 1.0)
    assert (own.status, own.bound.stock_area) == (Status.PROVEN, 6)
    assert own.bound.says == "no plan buys less, nor draws less from the racks than this one"
    other = ask_planner.ask(problem, ask_planner.Asked(limits=Limits(seconds=1.0), aim=lambda p: p), 1.0)
    assert (other.status, other.bound) == (Status.FEASIBLE, Bound(0, 0, ""))
    short = replace(found, unplaced=(Unplaced("p", 1, "no stock"),))
    monkeypatch.setattr(ask_planner, "plan_in_child", lambda *_, **__: short)
    other = ask_planner.ask(problem, ask_planner.Asked(limits=Limits(seconds=1.0), aim=lambda p: p), 1.0)
    assert other.status is Status.SHORT
