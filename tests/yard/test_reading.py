"""A composite read sees one state of the yard; settings and stations are as other processes left them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import pytest

from stockyard import yard
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_MM
from stockyard.yard import Yard, change_settings, ledger, pieces
from stockyard.yard.model import State
from tests.yard.shop import Shop


@contextmanager
def another(shop: Shop, station: str = "bench") -> Iterator[Yard]:
    """Open the yard a second time, as another program would."""
    with yard.open(shop.yard.path, station=station) as y:
        yield y


def test_a_reading_sees_one_state(shop: Shop) -> None:
    tag = shop.sheets[0].tag
    with another(shop) as other:
        with shop.yard.reading():
            before = pieces.on_hand(shop.yard)
            pieces.move(other, [tag], "R2")
            assert pieces.on_hand(shop.yard) == before
            with shop.yard.reading():
                assert pieces.by_tag(shop.yard, tag).place_id == shop.sheets[0].place_id
        assert pieces.by_tag(shop.yard, tag).place_id != shop.sheets[0].place_id


def test_a_reading_takes_its_state_when_it_begins(shop: Shop) -> None:
    with another(shop) as other, shop.yard.reading():
        pieces.move(other, [shop.sheets[0].tag], "R2")
        assert pieces.by_tag(shop.yard, shop.sheets[0].tag).place_id == shop.sheets[0].place_id


def test_no_deed_begins_in_a_reading(shop: Shop) -> None:
    with pytest.raises(AssertionError), shop.yard.reading():
        pieces.move(shop.yard, [shop.sheets[0].tag], "R2")
    assert pieces.by_tag(shop.yard, shop.sheets[0].tag).state is State.RACKED


def test_settings_changed_by_another_program_are_seen(shop: Shop) -> None:
    first = shop.yard.settings
    with another(shop) as other:
        change_settings(other, replace(first, kerf=2 * TICKS_PER_MM))
        assert shop.yard.settings.kerf == 2 * TICKS_PER_MM
        with shop.yard.reading():
            assert shop.yard.settings.kerf == 2 * TICKS_PER_MM
            change_settings(other, replace(first, kerf=TICKS_PER_MM))
            assert shop.yard.settings.kerf == 2 * TICKS_PER_MM
        assert shop.yard.settings.kerf == TICKS_PER_MM


def test_the_ledger_says_which_station_did_it(shop: Shop) -> None:
    pieces.move(shop.yard, [shop.sheets[0].tag], "R2")
    with another(shop, "  tablet  at the saw ") as other:
        pieces.move(other, [shop.sheets[1].tag], "R2")
    assert [d.station for d in ledger.deeds(shop.yard, limit=2)] == ["tablet at the saw", "desk"]


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "a\x00b"])
def test_a_station_has_a_name(shop: Shop, name: str) -> None:
    with pytest.raises(BadInput, match="station"), another(shop, name):
        pass
