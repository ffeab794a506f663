"""Words and figures that stand loose: each is used, asked about or listed, never dropped or guessed.

The lines are invented, as people write them on paper and in spreadsheets.
"""

from __future__ import annotations

import pytest

from stockyard.cutlist import CutList, read
from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit


def asked(text: str, unit: Unit, **answers: str) -> CutList:
    return read(text, unit=unit, first="along", answers=answers)


@pytest.mark.parametrize(
    ("line", "unit", "readings"),
    [
        ("4 shelves 30 x 12 quarter inch", Unit.INCH, ['12-1/4"', '1/4" thick']),
        ("1 back 2000 x 900 6mm", Unit.MM, ["6mm thick"]),
        ("2x 720x560 18 BP", Unit.MM, ["18 thick"]),
        ("2' x 4' 3/4 MDF", Unit.INCH, ["4' 0-3/4\"", "4', and 3/4 thick"]),
        ('sides: 30" x 12" qty 2 3/4" birch plywood', Unit.INCH, ['2 pieces, 3/4"']),
        ("shelf 800 - 36 x 560 18mm birch ply", Unit.MM, ["800 pieces", "764, what is left"]),
        ("per drawer (4): 2 sides 500 x 120 12mm birch ply", Unit.MM, []),
        ('2 sides 720x560 18mm ply\n-"- 720 x 300', Unit.MM, ["the name of the part above"]),
        ('2 sides 720x560 18mm ply\n" " 720 x 300', Unit.MM, ["the name of the part above"]),
        ("18mm ply\n2 sides 720x560\nbottom same as top", Unit.MM, ["only a title"]),
        ("2 sides 720x560 18mm ply\nØ400 seat 18 mm MDF", Unit.MM, ["only a title"]),
    ],
)
def test_what_may_mean_two_things_is_asked(line: str, unit: Unit, readings: list[str]) -> None:
    found = asked(line, unit)
    last = f"line{line.count(chr(10)) + 1}"
    question = next(q for q in found.questions if q.id == last)
    assert [r.says for r in question.readings] == readings
    assert not any(row.line == question.line for row in found.rows)


