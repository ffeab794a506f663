"""Rough, then final, at the desk: the size that is sawn, what is planed, both on card and label."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from stockyard import yard
from stockyard.cutlist.lumber import Lumber
from stockyard.desk import jobs, stock
from stockyard.desk.allowances import over_said, roughened, usual_by, usual_over
from stockyard.desk.ask_planner import Asked
from stockyard.desk.job_change import Wishes, change_job
from stockyard.desk.job_list import JobList, Ways, understand
from stockyard.desk.label_data import part_labels_of
from stockyard.desk.papers import papers_of
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import plan_and_store
from stockyard.desk.questions import questions
from stockyard.errors import BadInput
from stockyard.kinds import Method
from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import Length, Unit
from stockyard.planning.limits import Limits
from stockyard.printing.step_rows import band_notes
from stockyard.rough import Over, read_milled, says
from stockyard.settings import Settings, inch_shop
from stockyard.yard import Yard
from stockyard.yard.jobs import add_job
from stockyard.yard.jobs import job as job_named
from stockyard.yard.materials import material, named
from stockyard.yard.model import Form, JobPart, Storage
from stockyard.yard.pieces import Arrival, shelve
from stockyard.yard.places import add_place
from stockyard.yard.plans import standing_plan
from stockyard.yard.store import settings_of

LIST = "red oak 4/4\n4 legs 28 x 2 1/4\n2 rails 30 x 3, as is\n1 top 36 x 5 oversize 1/2"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    with yard.new(tmp_path / "yard.db", inch_shop()) as y:
        add_place(y, "WALL", Storage.BRACKETS)
        oak = stock.MaterialFacts(measured="1", rough="usual")
        stock.add_material(y, "red oak", "4/4", Form.BOARD, oak)
        yield y


def lay(y: Yard, thick: int | None = None, count: int = 3) -> None:
    shelve(y, [Arrival(material_id=1, kind="full", length=96 * INCH, width=8 * INCH, place="WALL",
                       count=count, thickness=thick)])  # fmt: skip


def heard(y: Yard, text: str, **answers: str) -> JobList:
    return understand(y, text, Ways(first="along", answers=answers))


def test_the_usual_allowance_is_that_of_the_handbooks() -> None:
    # Furniture-making handbooks: +1/2 in length, +1/4 in width, 3/32 in a planed face; 12, 6, 2.5 mm.
    over = usual_over(inch_shop())
    assert (over.length, over.width, over.face) == (INCH // 2, INCH // 4, INCH * 3 // 32)
    # Of rough quarters that leaves what the hardwood trade calls surfaced two sides (the table of
    # `cutlist/lumber.py` names its source).
    for name, rough in (("4/4", 1.0), ("5/4", 1.25), ("6/4", 1.5)):
        quarter = Lumber().quarters[name]
        assert over.planed(round(rough * INCH)) == quarter.two_sides


def test_a_job_keeps_both_sizes(shop: Yard) -> None:
    found = heard(shop, LIST)
    assert not found.questions
    # By hand: 28 + 1/2, 2 1/4 + 1/4; 1 - 2 x 3/32 = 13/16.
    legs, rails, top = found.parts
    assert (legs.length, legs.width) == (28 * INCH + INCH // 2, 2 * INCH + INCH // 2)
    assert legs.trimmed == (legs.finished_length, legs.finished_width) == (28 * INCH, 2 * INCH + INCH // 4)
    assert legs.final_thickness == 13 * INCH // 16
    assert (rails.length, rails.width, rails.rough) == (30 * INCH, 3 * INCH, False)
    assert (top.length, top.width, top.final_thickness) == (73 * INCH // 2, 11 * INCH // 2, 13 * INCH // 16)
    add_job(shop, "stand", LIST, found.parts)
    assert job_named(shop, "stand").parts[0].trimmed == legs.trimmed
    assert jobs.show_job(shop, "stand").parts[0].then == "trim to 28 × 2 1/4, plane to 13/16″"


def test_bands_come_off_before_the_allowance_comes_on(shop: Yard) -> None:
    text = "red oak 4/4\n1 top 36 x 5, banded all round with 1/8 in maple"
    (top,) = understand(shop, text, Ways(first="along", finished=True)).parts
    # By hand: 36 - 2 x 1/8 + 1/2 and 5 - 2 x 1/8 + 1/4.
    assert (top.length, top.width) == (36 * INCH + INCH // 4, 5 * INCH)
    assert top.trimmed == (36 * INCH - INCH // 4, 5 * INCH - INCH // 4)
    assert (top.finished_length, top.finished_width) == (36 * INCH, 5 * INCH)


def test_papers_show_both_sizes_and_the_plan_is_true(shop: Yard) -> None:
    lay(shop)
    job = add_job(shop, "stand", LIST, heard(shop, LIST).parts)
    plan_and_store(shop, job, Asked(limits=Limits(seconds=None, work=1), compare=False))
    plan = standing_plan(shop, job.id)
    assert plan is not None and check_yard(shop).differences == ()
    legs = next(label for label in part_labels_of(shop, job, plan) if label.part == "legs")
    assert (legs.length, legs.width) == (28 * INCH, 9 * INCH // 4)
    assert legs.cut == (57 * INCH // 2, 5 * INCH // 2) and legs.then == "plane to 13/16″"
    notes = [note for card in papers_of(shop, job).cards for note in band_notes(card)]
    assert "legs: rough 28 1/2 × 2 1/2, trim to 28 × 2 1/4, plane to 13/16″" in notes
    assert not any(note.startswith("rails") for note in notes)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("4 slips 28 x 1/8", "the allowance of 1/4″ is larger than its width of 1/8″"),
        ("1 thick 10 x 3 x 7/8", "leaves 13/16″ of stock 1″ thick, and it is to be 7/8″"),
    ],
)
def test_what_can_not_be_milled_is_asked_by_its_line(shop: Yard, line: str, says: str) -> None:
    (question,) = heard(shop, f"red oak 4/4\n{line}").questions
    assert question.id == "rough2" and says in question.unclear
    (part,) = heard(shop, f"red oak 4/4\n{line}", rough2="as is").parts
    assert not part.rough
    with pytest.raises(BadInput, match="rough2"):
        heard(shop, f"red oak 4/4\n{line}", rough2="maybe")


def test_a_board_that_measures_less_than_the_job_needs_is_left_on_the_wall(shop: Yard) -> None:
    lay(shop, thick=15 * INCH // 16)
    job = add_job(shop, "stand", LIST, heard(shop, LIST).parts)
    answer, _ = plan_and_store(shop, job, Asked(limits=Limits(seconds=None, work=1), compare=False))
    # Only the rails, which are not planed, come from a board of 15/16.
    assert {u.part for u in answer.plan.unplaced} == {"legs", "top"}
    assert all("it is planed from 1″" in u.reason for u in answer.plan.unplaced)
    lay(shop, thick=INCH, count=2)
    answer, _ = plan_and_store(shop, job, Asked(limits=Limits(seconds=None, work=1), compare=False))
    assert not answer.plan.unplaced


def test_a_rough_board_is_jointed_along_one_edge(shop: Yard) -> None:
    lay(shop)
    job = add_job(shop, "stand", LIST, heard(shop, LIST).parts)
    (question,) = questions(shop, job)
    trims = (
        {s.edge_trim.y_low for s in question.problem.stock},
        {s.edge_trim.y_high for s in question.problem.stock},
    )
    assert trims == ({INCH // 8}, {0})


def test_a_stored_part_may_be_sawn_otherwise(shop: Yard) -> None:
    add_job(shop, "stand", LIST, heard(shop, LIST).parts)
    change_job(shop, "stand", Wishes(allowances={"legs": "as is", "rails": "usual", "top": "1 x 1/2"}))
    legs, rails, top = job_named(shop, "stand").parts
    assert (legs.length, legs.rough, legs.finished_length) == (28 * INCH, False, None)
    assert (rails.length, rails.final_thickness) == (30 * INCH + INCH // 2, 13 * INCH // 16)
    assert (top.length, top.width, top.trimmed) == (37 * INCH, 11 * INCH // 2, (36 * INCH, 5 * INCH))
    assert top.final_thickness == 13 * INCH // 16
    for said, why in (("40 x 1", "larger than its length"), ("much", "not a length")):
        with pytest.raises(BadInput, match=why):
            change_job(shop, "stand", Wishes(allowances={"top": said}))
    assert job_named(shop, "stand").parts[2] == top


def test_a_material_takes_its_own_allowance_and_loses_it_again(shop: Yard) -> None:
    stock.change_material(shop, "red oak", stock.MaterialFacts(rough="1 x 1/2, 1/16 a face"))
    over = named(shop, "red oak").over
    assert over is not None and (over.length, over.width, over.face) == (INCH, INCH // 2, INCH // 16)
    with pytest.raises(BadInput, match="leaves nothing of stock 1″ thick"):
        stock.change_material(shop, "red oak", stock.MaterialFacts(rough="1 x 1, 1/2 a face"))
    stock.change_material(shop, "red oak", stock.MaterialFacts(rough="as is"))
    assert material(shop, 1).over is None
    assert not any(part.rough for part in heard(shop, "red oak 4/4\n4 legs 28 x 2").parts)


def test_an_allowance_is_that_of_the_machines_which_a_material_passes(shop: Yard) -> None:
    """The planer takes 1/4 in length and 1/16 a face, the jointer 1/8 in width and 1/32 a face."""
    said = stock.change_material(
        shop, "red oak", stock.MaterialFacts(rough="the jointer and planer 3/4 x 0, 1/8 a face")
    )
    assert said.milled == "3/4 x 1/8, 5/32 a face (jointer 0 x 1/8, 1/32 a face; planer 3/4 x 0, 1/8 a face)"
    assert [(t.machine, t.length, t.width, t.face) for t in said.takes] == [
        ("jointer", 0, INCH // 8, INCH // 32), ("planer", INCH * 3 // 4, 0, INCH // 8),
    ]  # fmt: skip
    (leg,) = heard(shop, "red oak 4/4\n4 legs 28 x 2 1/4").parts
    assert (leg.length, leg.width) == (28 * INCH + INCH * 3 // 4, 2 * INCH + INCH * 3 // 8)
    assert leg.final_thickness == INCH - INCH * 5 // 16
    again = stock.change_material(shop, "red oak", stock.MaterialFacts(rough="planer"))
    assert again.milled == "1/4 x 0, 1/16 a face (planer 1/4 x 0, 1/16 a face)"
    whole = stock.change_material(shop, "red oak", stock.MaterialFacts(rough="1/2 x 1/4"))
    assert (whole.milled, whole.takes) == ("1/2 x 1/4, 0 a face", ())
    assert check_yard(shop).differences == ()


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("planer; planer 1 x 0", "the planer is named twice"),
        ("planer; 1 x 1/2", "'1 x 1/2' names no machine"),
        ("planer a lot", "'a lot' is no"),
        ("planer 0 x 0, 1 a face", "leaves nothing of stock 1″ thick"),
        ("bandsaw 1", "no"),
    ],
)  # fmt: skip
def test_machines_that_can_not_be_are_refused(shop: Yard, said: str, why: str) -> None:
    before = material(shop, 1)
    with pytest.raises(BadInput, match=why):
        stock.change_material(shop, "red oak", stock.MaterialFacts(rough=said))
    assert material(shop, 1) == before


def test_what_older_yards_keep_as_one_figure_is_shared_by_two_machines() -> None:
    kept = {"rough_length": "38401", "rough_width": "100", "rough_face": "7"}
    over = usual_over(settings_of(kept))
    assert (over.length, over.width, over.face) == (38401, 100, 7)
    assert usual_over(settings_of(kept | {"saw_length": "0"})).length == 19200
    inches = {"rough_length": INCH // 2, "rough_width": INCH // 4, "rough_face": INCH * 3 // 32}
    assert usual_over(settings_of({k: str(v) for k, v in inches.items()})) == usual_over(inch_shop())


@pytest.mark.parametrize(
    "said", ["saw", "jointer + planer", "planer 10 x 0, 2 a face; saw: 0 x 4", "12 x 6, 2.5 a face"]
)
def test_an_allowance_is_written_so_that_it_is_read_again(said: str) -> None:
    over = read_milled(said, Unit.MM, usual_by(Settings()))
    assert read_milled(says(over, Unit.MM), Unit.MM, {}) == over


def stuff(
    over: Over | None = None, name: str = "4/4", form: Form = Form.BOARD, method: Method = Method.SAW,
    thickness: int = 1000,
) -> Any:  # fmt: skip
    return SimpleNamespace(over=over, thickness_name=name, form=form, method=method, thickness=thickness)


LONG, WIDE = Over(Length(40), Length(10), Length(3)), Over(Length(20), Length(30))
BOTH = Over(Length(40), Length(30), Length(3))


@pytest.mark.parametrize(
    ("said", "accepted", "taken"),
    [
        ("as is", [stuff(LONG)], None), ("", [stuff()], None), ("", [], None),
        ("", [stuff(LONG)], LONG), ("", [stuff(LONG), stuff(WIDE)], BOTH), ("", [stuff(LONG), stuff()], None),
        ("usual", [stuff(LONG), stuff()], LONG), ("usual", [stuff(WIDE), stuff(LONG), stuff()], BOTH),
        ("", [stuff(LONG, method=Method.ROUTER)], None), ("usual", [stuff(LONG, method=Method.ROUTER)], LONG),
        ("", [stuff(LONG, method=Method.ROUTER), stuff(WIDE)], None),
        ("usual", [stuff()], "planed"), ("usual", [stuff(), stuff(name="8/4")], "planed"),
        ("usual", [stuff(name="25 mm")], "sawn"), ("usual", [stuff(form=Form.SHEET)], "sawn"),
        ("usual", [stuff(), stuff(name="25 mm")], "sawn"), ("usual", [], "sawn"),
    ],
)  # fmt: skip
def test_a_part_is_sawn_for_its_materials_own_or_for_the_shops_where_it_asks(
    said: str, accepted: list[Any], taken: Over | str | None
) -> None:
    """Only boards in quarters of an inch are rough by their name, so only they are planed by usage."""
    usual = usual_over(inch_shop())
    expected = {"planed": usual, "sawn": replace(usual, face=Length(0))}
    assert over_said(said, accepted, inch_shop()) == (expected[taken] if isinstance(taken, str) else taken)


@pytest.mark.parametrize(
    ("face", "thick", "final", "planed"),
    [
        (20, [1000, 900], None, 860), (20, [1000], 800, 800), (20, [], None, None), (0, [1000], None, None),
        (0, [1000], 800, None), (20, [], 800, 800),
    ],
)  # fmt: skip
def test_what_a_part_is_planed_to_is_said_or_left_of_the_thinnest(
    face: int, thick: list[int], final: int | None, planed: int | None
) -> None:
    part = JobPart(name="leg", count=1, length=Length(7000), width=Length(600))
    over = Over(Length(100), Length(50), Length(face))
    made = roughened(part, over, [stuff(thickness=t) for t in thick], Unit.MM, final)
    assert (made.length, made.width, made.final_thickness) == (7100, 650, planed)
    assert (made.finished_length, made.finished_width) == (7000, 600)
    assert roughened(part, None, [], Unit.MM) == part
