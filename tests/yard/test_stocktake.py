"""Counts that are broken off and gone on with later: what happened meanwhile is not taken back."""

from __future__ import annotations

import pytest

from stockyard.errors import Refused
from stockyard.yard import cutting, pieces, stocktake, undo
from stockyard.yard.model import State
from tests.yard.shop import Shop


def seen(shop: Shop, *tags: str) -> int:
    """Start counting R1-B2-S3, where all pieces lie, and see some tags there; return the count."""
    current = stocktake.start_count(shop.yard, "R1-B2-S3")
    stocktake.sight(shop.yard, current.id, tags)
    return current.id


def all_tags(shop: Shop) -> list[str]:
    return [p.tag for p in (*shop.sheets, shop.offcut)]


def test_a_piece_moved_after_it_was_seen_stays_where_it_went(shop: Shop) -> None:
    number = seen(shop, *all_tags(shop))
    pieces.move(shop.yard, [shop.offcut.tag], "R1-B1")
    result, _ = stocktake.finish_count(shop.yard, number, "counted")
    assert [p.tag for p in result.since] == [shop.offcut.tag]
    assert not result.elsewhere and not result.missing
    assert [p.tag for p in pieces.at_place(shop.yard, "R1-B1")] == [shop.offcut.tag]


def test_a_piece_cut_after_it_was_seen_does_not_keep_the_count_open(shop: Shop) -> None:
    number = seen(shop, *all_tags(shop))
    cutting.confirm_cut(shop.yard, shop.offcut.tag, parts=[], offcuts=[])
    stocktake.finish_count(shop.yard, number, "counted")
    assert pieces.by_tag(shop.yard, shop.offcut.tag).state is State.CUT


def test_a_piece_seen_after_it_was_recorded_as_cut_does(shop: Shop) -> None:
    cutting.confirm_cut(shop.yard, shop.offcut.tag, parts=[], offcuts=[])
    number = seen(shop, *all_tags(shop))
    with pytest.raises(Refused, match="was seen at R1-B2-S3 but is recorded as cut"):
        stocktake.finish_count(shop.yard, number, "counted")


def test_seen_again_it_lies_here_after_all(shop: Shop) -> None:
    number = seen(shop, *all_tags(shop))
    pieces.move(shop.yard, [shop.offcut.tag], "R1-B1")
    assert stocktake.sight(shop.yard, number, [shop.offcut.tag]) == (shop.offcut.tag,)
    stocktake.finish_count(shop.yard, number, "counted")
    assert pieces.at_place(shop.yard, "R1-B1") == ()


def test_a_move_that_was_undone_counts_for_nothing(shop: Shop) -> None:
    pieces.move(shop.yard, [shop.offcut.tag], "R1-B1")
    number = seen(shop, *all_tags(shop))
    pieces.move(shop.yard, [shop.offcut.tag], "R2")
    undo.undo(shop.yard)
    assert [p.tag for p in stocktake.count(shop.yard, number).elsewhere] == [shop.offcut.tag]


def test_a_sighting_undone_and_done_again_counts_from_when_it_was_made(shop: Shop) -> None:
    number = seen(shop, *all_tags(shop))
    sighting = shop.yard.one("SELECT max(id) FROM deed")
    cutting.confirm_cut(shop.yard, shop.offcut.tag, parts=[], offcuts=[])
    undo.undo(shop.yard, undo.undo(shop.yard, sighting).id)
    assert [p.tag for p in stocktake.count(shop.yard, number).since] == [shop.offcut.tag]


def test_what_was_taken_back_by_mistake_counts_from_when_it_was_seen(shop: Shop) -> None:
    number = seen(shop, *all_tags(shop))
    stocktake.unsee(shop.yard, number, [shop.offcut.tag])
    taken_back = shop.yard.one("SELECT max(id) FROM deed")
    cutting.confirm_cut(shop.yard, shop.offcut.tag, parts=[], offcuts=[])
    undo.undo(shop.yard, taken_back)
    assert [p.tag for p in stocktake.count(shop.yard, number).since] == [shop.offcut.tag]