def test_an_answer_makes_the_thickness() -> None:
    (row,) = asked("4 shelves 30 x 12 quarter inch", Unit.INCH, line1="2").rows
    assert (row.count, row.length, row.width, row.thickness_name) == (4, 30 * INCH, 12 * INCH, "1/4")
    (row,) = asked("4 shelves 30 x 12 quarter inch", Unit.INCH, line1="1").rows
    assert (row.width, row.thickness_name) == (49 * INCH // 4, None)
    (row,) = asked("1 back 2000 x 900 6mm", Unit.MM, line1="1").rows
    assert (row.length, row.width, row.thickness_name) == (2000 * MM, 900 * MM, "6 mm")


def test_four_feet_and_a_fraction_are_told_apart() -> None:
    (row,) = asked("2 pcs 2' x 4' 3/4 MDF", Unit.INCH, line1="1").rows
    assert row.width == 195 * INCH // 4
    (row,) = asked("2 pcs 2' x 4' 3/4 MDF", Unit.INCH, line1="2").rows
    assert (row.width, row.thickness_name) == (48 * INCH, "3/4")


def test_a_count_before_a_dash_stays_a_count_where_nothing_is_left_of_it() -> None:
    (row,) = asked("24 - 4 x 4 blocks 18mm MDF", Unit.MM).rows
    assert (row.count, row.name) == (24, "blocks")


def test_words_before_a_colon_name_the_part_or_are_listed() -> None:
    (row,) = asked("shelf, 18mm birch ply: 5 of 300 x 110", Unit.MM).rows
    assert (row.name, row.count) == ("shelf", 5)
    found = asked("Kitchen, 18mm birch ply: 5 shelves 300 x 110", Unit.MM)
    assert found.rows[0].name == "shelves"
    assert any("'Kitchen'" in remark.says for remark in found.unread)


def test_at_names_no_part() -> None:
    rows = asked("two at 300 x 120 in 18mm mdf", Unit.MM).rows
    assert [(r.name, r.count) for r in rows] == [("", 2)]


@pytest.mark.parametrize(
    ("line", "phrase", "readings"),
    [
        ("2 or 3 shelf A 24 x 12 @ 3/4 white oak", "2 or 3", [2, 3]),
        ("two or three shelves 24 x 12", "two or three", [2, 3]),
        ("2 to 3 pcs shelf 24 x 12", "2 to 3", [2, 3]),
        ("3 oder 4 @ 24 x 12", "3 oder 4", [3, 4]),
        ("shelf 24 x 12, 3 or 2", "3 or 2", [2, 3]),
        ("shelf 24 x 12 qty 2 or 3", "2 or 3", [2, 3]),
        ("3, maybe 4 shelves 24 x 12", "3, maybe 4", [3, 4]),
        ("2 or more shelves 24 x 12", "2 or more", [2]),
        ("4ish shelves 24 x 12", "4ish", [4]),
        ("ca 4 24L x 12W", "ca 4", [4]),
        ("ca. 4 shelves 24 x 12", "ca. 4", [4]),
        ("~4 shelves 24 x 12", "~4", [4]),
        ("shelves about 4 pcs 24 x 12", "about 4", [4]),
        ("at least 4 shelves 24 x 12", "at least 4", [4]),
    ],
)
def test_a_count_that_is_not_sure_is_asked(line: str, phrase: str, readings: list[int]) -> None:
    """Each reading leaves no word of it in the name."""
    (question,) = asked(line, Unit.INCH).questions
    assert question.unclear == f"'{phrase}': how many?"
    assert [r.says for r in question.readings] == [f"{n} pieces" for n in readings]
    for key, n in enumerate(readings, 1):
        found = asked(line, Unit.INCH, line1=str(key))
        (row,) = found.rows
        assert not found.questions and (row.count, row.length, row.width) == (n, 24 * INCH, 12 * INCH)
        assert row.name in ("shelf A", "shelves", "shelf", "")


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("panels 1 and 2 24 x 12 2 pcs", "panels 1 and 2"),
        ("2 cabinets or boxes 24 x 12", "cabinets or boxes"),
        ("door or drawer 2 pcs 24 x 12", "door or drawer"),
    ],
)
def test_numbers_and_words_that_count_nothing_stay_in_a_name(line: str, name: str) -> None:
    (row,) = asked(line, Unit.INCH).rows
    assert (row.count, row.name) == (2, name)


@pytest.mark.parametrize(
    ("line", "rip", "note", "material"),
    [
        ("2 cleats 24 x 3 rip from 2x4", "2x4", "rip from 2x4", ""),
        ("2 cleats 24 x 3, ripped from a 2 x 6, oak", "2x6", "ripped from a 2 x 6", "oak"),
        ("cleats (2) 24 x 3 - rip from 5/4x6", "5/4x6", "rip from 5/4x6", ""),
        ("2 cleats 24 x 3 (oak, rip from 2x4)", "2x4", "rip from 2x4", "oak"),
        ("2 cleats 24 x 3 (rip from 1x6 red oak)", "1x6", "rip from 1x6", "red oak"),
    ],
)
def test_what_lumber_a_part_is_ripped_from_is_no_second_size(
    line: str, rip: str, note: str, material: str
) -> None:
    found = asked(line, Unit.INCH)
    (row,) = found.rows
    assert not found.questions and (row.count, row.name) == (2, "cleats")
    assert (row.rip_from, row.note, row.material) == (rip, note, material)


@pytest.mark.parametrize(
    "line",
    [
        "rip from 2x4",
        "2 cleats rip from 2x4",
        "rip from 2x4: 2 cleats 24 x 3",
        "2 cleats 24 x 3 rip from 2x4x96",
        "2 cleats 24 x 3 rip from 4x8 sheet",
        "2 cleats rip from 2x4 24",
    ],
)
def test_lumber_to_rip_from_without_a_size_of_the_part_or_with_more_is_asked(line: str) -> None:
    assert asked(line, Unit.INCH).questions
