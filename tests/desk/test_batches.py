"""Batches at the desk: parts from pieces that a caliper finds alike, and the pull list that says so."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.desk.ask_planner import Asked
from stockyard.desk.job_list import Ways, understand
from stockyard.desk.papers import papers_of
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import plan_and_store
from stockyard.desk.planning import refuse_hopeless
from stockyard.desk.questions import questions
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.limits import Limits
from stockyard.planning.problem import Kind
from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.jobs import add_job
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Job, Storage
from stockyard.yard.pieces import Arrival, by_tag, shelve
from stockyard.yard.places import add_place
from stockyard.yard.plans import standing_plan

MM = TICKS_PER_MM
LIST = "Shelves, 18 mm oak ply\n2 shelf 700 x 350, batch dado\n1 back 700 x 300"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    with yard.new(tmp_path / "yard.db", Settings()) as y:
        add_place(y, "RACK", Storage.FLAT)
        add_material(y, "oak ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
        yield y


def lay(y: Yard, tenths: int | None, count: int = 1, kind: Kind = Kind.OFFCUT) -> str:
    """Shelve pieces that give one shelf each."""
    thick = None if tenths is None else tenths * MM // 10
    one = Arrival(
        material_id=1, kind=kind, length=800 * MM, width=400 * MM, place="RACK", count=count, thickness=thick
    )
    return shelve(y, [one])[0].tag


def pasted(y: Yard, text: str = LIST, **answers: str) -> Job:
    found = understand(y, text, Ways(first="along", answers=answers))
    assert not found.questions
    return add_job(y, "shelves", text, found.parts)


def shelves(y: Yard, job: Job) -> list[int | None]:
    """Return what the pieces measure that give the shelves, in tenths of a millimetre."""
    plan_and_store(y, job, Asked(limits=Limits(seconds=None, work=1), compare=False))
    plan = standing_plan(y, job.id)
    assert plan is not None and check_yard(y).differences == ()
    given = [x for x in plan.layouts if any(p.name == "shelf" for p in x.placed)]
    thick = [by_tag(y, x.tag).thickness for x in given if x.tag]
    return sorted((t if t is None else t * 10 // MM for t in thick), key=str)


def test_a_batch_comes_from_pieces_that_measure_alike(shop: Yard) -> None:
    for tenths in (174, 178, 179, 182):
        lay(shop, tenths)
    job = pasted(shop)
    assert shelves(shop, job) == [178, 179]
    said = papers_of(shop, job).pull_list.cautions
    assert "batch dado (shelf): 17.8 mm to 17.9 mm stock" in said


def test_full_pieces_of_one_place_are_told_apart_by_what_they_measure(shop: Yard) -> None:
    for tenths in (174, 178, 182):
        lay(shop, tenths, kind=Kind.FULL)
    lay(shop, 182, kind=Kind.FULL)
    assert shelves(shop, pasted(shop)) == [182, 182]


def test_pieces_of_a_delivery_that_nobody_measured_go_together_alone(shop: Yard) -> None:
    lay(shop, None, count=2, kind=Kind.FULL)
    lay(shop, 178)
    job = pasted(shop)
    assert shelves(shop, job) == [None, None]
    assert "batch dado (shelf): one delivery that nobody measured" in papers_of(shop, job).pull_list.cautions


UNSERVED = (
    "batch dado: no pieces that measure within 0.2 mm of each other can give all of its parts "
    "(shelf and others): measure more pieces, or take some parts out of the batch"
)
OF_TWO = "1 shelf 700 x 350 oak ply 18 mm, batch dado\n1 side 700 x 350 ash ply 18 mm, batch dado"


def lay_two(shop: Yard) -> None:
    """Shelve a piece for each part of `OF_TWO`, too unlike for one batch."""
    lay(shop, 174)
    ash = Arrival(
        material_id=2,
        kind=Kind.OFFCUT,
        length=800 * MM,
        width=400 * MM,
        place="RACK",
        thickness=182 * MM // 10,
    )
    shelve(shop, [ash])


def test_a_batch_that_the_stock_cannot_serve_is_refused(shop: Yard) -> None:
    add_material(shop, "ash ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
    job = pasted(shop, OF_TWO)
    lay_two(shop)
    for refuse in (lambda: questions(shop, job), lambda: refuse_hopeless(shop, job.name)):
        with pytest.raises(BadInput) as refused:
            refuse()
        assert str(refused.value) == UNSERVED


def test_a_list_with_a_batch_that_the_stock_cannot_serve_is_asked_about(shop: Yard) -> None:
    add_material(shop, "ash ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
    lay_two(shop)
    text = f"Shelves\n{OF_TWO}\n1 back 300 x 300 oak ply 18 mm, batch tongue"
    (question,) = understand(shop, text, Ways(first="along")).questions
    assert (question.id, question.line, question.lines, question.unclear) == ("batch2", 2, (2, 3), UNSERVED)
    assert [p.batch for p in pasted(shop, text, batch2="keep").parts] == ["dado", "dado", "tongue"]
    free = understand(shop, text, Ways(first="along", answers={"batch2": "none"}))
    assert [p.batch for p in free.parts] == ["", "", "tongue"] and not free.questions
    with pytest.raises(BadInput, match="say keep or none"):
        understand(shop, text, Ways(first="along", answers={"batch2": "perhaps"}))
