"""The twelve messy lists of the shop's handbook of notation, each with the result to expect.

The lists are invented; nominal sizes are PS 20-20 Table 3 (dry), hardwood quarters NHLA grading sizes.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from stockyard.cutlist import CutList, Grain, Row, read
from stockyard.cutlist.model import Fate
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit

SNIPPETS: dict[int, tuple[Unit, str]] = {
    1: (Unit.INCH, "Mudroom bench, 3/4 birch ply\n2 ea  sides   17-1/2 x 16 1/4\n1     seat    17½\" × 42\"\n"
        "3  dividers - 15 3/4 X 16.25 (grain up)"),
    2: (Unit.INCH, "(4) 1x6 @ 6’-0”\n(2) 2x4 @ 37 1/2”\n10 – 2x2 @ 14\" (rip from 2x4)"),
    3: (Unit.MM, "Part\tQty\tL (mm)\tW (mm)\tT\tMat\tEdge\nSide\t2\t720\t560\t18\tMFC white\t1L\n"
        "Back\t1\t790\t715\t6\tHDF\t"),
    4: (Unit.MM, "Pos;Stk;Länge;Breite;Dicke;Material\n1;4;1.198,5;297;19;Spanplatte\n"
        "2;2;562,5;297;19;Spanplatte"),
    5: (Unit.INCH, "TOP  1  6'-2 3/8\" x 2'-0\"\nLEG  4  2'5\" x 3 1/2\napron long 2  5' 6  x  4"),
    6: (Unit.INCH, "two 14x22 drawer bottoms in 1/4, four fronts 5 15/16 by 15-7/8 from the 3/4 maple"),
    7: (Unit.INCH, "8/4 walnut: 4 pcs 2 1/4 sq x 29\n4/4 walnut: 2 @ 3-1/2 x 48 ; 2 @ 3 1/2 x 21-3/4"),
    8: (Unit.INCH, "Description,Qty,Width,Length,Thk\nGable,2,23.25,34.5,0.75\nDeck,2,23.25,30 1/2,0.75\n"
        "ditto,1,4,30 1/2,3/4\nTOTAL,5,,,"),
    9: (Unit.INCH, "l0 pcs 2x4 x 8O\"\n6 pcs 3/4 x 11 l/4 x 36"),
    10: (Unit.MM, "Panel A 600 x 400mm x18 - 2off\nPanel B 23 5/8\" x 15 3/4\" x 3/4\" - 2 off"),
    11: (Unit.INCH, "slats 12 - 3/4 x 1-1/2 x 30\nback 1 @ 29 1/2 x 35 -1/8   # scribe"),
    12: (Unit.MM, "| id | n | L | W | mat | grain | eb |\n| D1-L | 1 | 716 | 396 | oak vnr 19 | L | 4 |\n"
         "| D1-R | 1 | 716 | 396 | oak vnr 19 | L | 4 | bookmatch w/ D1-L |\n"
         "| TK | 2 | 2400 | 100 | ply 18 | any | - |"),
}  # fmt: skip


def inch(text: str) -> int:
    return int(sum(Fraction(p) for p in text.split()) * TICKS_PER_INCH)


def mm(value: str) -> int:
    return int(Fraction(value) * TICKS_PER_MM)


def taken(number: int, **ways: object) -> CutList:
    unit, text = SNIPPETS[number]
    return read(text, unit=unit, **ways)  # type: ignore[arg-type]


def sizes(rows: tuple[Row, ...]) -> list[tuple[int, int, int]]:
    return [(r.count, r.length, r.width) for r in rows]


def test_1_a_heading_sets_the_material_and_grain_up_is_asked() -> None:
    found = taken(1)
    assert sizes(found.rows) == [
        (2, inch("17 1/2"), inch("16 1/4")), (1, inch("17 1/2"), inch("42")),
        (3, inch("15 3/4"), inch("16 1/4")),
    ]  # fmt: skip
    assert {(r.thickness_name, r.material) for r in found.rows} == {("3/4", "birch ply")}
    assert [r.name for r in found.rows] == ["sides", "seat", "dividers"]
    assert found.rows[2].note == "grain up"
    assert [q.id for q in found.questions] == ["first", "grain4"]
    settled = taken(1, first="across", answers={"grain4": "across"})
    assert not settled.questions
    assert sizes(settled.rows) == [
        (2, inch("16 1/4"), inch("17 1/2")), (1, inch("42"), inch("17 1/2")),
        (3, inch("16 1/4"), inch("15 3/4")),
    ]  # fmt: skip
    assert settled.rows[2].grain is Grain.ALONG


def test_2_nominal_lumber_has_its_dressed_size() -> None:
    found = taken(2)
    assert not found.questions
    assert [(r.count, r.nominal, r.thickness, r.width, r.length) for r in found.rows] == [
        (4, "1x6", inch("3/4"), inch("5 1/2"), inch("72")),
        (2, "2x4", inch("1 1/2"), inch("3 1/2"), inch("37 1/2")),
        (10, "2x2", inch("1 1/2"), inch("1 1/2"), inch("14")),
    ]
    assert [r.rip_from for r in found.rows] == [None, None, "2x4"]


def test_3_tabs_with_banded_edges() -> None:
    assert [q.id for q in taken(3).questions] == ["finished"]
    found = taken(3, finished=False)
    assert not found.questions
    side, back = found.rows
    assert (side.name, side.count, side.length, side.width, side.thickness) == (
        "Side",
        2,
        mm("720"),
        mm("560"),
        mm("18"),
    )
    assert (side.material, side.bands) == ("MFC white", ("L1",))
    assert (back.count, back.length, back.width, back.thickness) == (1, mm("790"), mm("715"), mm("6"))
    assert (back.material, back.bands) == ("HDF", ())


def test_4_semicolons_and_decimal_commas() -> None:
    found = taken(4)
    assert not found.questions
    assert [(r.count, r.length, r.width, r.thickness, r.material) for r in found.rows] == [
        (4, mm("1198.5"), mm("297"), mm("19"), "Spanplatte"),
        (2, mm("562.5"), mm("297"), mm("19"), "Spanplatte"),
    ]  # fmt: skip


def test_5_feet_and_inches() -> None:
    found = taken(5)
    assert not found.questions
    assert sizes(found.rows) == [
        (1, inch("74 3/8"), inch("24")),
        (4, inch("29"), inch("3 1/2")),
        (2, inch("66"), inch("4")),
    ]
    assert [r.name for r in found.rows] == ["TOP", "LEG", "apron long"]


def test_6_a_sentence_of_two_parts() -> None:
    bottoms, fronts = taken(6).rows
    assert (bottoms.name, bottoms.count, bottoms.length, bottoms.width) == (
        "drawer bottoms",
        2,
        inch("14"),
        inch("22"),
    )
    assert (bottoms.thickness_name, bottoms.material) == ("1/4", "")
    assert (fronts.name, fronts.count) == ("fronts", 4)
    assert {fronts.length, fronts.width} == {inch("5 15/16"), inch("15 7/8")}
    assert (fronts.thickness_name, fronts.material) == ("3/4", "maple")


def test_7_quarters_warn_when_the_part_is_thicker_than_they_surface_to() -> None:
    found = taken(7)
    assert not found.questions
    assert [(r.count, r.width, r.length, r.thickness_name) for r in found.rows] == [
        (4, inch("2 1/4"), inch("29"), "8/4"), (2, inch("3 1/2"), inch("48"), "4/4"),
        (2, inch("3 1/2"), inch("21 3/4"), "4/4"),
    ]  # fmt: skip
    assert found.rows[0].thickness == inch("2 1/4")
    assert {r.material for r in found.rows} == {"walnut"}
    assert any("8/4 surfaces to 1 3/4 in" in w.says for w in found.warnings)


def test_8_ditto_and_a_total_that_is_checked() -> None:
    found = taken(8)
    assert not found.questions and not found.warnings
    assert [r.name for r in found.rows] == ["Gable", "Deck", "Deck"]
    assert sizes(found.rows) == [
        (2, inch("34 1/2"), inch("23 1/4")), (2, inch("30 1/2"), inch("23 1/4")),
        (1, inch("30 1/2"), inch("4")),
    ]  # fmt: skip
    assert {r.thickness for r in found.rows} == {inch("3/4")}
    assert found.count == 5 and found.fates[-1] is Fate.TOTAL
    unit, text = SNIPPETS[8]
    wrong = read(text.replace("TOTAL,5", "TOTAL,6"), unit=unit)
    assert [w.says for w in wrong.warnings] == ["the total says 6, the parts above make 5"]


def test_9_misread_letters_are_shown_and_not_mended() -> None:
    found = taken(9)
    assert not found.rows and [q.line for q in found.questions] == [1, 2]
    assert [q.readings[0].says for q in found.questions] == ['10 pcs 2x4 x 80"', "6 pcs 3/4 x 11 1/4 x 36"]
    yes = taken(9, answers={"line1": "1", "line2": "1"})
    assert not yes.questions
    assert [(r.count, r.nominal, r.thickness, r.width, r.length) for r in yes.rows] == [
        (10, "2x4", inch("1 1/2"), inch("3 1/2"), inch("80")),
        (6, None, inch("3/4"), inch("11 1/4"), inch("36")),
    ]  # fmt: skip


def test_10_a_unit_holds_for_its_whole_row() -> None:
    found = taken(10)
    assert not found.questions
    assert [(r.name, r.count, r.length, r.width, r.thickness) for r in found.rows] == [
        ("Panel A", 2, mm("600"), mm("400"), mm("18")),
        ("Panel B", 2, mm("600.075"), mm("400.05"), mm("19.05")),
    ]
    in_inches = read(SNIPPETS[10][1], unit=Unit.INCH)
    assert [r.length for r in in_inches.rows] == [mm("600"), mm("600.075")]


def test_11_a_spaced_dash_separates_and_a_near_one_is_asked() -> None:
    found = taken(11)
    assert [(r.count, r.thickness, r.width, r.length) for r in found.rows] == [
        (12, inch("3/4"), inch("1 1/2"), inch("30"))
    ]
    (question,) = found.questions
    assert (question.line, question.column) == (2, 19)
    assert [r.says for r in question.readings] == ["35-1/8", "34-7/8"]
    less = taken(11, answers={"line2": "2"})
    assert not less.questions and sizes(less.rows)[1] == (1, inch("29 1/2"), inch("34 7/8"))
    assert less.rows[1].note == "scribe"


def test_12_finished_sizes_become_cut_sizes() -> None:
    found = taken(12, finished=True, band_thickness=mm("1"))
    assert not found.questions
    left, right, kick = found.rows
    assert (left.length, left.width) == (mm("714"), mm("394"))
    assert (left.finished_length, left.finished_width) == (mm("716"), mm("396"))
    assert left.bands == ("L1", "L2", "W1", "W2") and left.grain is Grain.ALONG
    assert (right.name, right.note) == ("D1-R", "bookmatch w/ D1-L")
    assert (left.thickness, left.material) == (mm("19"), "oak vnr")
    assert (kick.count, kick.length, kick.width) == (2, mm("2400"), mm("100"))
    assert kick.grain is Grain.ANY and kick.bands == ()
    asked = taken(12, band_thickness=mm("1"))
    assert [q.id for q in asked.questions] == ["finished"]


@pytest.mark.parametrize("number", SNIPPETS)
def test_every_line_has_one_fate(number: int) -> None:
    unit, text = SNIPPETS[number]
    found = read(text, unit=unit)
    assert len(found.fates) == len(text.split("\n"))
    with_rows = {r.line for r in found.rows}
    assert with_rows == {n for n, fate in enumerate(found.fates, 1) if fate is Fate.ROW}
