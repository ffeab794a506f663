"""Plans: promises, releases, replacements, and plans that lose a piece."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.errors import Refused
from stockyard.yard import cutting, jobs, measuring, pieces, plans, pulling
from stockyard.yard.model import JobPart, State
from stockyard.yard.planned import GivenPart, StoredLayout
from tests.yard.shop import MAKING, MM, SHEET, Shop, add_job, full, layout, plan_for, state_of, store


def test_a_plan_promises_all_its_pieces_and_reads_back(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.offcut)
    assert [pieces.by_tag(shop.yard, x.tag or "").state for x in plan.layouts] == [State.PROMISED] * 2
    again = plans.plan_by_id(shop.yard, plan.id)
    assert again == plan
    assert again.making == MAKING
    assert all(left.tag for x in again.layouts for left in x.leftovers)


def test_a_promised_piece_is_not_promised_twice_and_nothing_is_stored(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    second = add_job(shop.yard, "shed")
    before = state_of(shop.yard)
    with pytest.raises(plans.PiecesTaken) as refused:
        store(shop.yard, second.id, [layout(1, shop.sheets[1]), layout(2, shop.sheets[0])])
    assert refused.value.tags == (shop.sheets[0].tag,)
    assert state_of(shop.yard) == before


def test_a_piece_measured_again_meanwhile_is_named(shop: Shop) -> None:
    job = add_job(shop.yard)
    stale = layout(1, shop.offcut)
    measuring.remeasure(shop.yard, shop.offcut.tag, 1190 * MM, 600 * MM)
    with pytest.raises(plans.PiecesTaken, match="another size now"):
        store(shop.yard, job.id, [stale])


def test_one_plan_of_a_job_stands(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    with pytest.raises(Refused, match="another plan"):
        store(shop.yard, plan.job_id, [layout(1, shop.sheets[1])])


def test_a_plan_that_replaces_another_may_use_its_pieces(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.sheets[1])
    pulling.pull(shop.yard, [shop.sheets[0].tag, shop.sheets[1].tag])
    newer = store(shop.yard, plan.job_id, [layout(1, shop.sheets[0])], replaces=plan.id)
    assert (newer.number, plans.plan_by_id(shop.yard, plan.id).state) == (2, "released")
    assert pieces.by_tag(shop.yard, shop.sheets[0].tag).state is State.PULLED
    assert pieces.by_tag(shop.yard, shop.sheets[1].tag).state is State.BENCH


def test_a_released_plan_gives_its_pieces_back(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.sheets[1])
    pulling.pull(shop.yard, [shop.sheets[1].tag])
    plans.release_plan(shop.yard, plan.id)
    assert pieces.by_tag(shop.yard, shop.sheets[0].tag).state is State.RACKED
    assert pieces.by_tag(shop.yard, shop.sheets[1].tag).state is State.BENCH
    with pytest.raises(Refused, match="released already"):
        plans.release_plan(shop.yard, plan.id)


def test_a_missing_piece_breaks_its_plan_and_names_the_job(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.sheets[1])
    broken = pulling.report_gone(shop.yard, shop.sheets[0].tag, "not there")
    assert broken is not None and broken.job_name == "kitchen"
    assert plans.plan_by_id(shop.yard, plan.id).state == "broken"
    gone = pieces.by_tag(shop.yard, shop.sheets[0].tag)
    assert (gone.state, gone.gone_because) == (State.GONE, "not there")
    again = store(shop.yard, plan.job_id, [layout(1, shop.sheets[1])], replaces=plan.id)
    assert again.state == "standing"


def test_a_bought_sheet_stands_in_for_one_of_its_size(shop: Shop) -> None:
    job = add_job(shop.yard)
    wanted = StoredLayout(number=1, tag=None, material_id=shop.ply.id, length=SHEET[0], width=SHEET[1])
    store(shop.yard, job.id, [wanted])
    (bought,) = pieces.shelve(shop.yard, [full(shop.ply)])
    pulling.pull(shop.yard, [bought.tag], job.id)
    plan = plans.standing_plan(shop.yard, job.id)
    assert plan is not None and plan.layouts[0].tag == bought.tag
    with pytest.raises(Refused, match="nothing like it is wanted there"):
        pulling.pull(shop.yard, [shop.sheets[0].tag], job.id)


def test_a_piece_nobody_planned_cannot_be_pulled(shop: Shop) -> None:
    with pytest.raises(Refused, match="at R1-B2-S3"):
        pulling.pull(shop.yard, [shop.sheets[0].tag])


def test_the_pull_list_goes_from_the_top_down(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.sheets[3], shop.offcut)
    listed = pulling.to_pull(shop.yard, plan.job_id)
    assert [p.tag for p in listed] == [shop.offcut.tag, shop.sheets[3].tag, shop.sheets[0].tag]


def test_the_last_cut_closes_plan_and_job_and_the_parts_are_counted(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.sheets[1])
    assert not cutting.confirm_cut(shop.yard, shop.sheets[0].tag).plan_done
    assert cutting.confirm_cut(shop.yard, shop.sheets[1].tag).plan_done
    assert plans.plan_by_id(shop.yard, plan.id).state == "done"
    assert jobs.job_by_id(shop.yard, plan.job_id).state == "done"
    assert jobs.cut_so_far(shop.yard, plan.job_id) == {"side": 4}


def test_a_spoiled_part_keeps_the_job_open_and_is_named(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    done = cutting.confirm_cut(
        shop.yard,
        shop.sheets[0].tag,
        parts=[GivenPart(name="side", length=700 * MM, width=500 * MM, count=1)],
    )
    assert done.plan_done and done.missing == (("side", 1),)
    assert plans.plan_by_id(shop.yard, plan.id).state == "done"
    job = jobs.job_by_id(shop.yard, plan.job_id)
    assert job.state == "open"
    assert jobs.still_to_cut(shop.yard, job) == {"side": 1}


def test_a_promised_piece_that_measures_less_breaks_its_plan(shop: Shop) -> None:
    plan = plan_for(shop, shop.offcut)
    p = shop.offcut
    larger = measuring.remeasure(shop.yard, p.tag, p.length + 2 * MM, p.width)
    assert plans.broken_plan(shop.yard, larger) is None
    less = measuring.remeasure(shop.yard, p.tag, p.length - 20 * MM, p.width)
    broken = plans.broken_plan(shop.yard, less)
    assert broken is not None and (broken.job_name, broken.tag) == ("kitchen", p.tag)
    stored = plans.plan_by_id(shop.yard, plan.id)
    assert stored.state == "broken" and stored.why == f"{p.tag} measures only 1180 x 600"


def test_every_line_of_a_job_has_a_name_of_its_own(shop: Shop) -> None:
    parts = [JobPart(name=n, count=1, length=MM, width=MM) for n in ("door", "door", "door (2)", "door")]
    job = jobs.add_job(shop.yard, "doors", "doors", parts)
    names = [name for name, _ in jobs.named_parts(job)]
    assert names == ["door", "door (2)", "door (2) (2)", "door (3)"]


def test_a_job_with_a_plan_is_not_removed(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    with pytest.raises(Refused, match="a plan of job kitchen holds pieces"):
        jobs.remove_job(shop.yard, plan.job_id)
    plans.release_plan(shop.yard, plan.id)
    jobs.remove_job(shop.yard, plan.job_id)
    assert jobs.jobs(shop.yard) == ()
    assert add_job(shop.yard).name == "kitchen"


def test_a_job_reads_back_as_it_was_stored(shop: Shop) -> None:
    part = jobs.JobPart(
        name="top", count=3, length=5, width=7, thickness_name="18 mm", materials=("birch ply", "öak, red"),
        bands=("L1", "W2"), finished_length=6, finished_width=8, priority=2, note="=1+1",
    )  # fmt: skip
    stored = jobs.add_job(shop.yard, "  a   bench ", "text\nof it", [part, replace(part, materials=None)])
    read = jobs.job(shop.yard, "a b")
    assert read == stored
    assert (read.name, read.text, read.parts[0]) == ("a bench", "text\nof it", part)
