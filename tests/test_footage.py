"""Board feet as the hardwood trade tallies them, and what lumber costs by them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from stockyard.errors import BadInput
from stockyard.footage import Measure, amount, board_feet, nominal, price, read_measure, words
from stockyard.measure import MONEY
from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import TICKS_PER_MM as MM


# Surface measure: American Hardwood Export Council, "Measurement" (the first), and a lumber dealer's tally
# table as reprinted (the others). The softwood figures are its definition worked out with nominal sizes.
@pytest.mark.parametrize(
    ("feet", "width", "name", "expected"),
    [
        (8, 6.25, "8/4", 8), (8, 6.5, "4/4", 4), (12, 8, "4/4", 8), (13, 10, "4/4", 11),
        (8, 6.5, "5/4", 5), (8, 3.5, "2x4", Fraction(16, 3)), (16, 11.25, "1x12", 16),
        (12, 5.5, "2 x 6", 12),
    ],
)  # fmt: skip
def test_a_board_is_tallied_as_the_trade_does(feet: int, width: float, name: str, expected: Fraction) -> None:
    assert board_feet(feet * 12 * INCH, round(width * INCH), name, INCH, tally=True) == expected


def test_less_than_an_inch_counts_as_one() -> None:
    assert nominal("3/4", 3 * INCH // 4) == 1
    assert nominal("27 mm", round(27 * MM)) == Fraction(27 * MM, INCH)
    # By hand: half a foot by four inches is 1/6 of a foot.
    assert board_feet(6 * INCH, 4 * INCH, "3/4", 3 * INCH // 4) == Fraction(1, 6)


def test_lumber_costs_its_tally_at_the_rate() -> None:
    # By hand: 8 board feet at 9.25; 2.4 m x 0.15 m x 0.05 m = 0.018 m³ at 900; 0.36 m² at 40.
    assert price(92_500, Measure.BOARD_FOOT, 96 * INCH, 25 * INCH // 4, "8/4", 2 * INCH) == 74 * MONEY
    metric = (2400 * MM, 150 * MM, "50 mm", 50 * MM)
    assert price(900 * MONEY, Measure.CUBIC, *metric) == round(16.2 * MONEY)
    assert price(40 * MONEY, Measure.SQUARE, *metric) == round(14.4 * MONEY)
    assert words(amount(Measure.CUBIC, *metric), Measure.CUBIC) == "0.018 m³"
    assert [words(Fraction(n), Measure.BOARD_FOOT) for n in ("1", "8", "16/3")] == [
        "1 board foot", "8 board feet", "5.3 board feet",
    ]  # fmt: skip


def test_a_measure_is_read_as_it_is_said() -> None:
    said = [read_measure(text) for text in ("bf", "Board Feet", "m3", "m²")]
    assert said == [Measure.BOARD_FOOT, Measure.BOARD_FOOT, Measure.CUBIC, Measure.SQUARE]
    with pytest.raises(BadInput, match="say board foot, m3 or m2"):
        read_measure("yard")
