"""Lengths: the forms a shop writes, exactness, and honest rounding."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard import measure
from stockyard.errors import BadInput
from stockyard.measure import (
    TICKS_PER_INCH,
    TICKS_PER_MM,
    Ambiguous,
    Length,
    Unit,
    named_thickness,
    read_number,
)

INCH = TICKS_PER_INCH


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("23-1/2", "23.5"),
        ("23 1/2", "23.5"),
        ("23½", "23.5"),
        ('23 ½"', "23.5"),
        ("23.5", "23.5"),
        ("1'-11 1/2\"", "23.5"),
        ("1' 11-1/2", "23.5"),
        ("5'6", "66"),
        ("6’-0”", "72"),
        ("5 ft 6 in", "66"),
        ("562,5", "562.5"),
        ("1.198,5", "1198.5"),
        ("1,198.5", "1198.5"),
        ("3/4", "0.75"),
        (".5", "0.5"),
    ],
)
def test_the_forms_a_shop_writes(text: str, inches: str) -> None:
    assert measure.read_ticks(text, Unit.INCH) == Fraction(inches) * INCH


@pytest.mark.parametrize("text", ["600 mm", "60 cm", "0.6 m", "600mm"])
def test_a_unit_beats_the_shops_unit(text: str) -> None:
    assert measure.parse(text, Unit.INCH) == 600 * TICKS_PER_MM


@pytest.mark.parametrize("text", ["35 -1/8", "1,200", "3 9/8", "2' 14"])
def test_two_readings_are_refused(text: str) -> None:
    with pytest.raises(Ambiguous):
        measure.parse(text, Unit.INCH)


@pytest.mark.parametrize(
    "text", ["", "0", "-3", "8O", "1/0", "1.2.3,4.5", "x", "200 m", "9" * 80, "1e9", "nan"]
)
def test_what_is_no_length_is_said_in_one_line(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        measure.parse(text, Unit.MM)
    assert "\n" not in str(caught.value)


def test_the_inch_is_25_4_mm() -> None:
    """International yard and pound agreement, 1959: 1 in = 25.4 mm exactly."""
    assert Fraction(TICKS_PER_INCH, TICKS_PER_MM) == Fraction("25.4")


@given(st.integers(0, 100 * 64))
def test_inch_fractions_read_back(sixtyfourths: int) -> None:
    ticks = sixtyfourths * INCH // 64
    text = measure.show(ticks, Unit.INCH, mark=True)
    assert "≈" not in text
    assert measure.read_ticks(text, Unit.MM) == ticks


@given(st.integers(1, measure.LONGEST), st.sampled_from(list(Unit)))
def test_decimals_read_back_as_the_same_tick(ticks: int, unit: Unit) -> None:
    assert round(Fraction(measure.decimal(ticks, unit)) * measure.TICKS_PER[unit]) == ticks


@given(st.integers(1, measure.LONGEST), st.sampled_from(list(Unit)))
def test_a_rounded_display_says_so(ticks: int, unit: Unit) -> None:
    text = measure.show(ticks, unit)
    back = measure.read_ticks(text.lstrip("≈"), unit) if text.lstrip("≈") != "0" else Fraction(0)
    assert text.startswith("≈") == (back != ticks)


@given(st.text(max_size=40))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        assert 0 < measure.parse(text, Unit.INCH) <= measure.LONGEST
    except BadInput as error:
        assert str(error)


def test_a_labelled_thickness_comes_back_as_written() -> None:
    """0.703 in, the mid label of the 23/32 category in PS 1, lies between two ticks."""
    assert measure.decimal(measure.parse("0.703", Unit.INCH), Unit.INCH) == Decimal("0.703")


@pytest.mark.parametrize(
    ("first", "second", "sides"),
    [
        ("4'", "7 7/8", (48 * TICKS_PER_INCH, 63 * TICKS_PER_INCH // 8)),
        ("12", '24"', (12 * TICKS_PER_INCH, 24 * TICKS_PER_INCH)),
        ("60cm", "40", (600 * TICKS_PER_MM, 400 * TICKS_PER_MM)),
        ("600", "24 in", (None, None)), ("4'", "8", (None, None)), ("24 1/2", "12", (None, None)),
        ("900 mm", "24 1/2", (None, None)),
    ],
)  # fmt: skip
def test_a_unit_on_one_figure_of_a_size_holds_for_the_other(
    first: str, second: str, sides: tuple[int | None, int | None]
) -> None:
    if None in sides:
        with pytest.raises(Ambiguous):
            measure.parse_pair(first, second, Unit.MM)
    else:
        assert measure.parse_pair(first, second, Unit.MM) == sides


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0,250", Fraction(1, 4)), ("1234,567", Fraction(1_234_567, 1000)), ("1.234,5", Fraction(12_345, 10)),
        ("1,234,567", Fraction(1_234_567)), ("12.345", Fraction(12_345, 1000)),
        ("1,234.5", Fraction(12_345, 10)), (",5", Fraction(1, 2)),
    ],
)  # fmt: skip
def test_points_and_commas_are_read_as_either_habit_writes_them(text: str, value: Fraction) -> None:
    """Thousands in threes and the last other sign before decimals (common practice, no source)."""
    assert read_number(text) == value


@pytest.mark.parametrize("text", ["1,234", "12,500", "123,456"])
def test_a_comma_before_three_figures_may_be_either(text: str) -> None:
    with pytest.raises(Ambiguous) as told:
        read_number(text)
    thousands = int(text.replace(",", ""))
    assert told.value.readings == (thousands, Fraction(thousands, 1000))


@pytest.mark.parametrize("text", ["1234,567,890", "12,34,567", "1.23,4.5", "1,2345.6"])
def test_points_and_commas_that_do_not_add_up_are_refused(text: str) -> None:
    with pytest.raises(BadInput, match="do not add up"):
        read_number(text)


@pytest.mark.parametrize(
    ("ticks", "text"),
    [(160, "≈0.1"), (159, "≈0"), (320, "0.1"), (480, "≈0.2"), (3200, "1"), (3359, "≈1"), (3360, "≈1.1")],
)
def test_millimetres_go_to_the_nearest_tenth_and_a_half_goes_up(ticks: int, text: str) -> None:
    """A tick is 1/3200 mm, so a tenth is 320 and half of one 160."""
    assert measure.show(Length(ticks), Unit.MM) == text


@pytest.mark.parametrize(
    ("name", "unit", "mm"),
    [
        ("18", Unit.MM, "18"), ("18 mm", Unit.INCH, "18"), ("3/4", Unit.MM, "19.05"),
        ("3/4", Unit.INCH, "19.05"), ("1 1/2", Unit.MM, "38.1"), ("2", Unit.INCH, "50.8"),
        ("0.5 in", Unit.MM, "12.7"),
    ],
)  # fmt: skip
def test_a_fraction_names_a_thickness_in_inches_in_any_shop(name: str, unit: Unit, mm: str) -> None:
    assert named_thickness(name, unit) == Fraction(mm) * TICKS_PER_MM


def test_a_name_that_is_no_thickness_is_said() -> None:
    with pytest.raises(BadInput, match="the thickness '1x6' is not a length: say what it measures"):
        named_thickness("1x6", Unit.MM)
