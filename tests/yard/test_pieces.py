"""Shelving, looking up, moving and measuring pieces."""

from __future__ import annotations

from dataclasses import replace
from sqlite3 import IntegrityError

import pytest

from stockyard.errors import BadInput, Refused
from stockyard.kinds import Form, Kind
from stockyard.tags import tag_number
from stockyard.yard import cutting, materials, measuring, pieces, places, pulling, undo
from stockyard.yard.labels import mark_printed, unlabelled
from stockyard.yard.model import State
from stockyard.yard.offers import add_price
from stockyard.yard.planned import GivenOffcut
from tests.yard.shop import MM, Shop, cut_off, full, layout, plan_for, state_of, whole


def test_ten_equal_sheets_get_ten_tags_in_one_deed(shop: Shop) -> None:
    before = shop.yard.one("SELECT max(id) FROM deed")
    made = pieces.shelve(shop.yard, [full(shop.ply, 10)])
    assert len({p.tag for p in made}) == 10
    assert shop.yard.one("SELECT max(id) FROM deed") == before + 1


def test_tags_are_given_in_the_order_of_their_numbers(shop: Shop) -> None:
    assert [p.tag for p in (*shop.sheets, shop.offcut)] == [tag_number(n) for n in range(5)]


def test_depth_counts_what_lies_on_top_in_a_flat_stack(shop: Shop) -> None:
    stack = pieces.at_place(shop.yard, "R1-B2-S3")
    assert [p.depth for p in stack] == [0, 1, 2, 3, 4]
    assert stack[0].tag == shop.offcut.tag
    assert [pieces.by_tag(shop.yard, p.tag).depth for p in stack] == [0, 1, 2, 3, 4]


def test_depth_is_kept_as_pieces_are_taken_and_added(shop: Shop) -> None:
    plan_for(shop, shop.sheets[2])
    pulling.pull(shop.yard, [shop.sheets[2].tag])
    assert pieces.by_tag(shop.yard, shop.sheets[0].tag).depth == 3
    pieces.shelve(shop.yard, [full(shop.ply, 2)])
    assert pieces.by_tag(shop.yard, shop.sheets[0].tag).depth == 5


def test_nothing_lies_on_top_in_an_upright_slot(shop: Shop) -> None:
    pieces.shelve(shop.yard, [full(shop.ply, 3, "R1-B1")])
    assert {p.depth for p in pieces.at_place(shop.yard, "R1-B1")} == {0}


def test_a_tag_is_read_as_typed(shop: Shop) -> None:
    tag = shop.sheets[0].tag
    assert pieces.by_tag(shop.yard, f" {tag[:2].lower()}-{tag[2:].lower()} ").tag == tag


def test_a_tag_nobody_has_says_so(shop: Shop) -> None:
    with pytest.raises(BadInput, match="no piece has the tag"):
        pieces.by_tag(shop.yard, tag_number(900))


def test_a_planned_offcut_is_told_from_an_unknown_tag(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0])
    tag = plan.layouts[0].leftovers[0].tag
    assert tag is not None
    with pytest.raises(BadInput, match="kitchen will give"):
        pieces.by_tag(shop.yard, tag)


def test_a_moved_piece_lies_on_top(shop: Shop) -> None:
    (moved,) = pieces.move(shop.yard, [shop.sheets[0].tag], "R1-B2-S3")
    assert moved.depth == 0


