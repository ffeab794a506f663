"""A stored job changed: one deed, what was cut stays counted, the plan is broken only where it must be."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.errors import BadInput, Refused
from stockyard.yard import jobs, pieces, plans, pulling, undo
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.job_edit import Edit, edit_job
from stockyard.yard.model import Job, JobPart, State
from tests.yard.shop import MM, Shop, add_job, plan_for, state_of


def changed(job: Job, at: int, **fields: object) -> Edit:
    kept = dict(enumerate(job.parts))
    kept[at] = replace(kept[at], **fields)  # type: ignore[arg-type]
    return Edit(kept=kept)


def test_a_count_and_a_size_are_changed_in_one_deed_and_undone(shop: Shop) -> None:
    job = add_job(shop.yard)
    before, deeds = state_of(shop.yard), shop.yard.one("SELECT count(*) FROM deed")
    done = edit_job(shop.yard, job.id, changed(job, 0, count=9, length=650 * MM), "more of it")
    assert (done.job.parts[0].count, done.job.parts[0].length) == (9, 650 * MM)
    assert shop.yard.one("SELECT count(*) FROM deed") == deeds + 1
    undo.undo(shop.yard)
    assert state_of(shop.yard) == before


def test_parts_come_and_go_and_keep_their_order(shop: Shop) -> None:
    job = add_job(shop.yard)
    new = JobPart(name="plinth", count=1, length=600 * MM, width=80 * MM, materials=("birch ply 18 mm",))
    added = edit_job(shop.yard, job.id, Edit(dict(enumerate(job.parts)), (new,)), "a plinth").job
    assert [p.name for p in added.parts] == [*(p.name for p in job.parts), "plinth"]
    kept = {len(added.parts) - 1: added.parts[-1]}
    assert edit_job(shop.yard, job.id, Edit(kept), "only that").job.parts == (new,)
    with pytest.raises(BadInput, match="would have no parts"):
        edit_job(shop.yard, job.id, Edit({}), "nothing")


def test_a_plan_is_broken_by_a_size_and_not_by_a_note(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    job = jobs.job_by_id(shop.yard, plan.job_id)
    noted = edit_job(shop.yard, job.id, changed(job, 0, note="show face out"), "a note")
    assert not noted.to_plan and plans.plan_by_id(shop.yard, plan.id).state == "standing"
    sized = edit_job(shop.yard, job.id, changed(noted.job, 0, length=690 * MM), "shorter")
    assert sized.to_plan and plans.plan_by_id(shop.yard, plan.id).state == "broken"


def test_what_was_cut_stays_counted_under_a_new_name(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    job = jobs.job_by_id(shop.yard, plan.job_id)
    more = edit_job(shop.yard, job.id, changed(job, 0, count=5), "more").job
    confirm_cut(shop.yard, shop.sheets[0].tag)
    done = edit_job(shop.yard, job.id, changed(more, 0, name="end"), "renamed")
    assert done.called == {job.parts[0].name: "end"}
    assert jobs.cut_so_far(shop.yard, job.id)["end"] == 2
    assert jobs.still_to_cut(shop.yard, done.job)["end"] == 3


def test_what_was_cut_in_another_size_counts_no_more(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    job = jobs.job_by_id(shop.yard, plan.job_id)
    more = edit_job(shop.yard, job.id, changed(job, 0, count=5), "more").job
    confirm_cut(shop.yard, shop.sheets[0].tag)
    sized = edit_job(shop.yard, job.id, changed(more, 0, length=640 * MM), "shorter").job
    assert jobs.still_to_cut(shop.yard, sized)[sized.parts[0].name] == 5


def test_fewer_than_are_cut_already_is_refused(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    job = jobs.job_by_id(shop.yard, plan.job_id)
    confirm_cut(shop.yard, shop.sheets[0].tag)
    with pytest.raises(Refused, match="cut already: it cannot be 1"):
        edit_job(shop.yard, job.id, changed(jobs.job_by_id(shop.yard, job.id), 0, count=1), "fewer")


def test_a_job_whose_last_parts_are_taken_out_is_done_and_gives_its_pieces_back(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.sheets[1])
    job = jobs.job_by_id(shop.yard, plan.job_id)
    job = edit_job(shop.yard, job.id, changed(job, 0, count=4), "four").job
    pulling.pull(shop.yard, [shop.sheets[0].tag, shop.sheets[1].tag])
    confirm_cut(shop.yard, shop.sheets[0].tag)
    ended = edit_job(shop.yard, job.id, changed(job, 0, count=2), "two will do")
    assert ended.job.state == "done" and not ended.to_plan
    assert pieces.by_tag(shop.yard, shop.sheets[1].tag).state is State.BENCH
    again = edit_job(shop.yard, job.id, changed(ended.job, 0, count=3), "one more")
    assert again.job.state == "open"


def test_nothing_changed_and_a_name_taken_are_refused(shop: Shop) -> None:
    job, other = add_job(shop.yard), add_job(shop.yard, "other")
    with pytest.raises(Refused, match="nothing about job"):
        edit_job(shop.yard, job.id, Edit(dict(enumerate(job.parts))), "nothing")
    with pytest.raises(Refused, match="there is a job OTHER already"):
        edit_job(shop.yard, job.id, Edit(dict(enumerate(job.parts)), name="OTHER"), "name")
    assert edit_job(shop.yard, other.id, Edit(dict(enumerate(other.parts)), name="Other"), "name").job.name
