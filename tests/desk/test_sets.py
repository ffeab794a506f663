"""Matched sets at the desk: from a pasted list to plan, cards, labels, changes, and what is cut already."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.desk.ask_planner import Asked
from stockyard.desk.job_change import Wishes, change_job
from stockyard.desk.job_list import Ways, understand
from stockyard.desk.label_data import part_labels_of
from stockyard.desk.papers import papers_of
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import Answer, plan_and_store
from stockyard.desk.planning import How
from stockyard.desk.questions import questions
from stockyard.desk.replan import plan_again
from stockyard.desk.set_marks import Copy, with_words
from stockyard.desk.sets import groups_left, loose_sets
from stockyard.desk.summary import summary
from stockyard.desk.together import plan_together
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_MM, Length, Unit
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Placement
from stockyard.planning.problem import Kind, Part, Problem, Run
from stockyard.printing.cut_cards import cards_pdf
from stockyard.printing.papers import DrawnPart
from stockyard.printing.step_rows import step_rows
from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.jobs import add_job, job_by_id, planned_job
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Job, Storage
from stockyard.yard.pieces import Arrival, shelve
from stockyard.yard.places import add_place
from stockyard.yard.planned import StoredPlan
from stockyard.yard.plans import standing_plan
from stockyard.yard.pulling import pull
from stockyard.yard.undo import undo
from tests.quick_plans import plan_here

MM = TICKS_PER_MM
QUICK = Asked(limits=Limits(seconds=None, work=2))
LIST = """Chest, 18 mm oak ply
4 side 700 x 400
fronts, 18 mm oak ply, grain matched
2 top 600 x 140
2 middle 600 x 180
2 bottom 600 x 220
"""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    with yard.new(tmp_path / "yard.db", Settings()) as y:
        add_place(y, "RACK", Storage.FLAT)
        add_material(y, "oak ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
        yield y


def lay(y: Yard, length: int = 2440, width: int = 1220, kind: Kind = Kind.FULL, count: int = 2) -> None:
    one = Arrival(material_id=1, kind=kind, length=length * MM, width=width * MM, place="RACK", count=count)
    shelve(y, [one])


def pasted(y: Yard, text: str = LIST) -> Job:
    found = understand(y, text, Ways(first="along"))
    assert not found.questions
    return add_job(y, "chest", text, found.parts)


def planned(y: Yard, job: Job) -> tuple[Answer, StoredPlan]:
    answer, _ = plan_and_store(y, job, QUICK, plan_again)
    plan = standing_plan(y, job.id)
    assert plan is not None
    return answer, plan


def test_a_pasted_set_becomes_a_group_of_the_question(shop: Yard) -> None:
    lay(shop)
    job = pasted(shop)
    assert [(p.name, p.set_name, p.set_run, p.set_each) for p in job.parts] == [
        ("side", "", "", 0), ("top", "fronts", "across", 1), ("middle", "fronts", "across", 1),
        ("bottom", "fronts", "across", 1),
    ]  # fmt: skip
    [group] = questions(shop, job)[0].problem.groups
    assert (group.id, group.run, group.members, group.count) == (
        "fronts", Run.ACROSS, ("top", "middle", "bottom"), 2,
    )  # fmt: skip
    planned(shop, job)
    assert check_yard(shop).differences == ()


def test_cards_say_to_mark_the_face_before_a_set_is_cut_apart(shop: Yard) -> None:
    lay(shop)
    job = pasted(shop)
    planned(shop, job)
    cards = papers_of(shop, job).cards
    marked = [step for card in cards for step in card.steps if step.panel]
    assert sorted(step.panel for step in marked) == ["fronts A", "fronts B"]
    assert {(step.length, step.width) for step in marked} == {(600 * MM, (140 + 180 + 220 + 2 * 3) * MM)}
    said = [row.mark for card in cards for row in step_rows(card) if row.mark]
    assert all(text.startswith("mark the face before this cut: one triangle across") for text in said)
    assert [one.title for card in cards for one in card.sets] == ["fronts A", "fronts B"]
    assert b"%PDF" in cards_pdf(cards)[:8]


def test_labels_say_where_a_part_belongs(shop: Yard) -> None:
    lay(shop)
    job = pasted(shop)
    _, plan = planned(shop, job)
    said = sorted((label.part, label.matched) for label in part_labels_of(shop, job, plan))
    assert said == [
        ("bottom", "fronts A 3 of 3, below 2"), ("bottom", "fronts B 3 of 3, below 2"),
        ("middle", "fronts A 2 of 3, below 1"), ("middle", "fronts B 2 of 3, below 1"),
        ("side", ""), ("side", ""), ("side", ""), ("side", ""),
        ("top", "fronts A 1 of 3, above 2"), ("top", "fronts B 1 of 3, above 2"),
    ]  # fmt: skip


def test_the_number_of_a_set_is_kept_apart_from_that_of_its_part() -> None:
    lying = (Placement("a", 0, 0, 600 * MM, 140 * MM), Placement("b", 0, 143 * MM, 600 * MM, 140 * MM))
    parts = [
        DrawnPart(name=p.part, line=p.part, x=Length(p.x), y=Length(p.y), dx=Length(p.dx), dy=Length(p.dy))
        for p in lying
    ]
    assert [p.matched for p in with_words(parts, [Copy("set 1", Run.ACROSS, lying)])] == [
        "set 1: 1 of 2, above 2", "set 1: 2 of 2, below 1"
    ]  # fmt: skip


def test_a_set_that_fits_no_piece_says_what_it_needs_and_what_it_costs_split(shop: Yard) -> None:
    """Offcuts 500 mm wide hold no panel of 546 mm, but all the parts of both sets."""
    lay(shop, 2000, 500, Kind.OFFCUT, count=1)
    lay(shop, 1900, 500, Kind.OFFCUT, count=1)
    job = pasted(shop, LIST.replace("4 side 700 x 400\n", ""))
    answer, _ = planned(shop, job)
    says = " ".join(summary(answer, Unit.MM, "EUR", shop.settings.seconds))
    assert "the set fronts needs 600 mm x 546 mm of one piece" in says
    assert "Split, so that its parts come from several pieces, the set is cut too, for no more money." in says


def test_a_count_that_makes_no_whole_sets_is_refused_and_nothing_stored(shop: Yard) -> None:
    lay(shop)
    job = pasted(shop)
    with pytest.raises(BadInput) as refused:
        change_job(shop, "chest", Wishes(counts={"top": "3"}))
    assert str(refused.value) == (
        "set fronts takes 1 top, 1 middle, 1 bottom: 3 top, 2 middle, 2 bottom make no whole sets"
    )
    with pytest.raises(BadInput, match="set fronts: 'middle' and 'top' are not equally long"):
        change_job(shop, "chest", Wishes(sizes={"top": "610 x 140"}))
    assert job_by_id(shop, job.id) == job
    change_job(shop, "chest", Wishes(counts={"top": "3", "middle": "3", "bottom": "3"}))
    assert questions(shop, job_by_id(shop, job.id))[0].problem.groups[0].count == 3


def test_sets_stay_when_a_job_is_planned_again(shop: Yard) -> None:
    lay(shop, count=3)
    job = pasted(shop)
    planned(shop, job)
    change_job(shop, "chest", Wishes(counts={"side": "6"}))
    job = job_by_id(shop, job.id)
    _, plan = planned(shop, job)
    assert sorted(label.matched for label in part_labels_of(shop, job, plan))[-1].startswith("fronts B")
    assert check_yard(shop).differences == ()


def test_a_set_that_is_cut_is_not_asked_again(shop: Yard) -> None:
    lay(shop, 620, 1220, count=1)
    lay(shop)
    job = pasted(shop)
    _, plan = planned(shop, job)
    first = next(x for x in plan.layouts if any(p.name == "top" for p in x.placed))
    cut = sum(p.name == "top" for p in first.placed)
    assert first.tag is not None
    pull(shop, [first.tag], job.id)
    confirm_cut(shop, first.tag)
    left = [g for q in questions(shop, job) for g in q.problem.groups] if len(plan.layouts) > 1 else []
    assert sum(g.count for g in left) == 2 - cut


def test_what_is_undone_has_its_set_again(shop: Yard) -> None:
    lay(shop)
    job = pasted(shop)
    change_job(shop, "chest", Wishes(removed=("top", "middle", "bottom")))
    undo(shop)
    assert job_by_id(shop, job.id) == job


def test_what_is_left_of_a_set_cut_in_part_is_loose_and_said(shop: Yard) -> None:
    """One top is wanted again after both sets are cut: nothing of it can match any more."""
    job = pasted(shop)
    assert groups_left(job, {"top": 1, "middle": 0, "bottom": 0, "side": 4}) == ()
    [group] = groups_left(job, {"top": 1, "middle": 1, "bottom": 1})
    assert group.count == 1
    top = Part(id="top", length=600 * MM, width=140 * MM)
    assert list(loose_sets(job, Problem(stock=(), parts=(top,)))) == [
        "Set fronts is cut in part: top will be cut from any piece, and may not match."
    ]
    assert list(loose_sets(job, Problem(stock=(), parts=(top,), groups=(group,)))) == []


def test_jobs_planned_together_keep_their_sets(shop: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    plan_here(monkeypatch)
    lay(shop, count=4)
    pasted(shop)
    found = understand(shop, LIST, Ways(first="along"))
    add_job(shop, "second", LIST, found.parts)
    plan_together(shop, ["chest", "second"], How(work=1))
    joined = planned_job(shop, "chest")
    groups = [g for q in questions(shop, joined) for g in q.problem.groups]
    assert [(g.id, g.members[0], g.count) for g in groups] == [
        ("chest: fronts", "chest: top", 2), ("second: fronts", "second: top", 2),
    ]  # fmt: skip
    assert check_yard(shop).differences == ()
    plan = standing_plan(shop, joined.id)
    assert plan is not None
    said = [label.matched for label in part_labels_of(shop, joined, plan) if label.matched]
    assert len(said) == 12 and sum(text.startswith("second: fronts") for text in said) == 6
