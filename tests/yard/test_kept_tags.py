"""A plan made again: leftovers of layouts that did not change keep the tags that are printed already."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.yard import pieces, pulling
from stockyard.yard.planned import PlannedCut, PlannedLeftover, StoredLayout, StoredPlan
from tests.yard.shop import MM, Shop, add_job, full, layout, planned, store


def cut(step: int, piece: str, at: int, low: str | None, high: str | None) -> PlannedCut:
    return PlannedCut(
        step=step, piece=piece, direction="crosscut", at=at * MM, fence=at * MM, low=low, high=high
    )


def sawn(n: int, piece: pieces.Piece) -> StoredLayout:
    """A sheet that gives two sides and two leftovers in two cuts."""
    return replace(
        layout(n, piece, leftovers=((1000, 400), (300, 500))),
        cuts=(cut(1, "stock", 700, "a", "left 1"), cut(2, "a", 500, f"side {2 * n - 1}", f"side {2 * n}")),
    )


def to_buy(n: int, shop: Shop) -> StoredLayout:
    return replace(sawn(n, shop.sheets[0]), tag=None)


def tags(plan: StoredPlan) -> list[tuple[str | None, ...]]:
    return [tuple(left.tag for left in x.leftovers) for x in plan.layouts]


def again(shop: Shop, plan: StoredPlan, *layouts: StoredLayout) -> StoredPlan:
    return store(shop.yard, plan.job_id, layouts, replaces=plan.id)


def test_a_layout_that_stays_keeps_its_tags_and_one_that_changed_gets_new_ones(shop: Shop) -> None:
    a, b, c, _ = shop.sheets
    first = store(shop.yard, add_job(shop.yard).id, [sawn(1, a), sawn(2, b)])
    changed = replace(sawn(1, a), leftovers=(PlannedLeftover(length=990 * MM, width=400 * MM),))
    # The other way round, so that copies of the side have other numbers now.
    second = again(shop, first, changed, sawn(2, b), sawn(3, c))
    assert tags(second)[1] == tags(first)[1]
    fresh = {*tags(second)[0], *tags(second)[2]}
    assert len(fresh) == 3 and not fresh & {t for row in tags(first) for t in row}


def test_the_numbers_of_copies_do_not_count(shop: Shop) -> None:
    a, b, *_ = shop.sheets
    first = store(shop.yard, add_job(shop.yard).id, [sawn(1, a), sawn(2, b)])
    second = again(shop, first, sawn(1, b), sawn(2, a))
    assert tags(second) == tags(first)[::-1]


OTHER = {
    "a part": lambda x: replace(x, placed=planned("side", 700 * MM, 500 * MM, 1)),
    "where a part lies": lambda x: replace(x, placed=(replace(x.placed[0], x=1), *x.placed[1:])),
    "how it lies": lambda x: replace(x, placed=(replace(x.placed[0], turned=True), *x.placed[1:])),
    "a fence": lambda x: replace(x, cuts=(replace(x.cuts[0], fence=1), *x.cuts[1:])),
    "a direction": lambda x: replace(x, cuts=(replace(x.cuts[0], direction="rip"), *x.cuts[1:])),
    "what is cut": lambda x: replace(x, cuts=(x.cuts[0], replace(x.cuts[1], piece="left 1"))),
    "what is waste": lambda x: replace(x, cuts=(x.cuts[0], replace(x.cuts[1], high=None))),
    "a leftover": lambda x: replace(x, leftovers=(replace(x.leftovers[0], y=1), *x.leftovers[1:])),
    "a factory edge": lambda x: replace(
        x, leftovers=(replace(x.leftovers[0], factory=("x_low",)), *x.leftovers[1:])
    ),
}


@pytest.mark.parametrize("what", OTHER)
def test_any_other_difference_gives_new_tags(shop: Shop, what: str) -> None:
    first = store(shop.yard, add_job(shop.yard).id, [sawn(1, shop.sheets[0])])
    second = again(shop, first, OTHER[what](sawn(1, shop.sheets[0])))
    assert not {*tags(first)[0]} & {*tags(second)[0]}


def test_the_same_cuts_in_another_piece_give_new_tags(shop: Shop) -> None:
    first = store(shop.yard, add_job(shop.yard).id, [sawn(1, shop.sheets[0])])
    second = again(shop, first, sawn(1, shop.sheets[1]))
    assert not {*tags(first)[0]} & {*tags(second)[0]}


def test_pieces_to_be_bought_keep_their_tags_each_once_and_when_they_are_bought(shop: Shop) -> None:
    first = store(shop.yard, add_job(shop.yard).id, [to_buy(1, shop), to_buy(2, shop)])
    second = again(shop, first, to_buy(1, shop), to_buy(2, shop), to_buy(3, shop))
    assert tags(second)[:2] == tags(first)
    assert not {*tags(second)[2]} & {t for row in tags(first) for t in row}
    (bought,) = pieces.shelve(shop.yard, [full(shop.ply)])
    third = again(shop, second, sawn(1, bought), to_buy(2, shop), to_buy(3, shop))
    assert tags(third) == tags(second)


def test_a_broken_plan_made_again_keeps_what_it_can(shop: Shop) -> None:
    a, b, c, _ = shop.sheets
    first = store(shop.yard, add_job(shop.yard).id, [sawn(1, a), sawn(2, b)])
    pulling.report_gone(shop.yard, a.tag, "warped")
    second = again(shop, first, sawn(1, c), sawn(2, b))
    assert tags(second)[1] == tags(first)[1]
    assert not {*tags(second)[0]} & {*tags(first)[0]}
