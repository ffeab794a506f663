"""A material is called otherwise: jobs, plans and papers that were made before go on with it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard import yard as yards
from stockyard.desk.ask_planner import Asked
from stockyard.desk.papers import papers_of
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import plan_and_store
from stockyard.desk.questions import questions
from stockyard.errors import BadInput
from stockyard.kinds import Form, Kind
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.limits import Limits
from stockyard.settings import Settings
from stockyard.yard import Yard, jobs, undo
from stockyard.yard.accepted import accepts
from stockyard.yard.materials import MaterialChange, add_material, change_material
from stockyard.yard.model import Job, JobPart, Material, Storage
from stockyard.yard.pieces import Arrival, shelve
from stockyard.yard.places import add_place

QUICK = Asked(limits=Limits(seconds=None, work=5), compare=False)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    with yards.new(tmp_path / "yard.db", Settings()) as y:
        add_place(y, "WALL", Storage.BRACKETS)
        yield y
        assert check_yard(y).differences == ()


def wood(y: Yard, name: str = "pine", thickness: str = "27 mm") -> Material:
    made = add_material(y, name, Form.BOARD, thickness, 27 * MM, grain=True)
    board = Arrival(
        material_id=made.id, kind=Kind.FULL, length=4000 * MM, width=200 * MM, place="WALL", count=2
    )
    shelve(y, [board])
    return made


def rail(y: Yard, *materials: str, thickness: str | None = None, name: str = "rails") -> Job:
    part = JobPart(
        name="rail", count=2, length=900 * MM, width=90 * MM, materials=materials or None,
        thickness_name=thickness,
    )  # fmt: skip
    return jobs.add_job(y, name, name, [part])


def asked(y: Yard, job: Job) -> set[str]:
    return {s.material for q in questions(y, jobs.job_by_id(y, job.id)) for s in q.problem.stock}


@pytest.mark.parametrize("words", [("pine 27 mm",), ("pine",)])
def test_a_job_and_its_plan_outlive_the_name_of_their_material(shop: Yard, words: tuple[str, ...]) -> None:
    pine = wood(shop)
    job = rail(shop, *words, thickness="27 mm")
    plan_and_store(shop, job, QUICK)
    change_material(shop, pine.id, MaterialChange(name="redwood", thickness_name="28 mm"))
    assert check_yard(shop).verified == 1
    assert [card.material for card in papers_of(shop, job).cards] == ["redwood 28 mm"]
    assert asked(shop, job) == {"redwood 28 mm"}
    answer, _ = plan_and_store(shop, jobs.job_by_id(shop, job.id), QUICK)
    assert not answer.plan.unplaced
    assert jobs.job_by_id(shop, job.id).parts[0].materials == words


def test_a_new_material_of_the_old_name_is_another(shop: Yard) -> None:
    pine = wood(shop)
    job = rail(shop, "pine 27 mm")
    change_material(shop, pine.id, MaterialChange(name="redwood"))
    wood(shop)
    assert asked(shop, job) == {"redwood 27 mm"}
    assert asked(shop, rail(shop, "pine 27 mm", name="new rails")) == {"pine 27 mm"}


def test_words_the_yard_does_not_know_yet_are_resolved_when_it_does(shop: Yard) -> None:
    wood(shop)
    job = rail(shop, "pine 27 mm", "larch 27 mm")
    assert jobs.job_by_id(shop, job.id).parts[0].material_ids == ()
    assert asked(shop, job) == {"pine 27 mm"}
    larch = wood(shop, "larch")
    assert asked(shop, job) == {"pine 27 mm", "larch 27 mm"}
    change_material(shop, larch.id, MaterialChange(name="Siberian larch"))
    assert asked(shop, job) == {"pine 27 mm", "Siberian larch 27 mm"}


def test_a_job_stored_before_ids_were_is_bound_by_the_renaming_and_set_free_by_its_undo(shop: Yard) -> None:
    pine = wood(shop)
    job = rail(shop, "larch", thickness="27 mm")
    with pytest.raises(BadInput, match="larch 27 mm, which the yard does not know"):
        questions(shop, job)
    # Its words were resolved to nothing when it was stored, as those of every job of an older yard.
    larch = wood(shop, "larch")
    assert jobs.job_by_id(shop, job.id).parts[0].material_ids == ()
    change_material(shop, larch.id, MaterialChange(name="cedar"))
    assert jobs.job_by_id(shop, job.id).parts[0].material_ids == (larch.id,)
    undo.undo(shop)
    assert jobs.job_by_id(shop, job.id).parts[0].material_ids == ()
    assert asked(shop, job) == {"larch 27 mm"} and pine.id != larch.id


def test_a_part_of_any_material_of_a_thickness_keeps_those_it_had_and_takes_new_ones(shop: Yard) -> None:
    pine = wood(shop)
    job = rail(shop, thickness="27 mm")
    change_material(shop, pine.id, MaterialChange(thickness_name="28 mm"))
    assert asked(shop, job) == {"pine 28 mm"}
    wood(shop, "larch")
    assert asked(shop, job) == {"pine 28 mm", "larch 27 mm"}


def test_a_change_that_is_no_renaming_binds_nothing(shop: Yard) -> None:
    wood(shop)
    job = rail(shop, thickness="27 mm")
    change_material(shop, 1, MaterialChange(note="from the mill"))
    assert jobs.job_by_id(shop, job.id).parts[0].material_ids == ()


def test_a_whole_title_needs_no_thickness_and_a_bare_name_does() -> None:
    pine = Material(id=4, name="pine", form=Form.BOARD, thickness_name="27 mm", thickness=27 * MM, grain=True)
    other = {"name": "x", "count": 1, "length": 1, "width": 1, "thickness_name": "19 mm"}
    assert accepts(JobPart(**other, materials=("pine 27 mm",)), pine)  # type: ignore[arg-type]
    assert not accepts(JobPart(**other, materials=("pine",)), pine)  # type: ignore[arg-type]
