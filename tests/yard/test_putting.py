"""Cancelled after pulling: all goes back where it came from in one deed; spoiled parts count no more."""

from __future__ import annotations

import pytest

from stockyard.errors import BadInput, Refused
from stockyard.yard import jobs, pieces, plans, pulling, putting, spoiled, undo
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.model import State
from stockyard.yard.planned import GivenPart
from tests.yard.shop import MM, Shop, full, layout, plan_for, state_of, store

SIDE = GivenPart(name="side", length=700 * MM, width=500 * MM)


def test_all_that_was_pulled_goes_back_where_it_came_from_in_its_order(shop: Shop) -> None:
    (other,) = pieces.shelve(shop.yard, [full(shop.ply, 1, at="R1-B1")])
    lay = [p.tag for p in pieces.at_place(shop.yard, "R1-B2-S3")]
    plan = plan_for(shop, *shop.sheets, shop.offcut, other)
    pulling.pull(shop.yard, [*lay, other.tag])
    assert pieces.at_place(shop.yard, "R1-B2-S3") == ()
    before = state_of(shop.yard)
    back = putting.cancel(shop.yard, plan.id, "the customer is gone")
    assert {p.state for p in back} == {State.RACKED}
    assert [p.tag for p in pieces.at_place(shop.yard, "R1-B2-S3")] == lay
    assert [p.tag for p in pieces.at_place(shop.yard, "R1-B1")] == [other.tag]
    assert plans.plan_by_id(shop.yard, plan.id).state == "released"
    undo.undo(shop.yard)
    assert state_of(shop.yard) == before


def test_a_piece_cut_already_and_an_offcut_without_a_place_stay_as_they_are(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.sheets[1])
    pulling.pull(shop.yard, [p.tag for p in shop.sheets[:2]])
    (left,) = confirm_cut(shop.yard, shop.sheets[0].tag).offcuts
    back = putting.cancel(shop.yard, plan.id, "no")
    assert [p.tag for p in back] == [shop.sheets[1].tag]
    assert pieces.by_tag(shop.yard, left.tag).state is State.BENCH
    assert putting.came_from(shop.yard, left.tag) is None


def test_several_pieces_are_put_away_at_once_or_none(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    (left,) = confirm_cut(shop.yard, shop.sheets[0].tag).offcuts
    with pytest.raises(Refused, match="is not on the bench"):
        putting.put_away(shop.yard, [(left.tag, "R1-B1"), (shop.sheets[1].tag, "R1-B1")])
    assert pieces.by_tag(shop.yard, left.tag).state is State.BENCH
    (put,) = putting.put_away(shop.yard, [(left.tag, "R1-B1")])
    assert put.state is State.RACKED
    with pytest.raises(BadInput, match="which pieces"):
        putting.put_away(shop.yard, [])


def test_a_spoiled_part_is_wanted_again_and_what_is_left_of_it_is_an_offcut(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    cut = confirm_cut(shop.yard, shop.sheets[0].tag)
    assert jobs.job_by_id(shop.yard, plan.job_id).state == "done"
    before = state_of(shop.yard)
    (left,) = spoiled.spoil(shop.yard, shop.sheets[0].tag, [SIDE], [(400 * MM, 500 * MM)])
    assert left.state is State.BENCH and left.parent == shop.sheets[0].tag and left.cost > 0
    job = jobs.job_by_id(shop.yard, plan.job_id)
    assert job.state == "open" and jobs.still_to_cut(shop.yard, job) == {"side": 1}
    scrap = shop.yard.one("SELECT scrap FROM cutting WHERE tag = ?", (shop.sheets[0].tag,))
    assert scrap == cut.scrap + 300 * 500 * MM**2
    undo.undo(shop.yard)
    assert state_of(shop.yard) == before


def test_no_more_is_spoiled_than_was_cut_and_no_more_is_left_than_it_was(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    tag = shop.sheets[0].tag
    with pytest.raises(Refused, match="is not cut"):
        spoiled.spoil(shop.yard, tag, [SIDE], [])
    confirm_cut(shop.yard, tag)
    three = GivenPart(name="side", length=SIDE.length, width=SIDE.width, count=3)
    with pytest.raises(Refused, match="gave 2 × side"):
        spoiled.spoil(shop.yard, tag, [three], [])
    with pytest.raises(Refused, match="cannot be larger"):
        spoiled.spoil(shop.yard, tag, [SIDE], [(701 * MM, 500 * MM)])


def test_a_cut_that_gives_less_than_planned_breaks_the_plan_and_says_what_lacks(shop: Shop) -> None:
    job = jobs.job_by_id(shop.yard, plan_for(shop, shop.sheets[0]).job_id)
    first = plans.standing_plan(shop.yard, job.id)
    assert first is not None
    plans.release_plan(shop.yard, first.id)
    plan = store(shop.yard, job.id, [layout(1, shop.sheets[0], parts=1), layout(2, shop.sheets[1], parts=1)])
    done = confirm_cut(shop.yard, shop.sheets[0].tag, parts=[], offcuts=[])
    assert not done.plan_done and done.missing == (("side", 1),) and done.still == (("side", 2),)
    assert plans.plan_by_id(shop.yard, plan.id).state == "broken"
