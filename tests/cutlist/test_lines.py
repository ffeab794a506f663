"""Free lines: the ways people write one part, and what is asked instead of guessed."""

from __future__ import annotations

from fractions import Fraction

import pytest

from stockyard.cutlist import CutList, Grain, KnownMaterial, read
from stockyard.cutlist.model import Fate
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit

INCH, MM = TICKS_PER_INCH, TICKS_PER_MM


def inches(text: str, **ways: object) -> CutList:
    return read(text, unit=Unit.INCH, **ways)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("line", "count", "first", "second"),
    [
        ("2 sides 23-1/2 x 12", 2, "47/2", "12"),
        ("sides (2) 23 1/2 x 12", 2, "47/2", "12"),
        ("sides, 2, 23½ x 12", 2, "47/2", "12"),
        ("two sides 23.5 by 12", 2, "47/2", "12"),
        ("2x sides 23.5 x 12", 2, "47/2", "12"),
        ("2x 23.5 x 12 side", 2, "47/2", "12"),
        ("2x 23.5x12 side", 2, "47/2", "12"),
        ("2x 23.5 x12 side", 2, "47/2", "12"),
        ("2 off 23,5 × 12", 2, "47/2", "12"),
        ("qty: 2 side 1'-11 1/2\" x 1'", 2, "47/2", "12"),
        ("side 23 1/2” X 12” - 2 off", 2, "47/2", "12"),
        ("side 2 @ 23 1/2 * 12", 2, "47/2", "12"),
        ("2- side 23-1/2 x 12", 2, "47/2", "12"),
        ("3. side 2 pcs 23-1/2 x 12", 2, "47/2", "12"),
        ("Seite 2 Stk 23,5 x 12", 2, "47/2", "12"),
        ("- 2 sides 23.5 x 12", 2, "47/2", "12"),
        ("* 2 sides 23.5 x 12", 2, "47/2", "12"),
        ("[ ] 2 sides 23.5 x 12", 2, "47/2", "12"),
        ("２ sides 23.5 x 12", 2, "47/2", "12"),
        ("2 sides 23 1/2in x 12in", 2, "47/2", "12"),
        ("2 sides 23½\u200b x 12", 2, "47/2", "12"),
        ("2 req'd side 23 1/2 x 12", 2, "47/2", "12"),
        ("Shelf 3 - 2 pcs 23 1/2 x 12", 2, "47/2", "12"),
    ],
)
def test_ways_to_write_a_part(line: str, count: int, first: str, second: str) -> None:
    found = inches(line)
    assert not found.questions
    (row,) = found.rows
    assert (row.count, row.length, row.width) == (count, Fraction(first) * INCH, Fraction(second) * INCH)


