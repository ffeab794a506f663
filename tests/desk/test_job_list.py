"""A cut list against a yard: which material each row may be cut from, and what is stored."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard.desk.job_list import JobList, Ways, understand
from stockyard.desk.questions import questions
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit, parse
from stockyard.planning.problem import Grain
from stockyard.settings import inch_shop
from stockyard.yard import Yard, new
from stockyard.yard.jobs import add_job
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form

MATERIALS = (
    ("birch ply", Form.SHEET, "3/4", True), ("birch ply", Form.SHEET, "1/2", True),
    ("white oak ply", Form.SHEET, "3/4", True), ("MDF", Form.SHEET, "18 mm", False),
    ("fir", Form.BOARD, "2x4", True), ("pine", Form.BOARD, "1x6", True), ("walnut", Form.BOARD, "8/4", True),
)  # fmt: skip


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Yard]:
    with new(tmp_path / "yard.db", inch_shop()) as made:
        for name, form, thickness, grain in MATERIALS:
            add_material(made, name, form, thickness, parse("3/4", Unit.INCH), grain=grain)
        yield made


def read(yard: Yard, text: str, **answers: str) -> JobList:
    return understand(yard, text, Ways(answers=answers, first="along"))


def test_words_and_thickness_that_fit_one_material_name_it(yard: Yard) -> None:
    found = read(
        yard, "3/4 birch ply\n2 sides 12 x 30\n1/2 birch ply\n1 back 12 x 30\n8/4 walnut: 2 @ 3 x 40"
    )
    assert not found.questions
    assert [p.materials for p in found.parts] == [("birch ply 3/4",), ("birch ply 1/2",), ("walnut 8/4",)]
    assert [p.thickness_name for p in found.parts] == ["3/4", "1/2", "8/4"]


def test_several_that_fit_are_asked_and_never_chosen(yard: Yard) -> None:
    text = "2 sides 12 x 30 in 3/4"
    (question,) = read(yard, text).questions
    assert question.id == "material1"
    assert [r.key for r in question.readings] == ["birch ply 3/4", "white oak ply 3/4", "any sheet"]
    assert read(yard, text, material1="2").parts[0].materials == ("white oak ply 3/4",)
    both = read(yard, text, material1="birch ply 3/4, white oak ply 3/4").parts[0]
    assert both.materials == ("birch ply 3/4", "white oak ply 3/4") and both.thickness_name == "3/4"
    assert read(yard, text, material1="any sheet").parts[0].materials == both.materials
    with pytest.raises(BadInput, match="does not answer material1"):
        read(yard, text, material1="teak")


def test_the_one_that_fits_an_unnamed_thickness_is_taken_with_a_remark(yard: Yard) -> None:
    found = read(yard, "(4) 1x6 @ 6'\n10 pcs 2x2 @ 14\" (rip from 2x4)")
    assert [p.materials for p in found.parts] == [("pine 1x6",), ("fir 2x4",)]
    assert [p.width for p in found.parts] == [parse("5 1/2", Unit.INCH), parse("1 1/2", Unit.INCH)]
    assert "pine 1x6 is the only 1x6" in found.warnings[0].says


def test_what_the_yard_has_not_is_kept_as_written(yard: Yard) -> None:
    found = read(yard, "2 sides 300mm x 700 from 40mm acrylic")
    assert not found.questions and found.parts[0].materials == ("acrylic",)
    assert "add the material before planning" in found.warnings[0].says
    other = read(yard, "2 sides 12 x 30 in 1/4 birch ply")
    assert {r.key for r in other.questions[0].readings} == {"birch ply 1/2", "birch ply 3/4", "as written"}
    kept = read(yard, "2 sides 12 x 30 in 1/4 birch ply", material1="as written").parts[0]
    assert (kept.materials, kept.thickness_name) == (("birch ply",), "1/4")


def test_a_part_of_no_material_is_asked(yard: Yard) -> None:
    (question,) = read(yard, "2 sides 12 x 30").questions
    assert question.readings[-1].key == "any"
    part = read(yard, "2 sides 12 x 30", material1="any").parts[0]
    assert (part.materials, part.thickness_name) == (None, None)


def test_one_question_takes_a_material_for_each_line(yard: Yard) -> None:
    text = "2 sides 12 x 30\n2 ends 12 x 14\n1 lid 12 x 31"
    (question,) = read(yard, text).questions
    assert question.lines == (1, 2, 3)
    found = read(yard, text, material1="1: birch ply 3/4; 2: MDF 18 mm; 3: birch ply 3/4, white oak ply 3/4")
    assert not found.questions
    assert [p.materials for p in found.parts] == [
        ("birch ply 3/4",), ("MDF 18 mm",), ("birch ply 3/4", "white oak ply 3/4"),
    ]  # fmt: skip
    (left,) = read(yard, text, material1="2: MDF 18 mm").questions
    assert left.lines == (1, 3)
    assert read(yard, text, material1="2: MDF 18 mm").parts[1].materials == ("MDF 18 mm",)


def test_grain_matters_as_the_yard_says(yard: Yard) -> None:
    assert not understand(yard, "18 mm MDF\n2 sides 12 x 30", Ways()).questions
    assert [q.id for q in understand(yard, "3/4 birch ply\n2 sides 12 x 30", Ways()).questions] == ["first"]


def test_a_stored_job_holds_what_was_understood(yard: Yard) -> None:
    text = (
        "Part,Qty,L,W,Mat,Grain,Edges,Remark\ndoor,2,28,16,birch ply 3/4,any,4,pair up\n,1,30,12,MDF 18 mm,,,"
    )
    ways = Ways(finished=True, band_thickness=parse("1 mm", Unit.INCH))
    found = understand(yard, text, ways)
    assert not found.questions
    job = add_job(yard, "doors", text, found.parts)
    assert job.parts == found.parts and job.text == text
    door, other = job.parts
    # 28 in of 25.4 mm each are 711.2 mm; a band of 1 mm at either end leaves 709.2 mm to cut.
    assert (door.length, door.finished_length) == (7092 * MM // 10, 7112 * MM // 10)
    assert (door.grain, door.note) == (Grain.ANY, "pair up")
    assert (other.name, other.materials) == ("part 2", ("MDF 18 mm",))


def test_an_answer_to_no_question_is_refused(yard: Yard) -> None:
    for id in ("frist", "line9", "material", "line0"):
        with pytest.raises(BadInput, match="no question"):
            read(yard, "2 sides 12 x 30", **{id: "1"})


def test_nameless_lines_never_share_a_name(yard: Yard) -> None:
    text = "Name,Qty,L,W,Material\n,2,12,30,MDF\nPart 3,1,10,20,MDF\n,1,11,31,MDF\npart 1,1,9,9,MDF\n"
    assert [p.name for p in read(yard, text).parts] == ["part 2", "Part 3", "part 4", "part 1"]


def test_figures_show_as_written_while_their_unit_is_open(yard: Yard) -> None:
    found = read(yard, "3/4 birch ply\n2 sides 600 x 300")
    assert [q.id for q in found.questions] == ["unit"] and found.unit is Unit.MM
    assert (found.rows[0].length, found.rows[0].width) == (parse("600", found.unit), parse("300", found.unit))


def test_the_marks_of_furniture_may_be_answered(yard: Yard) -> None:
    found = read(yard, "3/4 birch ply\n2 doors 24H x 16W", **{"grain-HW": "W"})
    assert not found.questions and found.parts[0].length == parse("16", Unit.INCH)


def test_a_material_the_yard_does_not_know_is_named_with_its_thickness(yard: Yard) -> None:
    found = read(yard, "99 mm teak\n1 block 10 x 20")
    made = add_job(yard, "block", "", found.parts)
    with pytest.raises(BadInput, match="wants teak 99 mm, which"):
        questions(yard, made)
