"""Thinning a rack keeps what good plans need."""

from __future__ import annotations

import pytest

from stockyard.planning.bounds.bound import bound_of
from stockyard.planning.hunting.thin import thin
from tests.planning.jobs import rack


def test_small_racks_stay_as_they_are() -> None:
    """Nothing is done below the limit."""
    model = rack(1, 30)
    assert thin(model, 30, 0.5).model is model


def test_full_pieces_and_every_part_stay() -> None:
    """No part loses its last piece, and nothing that is bought goes."""
    model = rack(2, 400)
    less = thin(model, 60, 0.5).model
    assert len(less.stock) <= 62
    assert [s.row for s in less.stock][:2] == [s.row for s in model.stock][:2]
    assert len(less.parts) == len(model.parts)
    for before, after in zip(model.parts, less.parts, strict=True):
        assert len(after.lies) == len(less.stock)
        assert any(after.lies[2:]) == any(before.lies[2:])


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_against_the_whole_rack(seed: int) -> None:
    """The least money is the same with a third of the rack, and the least area nearly so."""
    model = rack(seed, 300, parts=12)
    whole, less = bound_of(model, seconds=60), bound_of(thin(model, 100, 0.5).model, seconds=60)
    assert less.money == whole.money
    assert whole.area_at_money <= less.area_at_money <= whole.area_at_money * 1.05


def test_a_small_rack_thinned() -> None:
    """The same on a rack small enough to be quick."""
    model = rack(4, 60, parts=6)
    whole, less = bound_of(model, seconds=60), bound_of(thin(model, 25, 0.5).model, seconds=60)
    assert less.money == whole.money
    assert whole.area_at_money <= less.area_at_money <= whole.area_at_money * 1.05