@pytest.mark.parametrize(
    ("line", "column", "readings"),
    [
        ("2 3/4 x 12", 1, ["2 pieces, 3/4", "one piece, 2-3/4"]),
        ("2 x 20 x 30", 1, ["2 pieces", "one piece, 2 is part of its size"]),
        ("2x 20x 30", 1, ["2 pieces", "one piece, 2 is part of its size"]),
        ("2 x 20x30", 1, ["2 pieces", "one piece, 2 is part of its size"]),
        ("2x20x30", 1, ["2 pieces", "one piece, 2 is part of its size"]),
        ("side 20 x 30, 4", 15, ["4 pieces"]),
        ("Shelf 3: 12 x 30", 7, ["3 pieces", "one piece"]),
        ("20 x 30 x2", 10, ["2 pieces", "one piece, 2 thick"]),
        ("20 x 30 x100", 10, ["100 pieces", "one piece, 100 thick"]),
        ("2 sides 3 x 30 x 3", 9, ["3L x 30T x 3W", "3W x 30T x 3L"]),
        ("3 pcs 1,200 x 40", 7, ["1200", "1.2"]),
        ("1 back 35 -1/8 x 12", 8, ["35-1/8", "34-7/8"]),
        ("6 pcs 2 x 4 x 80", 7, ["2x4 lumber, 80 long", '2" x 4" as measured']),
        ("4 pcs 1x6 @ 8", 13, ["8 ft", "8 in"]),
        ("2 sides 30 x 2 x 10", 9, ["30L x 2T x 10W", "30W x 2T x 10L"]),
        ("2 sides 2 30 x 10", 1, ["2 pcs", "2 pcs"]),
        ("2) side 12 x 30", 1, ["2 pieces", "a list number, and one piece"]),
        ("4 drawer pairs 9 x 4", 10, ["4 pieces in all", "8 pieces in all"]),
        ("1O sides 12 x 30", 1, ["10 sides 12 x 30"]),
        ("sides 72", 7, ["only a title"]),
        ("two shelves", 1, ["only a title"]),
        ("2 pcs 0 x 10", 7, []),
        ("2 pcs -5 x 10", 7, []),
        ("0 pcs 5 x 10", 1, []),
        ("1000000000 pcs 3 x 5", 1, []),
        ("3 pcs 12 x 30 and 14 x 7 - 2 off - 3 off", 36, []),
        ("2 sides 12 x 30 17", 17, ["17 thick"]),
        ("2 sides 12 x 99999999", 14, []),
        ("2 sides 12 x 30 @ 7 @ 8", 9, []),
    ],
)
def test_doubt_becomes_a_question_with_its_place(line: str, column: int, readings: list[str]) -> None:
    found = inches(line)
    (question,) = found.questions
    assert not found.rows and found.fates == (Fate.QUESTION,)
    assert (question.line, question.column) == (1, column)
    assert [r.says for r in question.readings] == readings


@pytest.mark.parametrize(
    ("line", "answer", "count", "size"),
    [
        ("2 3/4 x 12", "1", 2, ("3/4", "12")),
        ("2 3/4 x 12", "2", 1, ("11/4", "12")),
        ("2 x 20 x 30", "2 pieces", 2, ("20", "30")),
        ("20 x 30 x2", "1", 2, ("20", "30")),
        ("side 20 x 30, 4", "1", 4, ("20", "30")),
        ("4 drawer pairs 9 x 4", "2", 8, ("9", "4")),
        ("Shelf 3: 12 x 30", "2", 1, ("12", "30")),
        ("nonsense 12", "3 sides 9 x 4", 3, ("9", "4")),
        ("2) side 12 x 30", "2", 1, ("12", "30")),
    ],
)
def test_an_answer_settles_its_line(line: str, answer: str, count: int, size: tuple[str, str]) -> None:
    found = inches(line, answers={"line1": answer})
    assert not found.questions
    (row,) = found.rows
    assert row.count == count
    assert (row.length, row.width) == tuple(Fraction(s) * INCH for s in size)
    assert row.text == line


def test_one_line_may_need_two_answers() -> None:
    line = "6 pcs 2 x 4 x 8"
    first = inches(line, answers={"line1": "1"})
    assert [q.id for q in first.questions] == ["line1.2"]
    (row,) = inches(line, answers={"line1": "1", "line1.2": "1"}).rows
    assert (row.nominal, row.count, row.length) == ("2x4", 6, 96 * INCH)


def test_a_line_may_be_left_out_but_not_silently() -> None:
    found = inches("2 sides 12 x 30\nsides 72", answers={"line2": "skip"})
    assert found.count == 2 and not found.questions
    assert [(r.line, r.says) for r in found.ignored] == [(2, "left out, as answered")]


def test_counts_that_are_missing_are_asked_once_a_list() -> None:
    found = inches("side 12 x 30\nback 11 x 29")
    assert [(q.id, q.lines) for q in found.questions] == [("count", (1, 2))]
    assert not inches("side 12 x 30", answers={"count": "one"}).questions


