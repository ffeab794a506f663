"""Buying: the trade's rules against their published examples, the rest by property."""

from __future__ import annotations

from fractions import Fraction

import pytest

from stockyard.advice import buying
from stockyard.advice.buying import PastPrice, StockLevel
from stockyard.measure import Unit, parse


def inch(text: str) -> int:
    return parse(text, Unit.INCH)


def test_least_stock() -> None:
    """Use per day times days to wait plus safety: 0.5 x 6 + 1 = 4 (common practice, no source)."""
    assert buying.least_stock(Fraction(1, 2), 6) == 4


@pytest.mark.parametrize(
    ("on_hand", "promised", "to_buy", "count"),
    [(5, 0, 0, 0), (5, 1, 0, 0), (3, 0, 0, 1), (5, 2, 0, 1), (5, 0, 2, 1), (2, 3, 0, 5)],
)
def test_what_is_missing_to_the_least_is_ordered_once(
    on_hand: int, promised: int, to_buy: int, count: int
) -> None:
    level = StockLevel(
        material="ply", on_hand=on_hand, promised=promised, to_buy=to_buy, least=4, lead_days=6
    )
    found = buying.reorder_list([level])
    assert sum(r.count for r in found) == count


def test_no_least_stock_no_nagging() -> None:
    assert buying.reorder_list([StockLevel(material="ply", on_hand=0)]) == ()
    assert buying.reorder_list([StockLevel(material="ply", on_hand=1, promised=2)])[0].count == 1


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


def test_board_feet_by_the_name_of_the_thickness() -> None:
    assert buying.board_feet("8/4", inch("8 ft"), inch("6 1/4")) == 8
    assert buying.board_feet("2x4", inch("8 ft"), inch("3 1/2")) == Fraction(16, 3), "nominal, never actual"
    assert buying.board_feet("5/4x6", inch("12 ft"), inch("5 1/2")) == Fraction(15, 2)
    assert buying.board_feet("18 mm", inch("8 ft"), inch("6")) is None


def test_price_look_is_a_plain_comparison() -> None:
    past = [PastPrice(f"2031-0{n}-05", Fraction(price)) for n, price in ((1, 30), (2, 35), (3, 40))]
    low = buying.price_look([PastPrice("2031-04-05", Fraction(25)), *past])
    high = buying.price_look([*past, PastPrice("2031-04-05", Fraction(77, 2))])
    assert low is not None
    assert high is not None
    assert (low.now, low.lowest, low.middle, low.highest) == (25, 30, 35, 40)
    assert "29% under the middle of 3 earlier ones, and the lowest so far" in low.says
    assert "10% over" in high.says
    assert "67% of them were lower" in high.says
    assert buying.price_look(past[:1]) is None


def test_what_is_missing_most_comes_first_then_what_takes_longest() -> None:
    """Short by 1, by 3 and by 1 with two weeks to wait: 3 first, then the one to wait for."""
    levels = [
        StockLevel(material="ash", on_hand=3, least=4), StockLevel(material="oak", on_hand=1, least=4),
        StockLevel(material="ply", on_hand=3, least=4, lead_days=14),
        StockLevel(material="pine", on_hand=4, least=4),
    ]  # fmt: skip
    found = buying.reorder_list(levels)
    assert [(r.material, r.count, r.lead_days) for r in found] == [
        ("oak", 3, 0),
        ("ply", 1, 14),
        ("ash", 1, 0),
    ]
    assert found[0].says == "1 on hand, least 4" and found[1].says == "3 on hand, least 4; 14 days to wait"
    (busy,) = buying.reorder_list([StockLevel(material="oak", on_hand=2, promised=1, to_buy=2)])
    assert (busy.count, busy.says) == (1, "2 on hand, 1 promised, 2 more for plans, least 0")
