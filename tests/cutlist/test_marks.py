"""Letters beside figures: what they say is read, and what they leave open is asked."""

from __future__ import annotations

import pytest

from stockyard.cutlist import CutList, read
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit

INCH, MM = TICKS_PER_INCH, TICKS_PER_MM


def metric(text: str, **answers: str) -> CutList:
    return read(text, unit=Unit.MM, materials=("birch ply 18 mm",), answers=answers)


def sizes(found: CutList) -> list[tuple[int, int, int | None]]:
    return [(r.length // MM, r.width // MM, r.thickness and r.thickness // MM) for r in found.rows]


@pytest.mark.parametrize(
    "line",
    [
        "2 shelf 900L x 300W", "2 shelf 900l x 300w", "2 shelf 300W x 900 L", "2 shelf L900 x W300",
        "2 shelf l: 900 x w: 300", "2 shelf 900L, 300W", "2 shelf L=900 W=300", "2 shelf 900Lx300W",
        "2 shelf 900 long by 300 wide", "2 shelf W 300mm x L 900mm", "2 shelf 900L x 300D",
        "shelf 900 L 300 W, 2 off",
    ],
)  # fmt: skip
def test_length_and_width_are_plain(line: str) -> None:
    found = metric(line)
    assert not found.questions
    assert sizes(found) == [(900, 300, None)]
    assert (found.rows[0].count, found.rows[0].name, found.rows[0].note) == (2, "shelf", "")


@pytest.mark.parametrize(
    ("line", "pair", "first", "thick"),
    [
        ("2 top 860 W x 300 D", "WD", "W", None), ("2 top W860 x D300", "WD", "W", None),
        ("2 top 860 w x 300 d x 18", "WD", "W", 18), ("2 top W:860 D:300", "WD", "W", None),
        ("2 top 860H x 300W", "HW", "H", None), ("2 top 860Wx300H", "HW", "W", None),
        ("2 top h860 x w300 x t18", "HW", "H", 18), ("2 top 860h x 300d x 18", "HD", "H", 18),
        ("2 top 860 high x 300 deep x 18 thick", "HD", "H", 18),
    ],
)  # fmt: skip
def test_marks_of_furniture_ask_which_way_the_grain_runs(
    line: str, pair: str, first: str, thick: int | None
) -> None:
    (question,) = metric(line).questions
    assert (question.id, [r.key for r in question.readings]) == (f"grain-{pair}", list(pair))
    other = pair.replace(first, "")
    for answer, face in ((first, (860, 300)), (other, (300, 860))):
        found = metric(line, **{question.id: answer})
        assert not found.questions and sizes(found) == [(*face, thick)]
        assert found.rows[0].name == "top" and found.rows[0].note == ""


def test_one_answer_holds_for_both_orders_of_a_pair() -> None:
    text = "2 door 700H x 400W\n1 panel 300W x 650H"
    (question,) = metric(text).questions
    assert question.lines == (1, 2)
    assert sizes(metric(text, **{"grain-HW": "H"})) == [(700, 400, None), (650, 300, None)]


def test_nothing_is_asked_where_there_is_no_grain() -> None:
    assert not metric("18 mm MDF\n2 door 700H x 400W").questions


@pytest.mark.parametrize(
    ("line", "readings"),
    [
        ("2 door 700H x 400", [(700, 400), (400, 700)]),
        ("2 top 860W x 300", [(860, 300), (300, 860)]),
        ("2 shelf 900 x 300 deep", [(300, 900), (900, 300)]),
    ],
)
def test_a_lone_mark_is_asked(line: str, readings: list[tuple[int, int]]) -> None:
    assert len(metric(line).questions[0].readings) == len(readings)
    for n, face in enumerate(readings, 1):
        assert sizes(metric(line, line1=str(n))) == [(*face, None)]


def test_a_letter_before_the_size_may_belong_to_the_name() -> None:
    line = "2 drawer D 420 x 300"
    assert "or part of the name" in metric(line).questions[0].unclear
    assert metric(line, line1="2", first="along").rows[0].name == "drawer D"
    assert metric(line, line1="1").questions[0].id == "line1.2"


def test_three_outside_measures_ask_for_the_thickness() -> None:
    found = metric("2 side 720h x 560d x 18w", line1="1", **{"grain-HD": "H"})
    assert sizes(found) == [(720, 560, 18)]


def test_a_header_with_height_and_width_is_asked() -> None:
    text = "Part,Qty,H (mm),W (mm),T\ndoor,2,700,400,18"
    assert metric(text).questions[0].unclear == "columns H (mm) and W (mm): which lies along the grain?"
    assert sizes(metric(text, line1="1")) == [(700, 400, 18)]
    assert sizes(metric(text, line1="2")) == [(400, 700, 18)]


@pytest.mark.parametrize(
    ("line", "answer", "face"),
    [
        ("2 top 900mm x 24 1/2", "1", (900 * MM, 49 * INCH // 2)),
        ("2 top 60cm x 40", "1", (600 * MM, 400 * MM)),
        ("2 top 4' x 300", "1", (48 * INCH, 300 * MM)),
        ("2 top 4' x 8", "1", (48 * INCH, 96 * INCH)),
        ('2 top 900mm x 24" x 18', "1", (900 * MM, 24 * INCH)),
    ],
)
def test_a_bare_figure_that_may_not_share_the_unit_is_asked(
    line: str, answer: str, face: tuple[int, int]
) -> None:
    assert metric(line).questions[0].id == "line1"
    (row,) = metric(line, line1=answer, first="along").rows
    assert (row.length, row.width) == face


def test_an_inch_mark_holds_for_the_row_and_its_fractions() -> None:
    (row,) = metric("2 top 4' x 7 7/8", first="along").rows
    assert (row.length, row.width) == (48 * INCH, 63 * INCH // 8)


def test_a_bare_figure_beside_feet_is_inches_in_a_list_of_inches() -> None:
    (row,) = read("2 rail 8' x 6", unit=Unit.INCH, first="along", materials=("oak",)).rows
    assert (row.length, row.width) == (96 * INCH, 6 * INCH)


def test_inches_on_some_lines_only() -> None:
    text = "2 a 600 x 300\n2 b 24 1/2 x 30 x 18\n2 c 700 x 400"
    found = metric(text, unit="these", first="along")
    assert [(r.length, r.width) for r in found.rows] == [
        (600 * MM, 300 * MM), (49 * INCH // 2, 30 * INCH), (700 * MM, 400 * MM),
    ]  # fmt: skip
    assert found.rows[1].thickness == 18 * MM and not found.questions