def test_bare_figures_that_look_like_the_other_unit_are_asked() -> None:
    asked = inches("2 sides 720 x 560")
    assert [q.id for q in asked.questions] == ["unit"]
    (row,) = inches("2 sides 720 x 560", answers={"unit": "mm"}).rows
    assert (row.length, row.width) == (720 * MM, 560 * MM)
    assert [q.id for q in read("2 sides 23-1/2 x 12", unit=Unit.MM).questions] == ["unit"]
    assert not read('2 sides 23-1/2" x 12', unit=Unit.MM).questions
    assert not read("2 sides 720 x 560", unit=Unit.MM).questions


def test_a_point_with_three_decimals_in_millimetres_may_be_a_thousand() -> None:
    (question,) = read("2 sides 1.198 x 560", unit=Unit.MM).questions
    assert [r.says for r in question.readings] == ["1198", "1.198"]
    (row,) = read("2 sides 1.198 x 560", unit=Unit.MM, answers={"line1": "1"}).rows
    assert row.length == 1198 * MM
    assert not inches("2 spacers 1.198 x 5").questions


def test_the_order_of_figures_is_asked_only_where_grain_matters() -> None:
    line = "2 sides 12 x 30"
    assert not inches(line).questions
    assert not inches(f"3/4 MDF\n{line}").questions
    assert [q.id for q in inches(f"3/4 birch ply\n{line}").questions] == ["first"]
    assert [q.id for q in inches(f"{line} (grain along)").questions] == ["first"]
    plain = KnownMaterial(name="painted panel", grain=False)
    veined = KnownMaterial(name="painted panel", grain=True)
    assert not inches(f"{line}, painted panel", materials=[plain]).questions
    assert [q.id for q in inches(f"{line}, painted panel", materials=[veined]).questions] == ["first"]
    for first, length in (("along", 12), ("across", 30)):
        (row,) = inches(f"3/4 birch ply\n{line}", first=first).rows
        assert row.length == length * INCH
    with pytest.raises(BadInput, match="along"):
        inches(line, first="sideways")


