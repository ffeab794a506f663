"""Figures in words and as data: each worked out by hand, or from a published conversion."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

import pytest

from stockyard import figures
from stockyard.figures import Terms, plain
from stockyard.measure import Area, Length, Money, Unit, Weight

MM, INCH = 3200, 81_280
METRIC, IMPERIAL = Terms(Unit.MM, "EUR"), Terms(Unit.INCH, "$")


@dataclass(frozen=True)
class Board:
    """One of each figure, some of them not known."""

    name: str
    length: Length
    width: Length | None
    sides: tuple[Length, Length]
    area: Area
    price: Money
    weight: Weight | None
    share: Fraction = Fraction(1, 4)


BOARD = Board(
    "b", Length(600 * MM), None, (Length(MM), Length(2 * MM)), Area(10**12), Money(584_000), Weight(2400)
)


def test_a_size_has_its_length_first_and_the_unit_at_each_figure() -> None:
    assert figures.size(2440 * MM, 1220 * MM, Unit.MM) == "2440 mm × 1220 mm"
    assert figures.size(2440 * MM, 1220 * MM, Unit.MM, mark=False) == "2440 × 1220"


@pytest.mark.parametrize(
    ("amount", "currency", "written"),
    [(584_000, "EUR", "58.40 EUR"), (584_000, "$", "$58.40"), (0, "EUR", "0.00 EUR"), (49, "£", "£0.00")],
)
def test_a_sign_stands_before_an_amount_and_a_code_behind_it(
    amount: int, currency: str, written: str
) -> None:
    assert figures.money(amount, currency) == written


def test_areas_are_square_metres_or_square_feet() -> None:
    """A sheet of 8 ft by 4 ft has 32 sq ft; one of 2 m by 1 m has 2 m²."""
    assert figures.area(96 * INCH * 48 * INCH, Unit.INCH) == "32.0 sq ft"
    assert figures.area(2000 * MM * 1000 * MM, Unit.MM) == "2.00 m²"
    assert figures.area_figure(144 * INCH * INCH, Unit.INCH) == 1.0


@pytest.mark.parametrize(
    ("grams", "unit", "written"),
    [
        # One pound is 453.59237 g (international agreement of 1959): 72 lb are 32,658.65 g.
        (32_659, Unit.INCH, "72 lb"), (4_536, Unit.INCH, "10 lb"), (4_535, Unit.INCH, "10.0 lb"),
        (2_400, Unit.MM, "2.4 kg"), (9_990, Unit.MM, "10.0 kg"), (10_000, Unit.MM, "10 kg"),
    ],
)  # fmt: skip
def test_a_weight_has_a_decimal_below_ten(grams: int, unit: Unit, written: str) -> None:
    assert figures.weight(grams, unit) == written


def test_each_kind_of_figure_is_named_once_beside_its_figures() -> None:
    assert plain(BOARD, METRIC) == {
        "unit": "mm", "area_unit": "m²", "currency": "EUR", "weight_unit": "kg", "name": "b", "length": 600,
        "width": None, "sides": [1, 2], "area": 0.097656, "price": 58.4, "weight": 2.4, "share": 0.25,
    }  # fmt: skip


def test_an_inch_shop_gets_inches_feet_and_pounds() -> None:
    board = Board(
        "b", Length(INCH // 2), Length(-INCH), (Length(0), Length(0)), Area(36 * INCH * INCH), Money(1), None
    )
    said = plain([board], IMPERIAL)[0]
    assert (said["unit"], said["area_unit"], said["currency"]) == ("in", "sq ft", "$")
    assert (said["length"], said["width"], said["area"], said["price"]) == (0.5, -1, 0.25, 0.0001)
    assert "weight_unit" not in said and said["weight"] is None


def test_what_holds_no_figures_has_no_units() -> None:
    assert plain({"a": (1, "x")}, METRIC) == {"a": [1, "x"]}


def test_a_whole_decimal_is_a_whole_number() -> None:
    assert isinstance(figures.number(Decimal("600.0")), int)
    assert figures.number(Decimal("0.5")) == 0.5


def test_a_thickness_is_written_as_a_caliper_shows_it() -> None:
    """0.703 in is 17.856 mm (1 in is 25.4 mm exactly)."""
    thick = 57_140
    assert (figures.caliper(thick, Unit.INCH), figures.caliper(thick, Unit.MM)) == ("0.703 in", "17.9 mm")
    assert figures.caliper(18 * MM, Unit.MM) == "18 mm"
