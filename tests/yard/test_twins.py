"""Full pieces alike are interchangeable: the one that was taken is the one of the plan, and it is said."""

from __future__ import annotations

import pytest

from stockyard.errors import Refused
from stockyard.yard import pieces, plans, pulling, undo
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.model import State
from tests.yard.shop import Shop, add_job, cut_off, full, plan_for, state_of


def named(shop: Shop, plan_id: int) -> list[str | None]:
    return [x.tag for x in plans.plan_by_id(shop.yard, plan_id).layouts]


def test_another_one_of_the_stack_takes_the_place_of_the_one_named(shop: Shop) -> None:
    first, other, *_ = (p.tag for p in shop.sheets)
    plan, before = plan_for(shop, shop.sheets[0]), state_of(shop.yard)
    done = pulling.pull(shop.yard, [other])
    assert done.swapped == ((other, first),) and named(shop, plan.id) == [other]
    assert pieces.by_tag(shop.yard, first).state is State.RACKED
    assert pieces.by_tag(shop.yard, other).state is State.PULLED
    undo.undo(shop.yard)
    assert state_of(shop.yard) == before
    pulling.pull(shop.yard, [other])
    assert [p.tag for p in confirm_cut(shop.yard, other).offcuts] == [
        left.tag for left in plan.layouts[0].leftovers
    ]


def test_what_is_scanned_is_not_swapped_out_by_the_next_scan(shop: Shop) -> None:
    a, b, c, d = (p.tag for p in shop.sheets)
    plan = plan_for(shop, shop.sheets[0], shop.sheets[1])
    done = pulling.pull(shop.yard, [c, a])
    assert set(named(shop, plan.id)) == {a, c} and done.swapped == ((c, b),)
    with pytest.raises(Refused, match=f"{d} cannot be pulled"):
        pulling.pull(shop.yard, [d])


def test_one_promised_to_another_job_changes_places_with_its_twin(shop: Shop) -> None:
    own, theirs = shop.sheets[:2]
    mine = plan_for(shop, own)
    other = plan_for(shop, theirs, job=add_job(shop.yard, "other"))
    done = pulling.pull(shop.yard, [theirs.tag], mine.job_id)
    assert done.swapped == ((theirs.tag, own.tag),)
    assert named(shop, mine.id) == [theirs.tag] and named(shop, other.id) == [own.tag]
    assert pieces.by_tag(shop.yard, own.tag).plan_id == other.id


def test_where_two_jobs_want_one_like_it_the_job_must_be_said(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    plan_for(shop, shop.sheets[1], job=add_job(shop.yard, "other"))
    with pytest.raises(Refused, match="is like pieces of kitchen, other"):
        pulling.pull(shop.yard, [shop.sheets[2].tag])


def test_an_offcut_of_the_same_size_is_no_twin(shop: Shop) -> None:
    plan_for(shop, shop.offcut)
    (alike,) = pieces.shelve(shop.yard, [cut_off(shop.ply, 1200, 600)])
    with pytest.raises(Refused, match="cannot be pulled"):
        pulling.pull(shop.yard, [alike.tag])


def test_what_is_at_the_saw_already_is_counted_as_such(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.sheets[1])
    tags = [p.tag for p in shop.sheets[:2]]
    pulling.pull(shop.yard, tags[:1])
    done = pulling.pull(shop.yard, tags)
    assert ([p.tag for p in done.already], [p.tag for p in done.pieces]) == (tags[:1], tags[1:])
    again = pulling.pull(shop.yard, tags, plan.job_id)
    assert len(again.already) == 2 and not again.pieces


def test_a_sheet_bought_takes_the_place_of_one_still_on_the_racks_or_to_buy(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    (bought,) = pieces.shelve(shop.yard, [full(shop.ply, 1, at="R1-B1")])
    assert pulling.pull(shop.yard, [bought.tag], plan.job_id).swapped == ((bought.tag, shop.sheets[0].tag),)
