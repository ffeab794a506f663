"""Several jobs in one plan: whose each part is, one after another never cheaper, and apart again."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard import yard as yards
from stockyard.desk import costs, paperwork
from stockyard.desk import jobs as desk_jobs
from stockyard.desk.ask_planner import Asked
from stockyard.desk.label_data import part_labels_of
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import keep, plan_and_store
from stockyard.desk.planning import How, plan
from stockyard.desk.together import answer_together, look_together, plan_together, shares
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.limits import Limits
from stockyard.planning.problem import MONEY, Kind
from stockyard.settings import Settings
from stockyard.yard import Yard, jobs
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, JobPart, State, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, by_tag, shelve
from stockyard.yard.places import add_place
from stockyard.yard.planned import GivenPart
from stockyard.yard.plans import standing_plan
from stockyard.yard.pulling import pull, to_pull
from stockyard.yard.spoiled import spoil
from stockyard.yard.together import join
from stockyard.yard.undo import undo
from tests.desk.test_random_yards import cut_list
from tests.desk.test_random_yards import shop as random_shop
from tests.quick_plans import plan_here

PLY = "birch ply 18 mm"


@pytest.fixture(autouse=True)
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    plan_here(monkeypatch)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    """Three sheets, and two jobs that each take half of one."""
    with yards.new(tmp_path / "yard.db", Settings()) as y:
        add_place(y, "RACK", Storage.FLAT)
        made = add_material(y, "birch ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
        add_price(y, made.id, 2440 * MM, 1220 * MM, 60 * MONEY)
        full = Arrival(
            material_id=made.id, kind=Kind.FULL, length=2440 * MM, width=1220 * MM, place="RACK", count=3
        )
        shelve(y, [full])
        for name, count in (("hall", 2), ("bench", 2)):
            side = JobPart(name="side", count=count, length=1200 * MM, width=590 * MM, materials=(PLY,))
            jobs.add_job(y, name, name, [side])
        yield y
        assert check_yard(y).differences == ()


def test_two_half_sheets_become_one_and_it_is_said_what_that_saves(shop: Yard) -> None:
    made = plan_together(shop, ["hall", "bench"], How(work=2))
    assert len(made.rows) == 1 and made.promised
    assert (
        "hall: 2 parts from card 1 (card 1 with others); its share of the full pieces by area: 30.00 EUR."
        in [say.replace("EUR 30.00", "30.00 EUR") for say in made.says]
    )
    assert any("Planned one after another they would take" in say and "60" in say for say in made.says)


def test_each_part_is_cut_for_its_own_job_and_both_are_done(shop: Yard) -> None:
    plan_together(shop, ["hall", "bench"], How(work=2))
    hall, bench = (jobs.job(shop, name) for name in ("hall", "bench"))
    holder = jobs.planned_as(shop, hall)
    (piece,) = to_pull(shop, holder.id)
    labels = part_labels_of(shop, holder, standing_plan(shop, holder.id))  # type: ignore[arg-type]
    assert (
        sorted((label.job, label.part) for label in labels)
        == [("bench", "side")] * 2 + [("hall", "side")] * 2
    )
    pull(shop, [piece.tag])
    confirm_cut(shop, piece.tag)
    for one in (hall, bench):
        assert jobs.cut_so_far(shop, one.id)["side"] == 2
        assert jobs.job_by_id(shop, one.id).state == "done"
    side = next(p for p in desk_jobs.show_job(shop, "hall").parts)
    assert side.cut == 2
    spoil(shop, piece.tag, [given("hall: side")], [])
    assert jobs.job(shop, "hall").state == "open" and jobs.cut_so_far(shop, hall.id)["side"] == 1


def given(name: str) -> GivenPart:
    return GivenPart(name=name, length=1200 * MM, width=590 * MM)


def test_papers_of_any_of_them_are_those_of_all(shop: Yard) -> None:
    plan_together(shop, ["hall", "bench"], How(work=2))
    assert paperwork.cards(shop, "hall") == paperwork.cards(shop, "bench")
    assert {p.line for card in paperwork.cards(shop, "hall") for p in card.parts} == {
        "hall: side",
        "bench: side",
    }


def test_released_they_are_planned_each_for_itself_again(shop: Yard) -> None:
    plan_together(shop, ["hall", "bench"], How(work=2))
    assert desk_jobs.release(shop, "bench", "no").job == "hall + bench"
    assert [j.name for j in jobs.jobs(shop)] == ["hall", "bench"]
    assert plan(shop, "hall", How(work=2)).rows and standing_plan(shop, jobs.job(shop, "bench").id) is None


def test_one_plan_for_both_can_be_looked_at_before_it_is_kept(shop: Yard) -> None:
    plan(shop, "hall", How(work=2))
    (before,) = to_pull(shop, jobs.job(shop, "hall").id)
    made = look_together(shop, ["hall", "bench"], How(work=2))
    assert len(made.rows) == 1 and not made.promised and made.rows[0]["piece"] == before.tag
    assert any("Planned one after another" in say for say in made.says)
    assert by_tag(shop, before.tag).state is State.PROMISED
    assert [j.together_id for j in jobs.jobs(shop)] == [None, None]


def test_what_a_shared_piece_cost_is_each_jobs_by_the_area_of_its_parts(shop: Yard) -> None:
    small = JobPart(name="lid", count=1, length=600 * MM, width=590 * MM, materials=(PLY,))
    jobs.add_job(shop, "box", "box", [small])
    plan_together(shop, ["hall", "box"], How(work=2))
    (piece,) = to_pull(shop, jobs.planned_as(shop, jobs.job(shop, "hall")).id)
    pull(shop, [piece.tag])
    confirm_cut(shop, piece.tag)
    hall, box = (costs.cost_of(shop, name) for name in ("hall", "box"))
    assert hall.parts.area == 2 * 1200 * 590 * MM * MM and box.parts.area == 600 * 590 * MM * MM
    both = costs.job_costs(shop)
    assert {both[j].job for j in both} == {"hall", "box"}
    assert hall.drawn.money + box.drawn.money == by_tag(shop, piece.tag).cost
    assert abs(hall.drawn.money - 4 * box.drawn.money) <= 4
    (month,) = costs.month_costs(shop)
    assert month.used.area == hall.parts.area + box.parts.area
    by_job = {c.job: c for c in costs.month_jobs(shop)}
    assert by_job == {"box": box, "hall": hall}
    assert box.cost + hall.cost == costs.cost_of(shop, "hall + box").cost


def test_a_plan_that_cannot_be_made_leaves_all_as_it_was(shop: Yard) -> None:
    plan(shop, "hall", How(work=2))
    (before,) = to_pull(shop, jobs.job(shop, "hall").id)
    strange = JobPart(name="door", count=1, length=500 * MM, width=300 * MM, materials=("teak 20 mm",))
    jobs.add_job(shop, "ship", "ship", [strange])
    with pytest.raises(BadInput, match="teak"):
        plan_together(shop, ["hall", "ship"], How(work=2))
    assert by_tag(shop, before.tag).state is State.PROMISED
    with pytest.raises(BadInput, match="at least two"):
        plan_together(shop, ["hall", "hall"], How(work=2))


def never_dearer(folder: Path, seed: int) -> None:
    """One after another as the jobs are planned and promised one by one, each by itself."""
    dice = random.Random(seed)
    asked = Asked(limits=Limits(seconds=None, work=2), compare=False)
    with random_shop(folder / f"{seed}.db", dice) as y:
        made = [cut_list(y, dice, name) for name in ("first", "second", "third")]
        alone = [plan_and_store(y, job, asked)[0] for job in made]
        for _ in made:
            undo(y)
        joined, _ = join(y, [job.id for job in made])
        answer, _ = answer_together(y, joined, asked)
        missing = sum(a.facts.missing for a in alone)
        assert answer.facts.missing <= missing
        if answer.facts.missing == missing:
            assert answer.facts.to_pay <= sum(a.facts.to_pay for a in alone)
        keep(y, answer)
        assert sum(share.cost for share in shares(answer)) == (answer.facts.money if answer.layouts else 0)
        assert check_yard(y).differences == ()


@pytest.mark.parametrize("seed", [1])
def test_a_random_triple_is_never_dearer_than_one_after_another(tmp_path: Path, seed: int) -> None:
    never_dearer(tmp_path, seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [3, *range(200, 249)])
def test_50_random_triples_are_never_dearer_than_one_after_another(tmp_path: Path, seed: int) -> None:
    never_dearer(tmp_path, seed)
