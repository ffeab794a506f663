"""What a leftover is worth: the bounds of what is kept to the tick, and values worked out by hand."""

from __future__ import annotations

import pytest

from stockyard.worth import Worth

MM = 3200
SHEETS = Worth(keep_short_side=150 * MM, keep_area=90_000 * MM**2, whole_area=1_500_000 * MM**2, floor=400)
BOARDS = Worth(keep_short_side=38 * MM, keep_area=0, keep_long_side=305 * MM, whole_area=10**14)


@pytest.mark.parametrize(
    ("length", "width", "kept"),
    [
        (600 * MM, 150 * MM, True),  # exactly as wide and as large as is kept
        (150 * MM, 600 * MM, True),
        (2000 * MM, 150 * MM - 1, False),
        (600 * MM - 1, 150 * MM, False),
    ],
)
def test_a_leftover_as_large_as_the_rule_is_kept_and_one_a_tick_less_is_not(
    length: int, width: int, kept: bool
) -> None:
    assert SHEETS.keeps(length, width) is kept
    assert bool(SHEETS.of(length, width)) is kept


def test_a_board_is_kept_by_its_two_sides() -> None:
    assert BOARDS.keeps(305 * MM, 38 * MM) and BOARDS.keeps(38 * MM, 305 * MM)
    assert not BOARDS.keeps(305 * MM - 1, 38 * MM) and not BOARDS.keeps(305 * MM, 38 * MM - 1)


def test_a_leftover_is_worth_more_for_each_square_metre_the_larger_it_is() -> None:
    """Half of a whole area: 0.4 + 0.6 * 0.5 = 0.7 of its area; a whole one or more: all of it."""
    half, whole = (1000 * MM, 750 * MM), (1500 * MM, 1000 * MM)
    assert SHEETS.of(*half) == 750_000 * MM**2 * 7 // 10
    assert SHEETS.of(*whole) == 1_500_000 * MM**2
    assert SHEETS.of(3000 * MM, 1500 * MM) == 4_500_000 * MM**2
    # 90,000 of 1,500,000 mm² is 0.06: 0.4 + 0.6 * 0.06 = 0.436.
    assert SHEETS.of(600 * MM, 150 * MM) == 90_000 * MM**2 * 436 // 1000