def test_a_promised_piece_may_move_and_stays_promised(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    (moved,) = pieces.move(shop.yard, [shop.sheets[0].tag], "R1-B1")
    assert moved.state is State.PROMISED


def test_a_pulled_piece_put_back_is_promised_again(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    pulling.pull(shop.yard, [shop.sheets[0].tag])
    (back,) = pieces.move(shop.yard, [shop.sheets[0].tag], "R2")
    assert back.state is State.PROMISED


def test_a_cut_piece_cannot_move(shop: Shop) -> None:
    cutting.confirm_cut(shop.yard, shop.offcut.tag, parts=[], offcuts=[])
    with pytest.raises(Refused, match="it is cut"):
        pieces.move(shop.yard, [shop.offcut.tag], "R2")


def test_measuring_an_offcut_again_takes_the_difference_from_the_scrap(shop: Shop) -> None:
    done = cutting.confirm_cut(
        shop.yard, shop.sheets[0].tag, parts=[], offcuts=[GivenOffcut(length=1000 * MM, width=500 * MM)]
    )
    measured = measuring.remeasure(shop.yard, done.offcuts[0].tag, 998 * MM, 501 * MM)
    scrap = shop.yard.one("SELECT scrap FROM cutting WHERE tag = ?", (shop.sheets[0].tag,))
    assert scrap + measured.area == shop.sheets[0].area


def test_an_offcut_cannot_be_measured_larger_than_what_was_left(shop: Shop) -> None:
    sheet = shop.sheets[0]
    whole = GivenOffcut(length=sheet.length, width=sheet.width - 10 * MM)
    done = cutting.confirm_cut(shop.yard, sheet.tag, parts=[], offcuts=[whole])
    with pytest.raises(Refused, match="cannot be that large"):
        measuring.remeasure(shop.yard, done.offcuts[0].tag, sheet.length, sheet.width + MM, larger=True)


def test_all_rows_or_none(shop: Shop) -> None:
    before = state_of(shop.yard)
    with pytest.raises(BadInput, match="there is no place R9"):
        pieces.shelve(shop.yard, [full(shop.ply), cut_off(shop.ply, 100, 100, "R9")])
    assert state_of(shop.yard) == before


def test_free_for_a_job_holds_its_own_promises_but_not_those_of_others(shop: Shop) -> None:
    plan = plan_for(shop, shop.sheets[0], shop.sheets[1])
    pulling.pull(shop.yard, [shop.sheets[0].tag])
    mine = {p.tag for p in pieces.free_for(shop.yard, plan.job_id)}
    others = {p.tag for p in pieces.free_for(shop.yard)}
    assert mine - others == {shop.sheets[0].tag, shop.sheets[1].tag}


def test_places_are_found_as_typed_and_near_ones_named(shop: Shop) -> None:
    assert places.place(shop.yard, " r1 b2 s3 ").code == "R1-B2-S3"
    with pytest.raises(BadInput, match="on R1 there are R1-B2-S3, R1-B1"):
        places.place(shop.yard, "R1-B9")


def test_layout_numbers_need_not_follow_the_stack(shop: Shop) -> None:
    assert layout(7, shop.sheets[0]).number == 7


def test_a_deed_about_no_pieces_is_not_written(shop: Shop) -> None:
    before = whole(shop.yard)
    with pytest.raises(BadInput, match="give their tags"):
        pulling.pull(shop.yard, [])
    with pytest.raises(BadInput, match="give their tags"):
        pieces.move(shop.yard, [], "R2")
    assert whole(shop.yard) == before


def test_an_unknown_tag_among_hundreds_says_so(shop: Shop) -> None:
    many = [p.tag for p in pieces.shelve(shop.yard, [full(shop.ply, 200)])]
    assert [p.tag for p in pieces.by_tags(shop.yard, [t.lower() for t in many])] == many
    with pytest.raises(BadInput, match="no piece has the tag"):
        pieces.move(shop.yard, [*many, tag_number(999)], "R2")


def test_a_piece_grows_only_when_its_record_was_wrong(shop: Shop) -> None:
    p = shop.offcut
    kerf = shop.yard.settings.kerf
    for length, width in ((0, 50 * MM), (kerf + 1, 0), (0, kerf + 1), (kerf + 1, -MM)):
        with pytest.raises(Refused, match="cannot have grown"):
            measuring.remeasure(shop.yard, p.tag, p.length + length, p.width + width)
    same = measuring.remeasure(shop.yard, p.tag, p.length + kerf, p.width + kerf)
    assert (same.length, same.width) == (p.length + kerf, p.width + kerf), "a saw and a tape are so much out"
    p = same
    grown = measuring.remeasure(shop.yard, p.tag, p.length, p.width + 50 * MM, larger=True)
    assert grown.width == p.width + 50 * MM


def test_a_sheet_ripped_down_is_full_no_more_and_its_label_is_old(shop: Shop) -> None:
    sheet = shop.sheets[0]
    mark_printed(shop.yard, [sheet.tag, shop.sheets[1].tag])
    ripped = measuring.remeasure(shop.yard, sheet.tag, sheet.length, 800 * MM)
    assert (ripped.kind, ripped.labelled) == (Kind.OFFCUT, False)
    assert sheet.tag in {p.tag for p in unlabelled(shop.yard)}, "it is listed to be labelled again"
    undo.undo(shop.yard)
    assert pieces.by_tag(shop.yard, sheet.tag) == replace(sheet, labelled=True)
    trimmed = measuring.remeasure(shop.yard, shop.sheets[1].tag, sheet.length - 2 * MM, sheet.width)
    assert (trimmed.kind, trimmed.labelled) == (Kind.FULL, False), "a tape is out by that much"


def test_a_full_sheet_recorded_as_another_size_on_sale_stays_full(shop: Shop) -> None:
    add_price(shop.yard, shop.ply.id, 1500 * MM, 1200 * MM, 400_000)
    tag = shop.sheets[0].tag
    assert measuring.remeasure(shop.yard, tag, 1499 * MM, 1200 * MM).kind is Kind.FULL
    assert measuring.remeasure(shop.yard, tag, 1300 * MM, 1000 * MM).kind is Kind.OFFCUT


def test_what_a_cut_piece_was_cannot_be_changed(shop: Shop) -> None:
    tag = shop.sheets[0].tag
    cutting.confirm_cut(shop.yard, tag, parts=[], offcuts=[GivenOffcut(length=1000 * MM, width=500 * MM)])
    with shop.yard.deed("measure") as deed:
        deed.begin("wrong")
        with pytest.raises(IntegrityError, match="cannot be changed"):
            shop.yard.write("UPDATE piece SET kind = 'offcut' WHERE tag = ?", (tag,))
        shop.yard.write("UPDATE piece SET note = 'seen' WHERE tag = ?", (tag,))


def test_a_promised_piece_says_where_it_lies(shop: Shop) -> None:
    plan_for(shop, shop.sheets[0])
    assert pieces.told(shop.yard, pieces.by_tag(shop.yard, shop.sheets[0].tag)) == (
        "promised to kitchen, at R1-B2-S3"
    )


@pytest.mark.parametrize("number", [1, 3, 4])
def test_of_many_materials_that_come_at_once_three_are_named(shop: Shop, number: int) -> None:
    named = [
        materials.add_material(shop.yard, f"wood {n}", Form.SHEET, "18 mm", 18 * MM, grain=True)
        for n in range(number)
    ]
    pieces.shelve(shop.yard, [replace(full(made), count=9 - n) for n, made in enumerate(named)])
    says = shop.yard.one("SELECT says FROM deed ORDER BY id DESC LIMIT 1")
    lot = ", ".join(f"{9 - n} wood {n} 18 mm" for n in range(min(number, 3)))
    assert says.startswith(f"shelved {lot}{' and others' if number > 3 else ''} at ")
