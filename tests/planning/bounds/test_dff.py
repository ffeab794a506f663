"""Dual feasible functions: their defining property, worked values, and cuts that known plans obey."""

from __future__ import annotations

from itertools import combinations_with_replacement

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.planning.bounds import dff
from stockyard.planning.bounds.piececuts import PieceCut, least
from tests.planning.jobs import sheets


@given(st.integers(4, 40), st.integers(1, 20), st.lists(st.integers(1, 40), min_size=1, max_size=5))
def test_no_set_that_fits_is_worth_more_than_its_room(extent: int, k: int, sizes: list[int]) -> None:
    """The defining property, for rooms up to the extent too (both families are superadditive)."""
    k = min(k, max(1, extent // 2))
    room = sum(sizes)
    if room > extent:
        return
    both = np.array([*sizes, room], dtype=np.int64)
    for f in (dff.keep_large(both, extent, k), dff.in_steps(both, extent, k)):
        assert f[:-1].sum() <= f[-1]


@given(st.integers(6, 30), st.lists(st.integers(1, 29), min_size=1, max_size=6), st.integers(1, 15))
def test_by_number_over_all_subsets(extent: int, sizes: list[int], k: int) -> None:
    """f1 depends on the data; every subset of the data that fits is checked, in shorter sheets too."""
    data = np.sort(np.array([s for s in sizes if s <= extent] or [1], dtype=np.int64))
    values = dff.by_number(data, extent, k, data)
    for sheet in {extent, extent - 1, extent // 2 + 1, extent // 2}:
        (holds,) = dff._holds_by_number(np.array([sheet]), data, extent, k, data)
        for mask in range(1 << len(data)):
            chosen = [i for i in range(len(data)) if mask >> i & 1]
            if data[chosen].sum() <= sheet:
                assert values[chosen].sum() <= holds


def test_worked_values() -> None:
    """Formulas of Carlier, Clautiaux and Moukrim 2007 worked by hand for C = 10, k = 3."""
    x = np.array([2, 3, 5, 6, 8, 10])
    assert dff.keep_large(x, 10, 3).tolist() == [0, 3, 5, 6, 10, 10]
    assert dff.in_steps(x, 10, 3).tolist() == [0, 2, 3, 4, 6, 6]


def test_four_halves_and_a_bit_need_four_sheets() -> None:
    """Squares a little over half the sheet: area says two sheets, the functions say four."""
    model = sheets(100, 100, [[51, 51, 4]], turn=True)
    assert least(model, dff.cuts(model), [1]) == 4


@pytest.mark.parametrize(("width", "height"), list(combinations_with_replacement([33, 50, 51, 67], 2)))
def test_bounds_do_not_pass_the_obvious_plan(width: int, height: int) -> None:
    """Equal parts in rows and columns."""
    per_sheet = (100 // width) * (100 // height)
    model = sheets(100, 100, [[width, height, 12]])
    assert least(model, dff.cuts(model), [1]) == -(-12 // per_sheet)


def test_cuts_over_two_stock_rows() -> None:
    """least() takes the cheapest whole counts and says when there are none."""
    model = sheets(100, 100, [[51, 51, 4]])
    assert least(model, [PieceCut(7, (2,))], [5]) == 20
    assert least(model, [PieceCut(1, (0,))], [5]) == float("inf")
