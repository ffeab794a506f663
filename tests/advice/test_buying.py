"""Buying: the trade's rules against their published examples, the rest by property."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.advice import buying
from stockyard.advice.buying import PastPrice, SaleSize, StockLevel
from stockyard.measure import TICKS_PER_MM, Unit, parse
from stockyard.planning.problem import MONEY

MM = TICKS_PER_MM


def inch(text: str) -> int:
    return parse(text, Unit.INCH)


def test_least_stock() -> None:
    """Use per day times days to wait plus safety: 0.5 x 6 + 1 = 4 (common practice, no source)."""
    assert buying.least_stock(Fraction(1, 2), 6) == 4


@pytest.mark.parametrize(
    ("on_hand", "promised", "on_order", "count"), [(5, 0, 0, 0), (5, 1, 0, 1), (4, 0, 1, 0), (2, 3, 0, 6)]
)
def test_reorder_when_what_is_free_reaches_the_least(
    on_hand: int, promised: int, on_order: int, count: int
) -> None:
    level = StockLevel(
        material="ply", on_hand=on_hand, promised=promised, on_order=on_order, least=4, lead_days=6
    )
    found = buying.reorder_list([level])
    assert sum(r.count for r in found) == count


def test_no_least_stock_no_nagging() -> None:
    assert buying.reorder_list([StockLevel(material="ply", on_hand=0)]) == ()
    assert buying.reorder_list([StockLevel(material="ply", on_hand=1, promised=2)])[0].count == 2


@pytest.mark.parametrize(
    ("width", "feet", "measure"), [("6 1/4", 8, 4), ("6 1/2", 8, 4), ("8", 12, 8), ("10", 13, 11)]
)
def test_surface_measure(width: str, feet: int, measure: int) -> None:
    """NHLA rules, told by the American Hardwood Export Council: width x length / 12, whole feet."""
    assert buying.surface_measure(inch(f"{feet} ft"), inch(width)) == measure


def test_board_feet() -> None:
    """6-1/4 in x 8 ft x 2 in: 8, not 8.33 (AHEC, NHLA); 2x4x8 5.333, 1x12x16 16, 2x6x12 12 nominal."""
    assert buying.hardwood_board_feet(inch("8 ft"), inch("6 1/4"), Fraction(2)) == 8
    assert buying.softwood_board_feet(Fraction(2), Fraction(4), inch("8 ft")) == Fraction(16, 3)
    assert buying.softwood_board_feet(Fraction(1), Fraction(12), inch("16 ft")) == 16
    assert buying.softwood_board_feet(Fraction(2), Fraction(6), inch("12 ft")) == 12


def sale(length: int, width: int, price: int, supplier: str = "") -> SaleSize:
    return SaleSize(
        material="ply", length=length * MM, width=width * MM, price=price * MONEY, supplier=supplier
    )


def test_dearer_and_smaller_sizes_are_not_offered() -> None:
    rows = buying.buy_rows(
        [sale(2440, 1220, 60), sale(2440, 1220, 58, "Alder"), sale(1220, 1220, 59), sale(1525, 1525, 40)]
    )
    assert [(r.length // MM, r.width // MM, r.cost // MONEY) for r in rows] == [
        (1525, 1525, 40),
        (2440, 1220, 58),
    ]
    assert all(r.count is None for r in rows)


@given(
    st.lists(st.tuples(st.integers(1, 30), st.integers(1, 30), st.integers(1, 50)), min_size=1, max_size=12)
)
def test_the_cheapest_size_that_holds_a_part_is_always_offered(sizes: list[tuple[int, int, int]]) -> None:
    rows = buying.buy_rows([sale(a, b, c) for a, b, c in sizes])
    for length, width, _ in sizes:
        cheapest = min(c for a, b, c in sizes if a >= length and b >= width)
        offered = [r.cost for r in rows if r.length >= length * MM and r.width >= width * MM]
        assert min(offered) == cheapest * MONEY


def test_price_look_is_a_plain_comparison() -> None:
    def at(day: str, price: int) -> PastPrice:
        return PastPrice(day, 2000 * MM, 1000 * MM, price * MONEY)

    past = [at("2031-01-05", 60), at("2031-02-05", 70), at("2031-03-05", 80)]
    low = buying.price_look([at("2031-04-05", 50), *past])
    high = buying.price_look([*past, at("2031-04-05", 77)])
    assert low is not None
    assert high is not None
    assert (low.now, low.lowest, low.middle, low.highest) == tuple(n * MONEY // 2 for n in (50, 60, 70, 80))
    assert "29% under the middle of 3 past prices, and the lowest so far" in low.says
    assert "10% over" in high.says
    assert "67% of them were lower" in high.says
    assert buying.price_look(past[:1]) is None
