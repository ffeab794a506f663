"""What a yard must not forget: prices by their day, plans that broke, and where a piece came from."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.errors import Refused
from stockyard.kinds import Kind
from stockyard.yard import flows, offers, pieces, plans, pulling
from tests.yard.shop import MM, SHEET, Shop, cut_off, full, layout, plan_for, store

BEFORE, LATER = "2026-02-01T08:00:00Z", "2026-02-20T08:00:00Z"


def test_the_price_in_force_is_the_newest_by_its_day_and_not_the_last_logged(shop: Shop) -> None:
    size = (shop.ply.id, *SHEET)
    offers.add_price(shop.yard, *size, 610_000, "Mill", since=LATER)
    offers.add_price(shop.yard, *size, 585_000, "Mill", since=BEFORE)
    assert [o.price for o in offers.offers(shop.yard, shop.ply.id)] == [610_000]
    assert [o.price for o in offers.price_log(shop.yard, shop.ply.id)] == [585_000, 610_000]


def test_an_offer_that_has_ended_is_on_sale_no_more_until_it_has_a_price_again(shop: Shop) -> None:
    size = (shop.ply.id, *SHEET)
    offers.add_price(shop.yard, *size, 610_000, "Mill")
    offers.add_price(shop.yard, *size, 620_000, "Depot")
    offers.end_offer(shop.yard, *size, "Mill")
    assert [o.supplier for o in offers.offers(shop.yard)] == ["Depot"]
    with pytest.raises(Refused, match="not on sale"):
        offers.end_offer(shop.yard, *size, "Mill")
    offers.add_price(shop.yard, *size, 600_000, "Mill")
    assert [(o.supplier, o.price) for o in offers.offers(shop.yard)] == [
        ("Mill", 600_000),
        ("Depot", 620_000),
    ]


def test_each_supplier_and_each_size_has_its_own_price(shop: Shop) -> None:
    offers.add_price(shop.yard, shop.ply.id, *SHEET, 610_000, "Mill")
    offers.add_price(shop.yard, shop.ply.id, SHEET[0], SHEET[1] - 1, 590_000, "Mill")
    offers.add_price(shop.yard, shop.oak.id, *SHEET, 100_000, "Mill")
    found = [(o.material_id, o.width, o.price) for o in offers.offers(shop.yard)]
    assert sorted(found) == sorted(
        [
            (shop.ply.id, SHEET[1], 610_000),
            (shop.ply.id, SHEET[1] - 1, 590_000),
            (shop.oak.id, SHEET[1], 100_000),
        ]
    )


def test_the_pieces_of_a_broken_plan_are_still_its_jobs_and_nobody_elses(shop: Shop) -> None:
    plan = plan_for(shop, *shop.sheets[:3])
    pulling.pull(shop.yard, [shop.sheets[1].tag])
    pulling.report_gone(shop.yard, shop.sheets[0].tag, "warped")
    assert plans.plan_by_id(shop.yard, plan.id).state == "broken"
    own, other = ({p.tag for p in pieces.free_for(shop.yard, *jobs)} for jobs in ((plan.job_id,), ()))
    promised, pulled = shop.sheets[2].tag, shop.sheets[1].tag
    assert {promised, pulled} <= own and not {promised, pulled} & other
    assert own - other == {promised, pulled}


def test_what_a_broken_plan_must_buy_is_still_to_be_bought(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    bought = [layout(n, p) for n, p in ((1, shop.sheets[1]), (2, shop.sheets[2]), (3, shop.sheets[3]))]
    wanted = [bought[0], *(replace(x, tag=None) for x in bought[1:])]
    store(shop.yard, plan.job_id, wanted, replaces=plan.id)
    assert flows.still_to_buy(shop.yard) == {shop.ply.id: 2}
    pulling.report_gone(shop.yard, shop.sheets[1].tag, "warped")
    assert flows.still_to_buy(shop.yard) == {shop.ply.id: 2}
    standing = plans.standing_plan(shop.yard, plan.job_id)
    assert standing is not None and standing.state == "broken"
    plans.release_plan(shop.yard, standing.id)
    assert not flows.still_to_buy(shop.yard)


def test_what_came_in_is_told_with_its_kind_its_area_and_its_cost(shop: Shop) -> None:
    (found,) = pieces.shelve(shop.yard, [cut_off(shop.oak, 900, 150, at="R2")])
    (new,) = pieces.shelve(shop.yard, [full(shop.oak, at="R2", cost=45_000)])
    came = {m.tag: m for m in flows.arrivals(shop.yard)}
    assert (came[found.tag].kind, came[found.tag].cost) == (Kind.OFFCUT, 70_001)
    assert came[found.tag].area == 900 * MM * 150 * MM
    assert (came[new.tag].kind, came[new.tag].cost, came[new.tag].area) == (
        Kind.FULL,
        45_000,
        SHEET[0] * SHEET[1],
    )
    pulling.report_gone(shop.yard, found.tag, "sold")
    (left,) = flows.departures(shop.yard)
    assert (left.tag, left.area, left.cost, left.material_id) == (
        found.tag,
        900 * MM * 150 * MM,
        70_001,
        shop.oak.id,
    )
    assert found.tag in {m.tag for m in flows.arrivals(shop.yard)}