def test_thickness_first_is_its_own_question_for_grained_sheets() -> None:
    text = "birch ply\n2 sides 3/4 x 12 x 30"
    assert [q.id for q in inches(text).questions] == ["three"]
    (row,) = inches(text, answers={"three": "middle"}).rows
    assert (row.thickness, row.length, row.width) == (INCH * 3 // 4, 12 * INCH, 30 * INCH)


def test_letters_and_words_beside_figures_say_what_they_are() -> None:
    for line in (
        "2 sides 720mm L x 560 W x 18",
        "2 sides 560W x 720mm L x 18T",
        "2 sides 720mm long x 560 wide x 18",
    ):
        (row,) = inches(f"birch ply\n{line}").rows
        assert (row.length, row.width, row.thickness) == (720 * MM, 560 * MM, 18 * MM)
        assert not inches(f"birch ply\n{line}").questions


def test_a_heading_holds_until_the_next_and_a_plain_title_is_asked() -> None:
    text = "Carcass, 3/4 MDF\n2 sides 12 x 30\nDoors\n1 door 12 x 30\n1/4 hardboard\n1 back 12 x 30"
    found = inches(text)
    assert [(r.thickness_name, r.material) for r in found.rows] == [
        ("3/4", "MDF"), ("3/4", "MDF"), ("1/4", "hardboard"),
    ]  # fmt: skip
    assert [q.id for q in found.questions] == ["heading3"]
    none = inches(text, answers={"heading3": "no"})
    assert not none.questions and none.rows[1].material == ""


def test_a_name_that_speaks_of_another_material_is_asked() -> None:
    text = "3/4 MDF\n2 oak lippings 1 x 30"
    (question,) = inches(text).questions
    assert [r.says for r in question.readings] == ["of MDF, as the heading says", "of oak"]
    assert inches(text, answers={"line2": "2"}).rows[0].material == "oak"
    assert inches(text, answers={"line2": "1"}).rows[0].material == "MDF"


def test_material_and_thickness_beside_a_part() -> None:
    (row,) = inches("2 sides 12 x 30 in 1/2 baltic birch ply", first="along").rows
    assert (row.material, row.thickness_name) == ("baltic birch ply", "1/2")
    (row,) = inches("2 sides 12 x 30, red oak, for the door").rows
    assert (row.material, row.note) == ("red oak", "for the door")
    (row,) = read("2 sides 720 x 560 18 mm MDF", unit=Unit.MM).rows
    assert (row.material, row.thickness_name, row.thickness) == ("MDF", "18 mm", 18 * MM)


@pytest.mark.parametrize(
    ("size", "material", "same"),
    [
        ("3 mm", "3 mm", True), ("3 mm", "5 mm", False), ("3 mm", '3"', False), ('3"', "3 mm", False),
    ],
)  # fmt: skip
def test_a_thickness_named_twice_is_asked_unless_it_is_the_same(size: str, material: str, same: bool) -> None:
    """The same figure in another unit is another thickness."""
    questions = read(
        f"2 sides 720 mm x 560 mm x {size}, {material} ply", unit=Unit.MM, first="along"
    ).questions
    assert [q.unclear for q in questions] == (
        [] if same else [f"'{size}' and '{material}': which thickness?"]
    )


def test_lumber_headings_take_lengths_alone() -> None:
    found = inches("Bench, fir 2x4\n(4) 17 1/2\n3 legs @ 21\npine 1x6: 6 pcs 41 1/2")
    assert not found.questions
    assert [(r.count, r.nominal, r.material, r.length) for r in found.rows] == [
        (4, "2x4", "fir", INCH * 35 // 2), (3, "2x4", "fir", 21 * INCH), (6, "1x6", "pine", INCH * 83 // 2),
    ]  # fmt: skip


def test_grain_words() -> None:
    assert inches("2 sides 12 x 30 (any grain)").rows[0].grain is Grain.ANY
    assert inches("2 sides 12 x 30 (grain across)", first="along").rows[0].grain is Grain.ACROSS
    text = "2 sides 12 x 30 (grain vertical)"
    assert [q.id for q in inches(text).questions] == ["grain1"]
    (row,) = inches(text, answers={"grain1": "2"}).rows
    assert (row.length, row.width, row.grain) == (30 * INCH, 12 * INCH, Grain.ALONG)


def test_remarks_rules_and_job_data_are_named_as_no_parts() -> None:
    found = inches("# for Ana\nDate: 4 March\n-----\n2 sides 12 x 30\nTotal 2 pcs")
    assert [(r.line, r.says) for r in found.ignored] == [
        (1, "comment"), (2, "about the job"), (3, "only a rule"), (5, "a total of 2, and it agrees"),
    ]  # fmt: skip
    assert found.fates == (Fate.IGNORED, Fate.HEADING, Fate.IGNORED, Fate.ROW, Fate.TOTAL)


def test_a_total_over_open_lines_says_so() -> None:
    found = inches("2 sides 12 x 30\nsides 72\nTotal 5")
    assert "cannot be checked" in found.warnings[0].says


def test_a_square_section_is_no_nominal_size() -> None:
    (row,) = read("2 posts 6 sq x 80", unit=Unit.MM).rows
    assert row.nominal is None
    assert row.length * 6 == row.width * 80 and row.thickness == row.width


def test_a_clear_line_may_be_typed_anew() -> None:
    (row,) = inches("2 sides 12 x 30", answers={"line1": "3 sides 9 x 4"}).rows
    assert (row.count, row.length, row.width, row.text) == (3, 9 * INCH, 4 * INCH, "2 sides 12 x 30")


def test_an_answer_that_answers_nothing_is_refused() -> None:
    with pytest.raises(BadInput, match="does not answer first"):
        inches("3/4 birch ply\n2 sides 12 x 30", answers={"first": "upwards"})
