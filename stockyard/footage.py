"""Lumber by the board foot: what boards of random widths measure and cost.

A board foot is one foot by one foot by one inch of nominal thickness, and less than an inch counts as one. A
board is tallied by its surface measure: its width in inches times its length in feet over twelve, to the
nearest whole number, times its nominal thickness (rules of the hardwood trade, NHLA, as the American Hardwood
Export Council gives them). Softwood named by its section, 2x4, is counted by those nominal figures exactly.
"""

from __future__ import annotations

import re
from enum import StrEnum
from fractions import Fraction

from stockyard.errors import BadInput
from stockyard.measure import MONEY, TICKS_PER_INCH, TICKS_PER_MM, Unit

_QUARTER = re.compile(r"(\d{1,2})/4$")
_SECTION = re.compile(r"(\d{1,2})x(\d{1,2})$")


class Measure(StrEnum):
    """What lumber is sold by."""

    BOARD_FOOT = "board foot"
    CUBIC = "m³"
    SQUARE = "m²"


_CALLED = {
    "board foot": Measure.BOARD_FOOT, "board feet": Measure.BOARD_FOOT, "bf": Measure.BOARD_FOOT,
    "bd ft": Measure.BOARD_FOOT, "m3": Measure.CUBIC, "m³": Measure.CUBIC, "m2": Measure.SQUARE,
    "m²": Measure.SQUARE,
}  # fmt: skip


def read_measure(text: str) -> Measure:
    """Return what a person calls the measure that lumber is sold by.

    Raises:
        BadInput: it is none.
    """
    found = _CALLED.get(" ".join(text.lower().split()))
    if found is None:
        raise BadInput(f"lumber is not sold by the '{text.strip()[:20]}': say board foot, m3 or m2")
    return found


def nominal(name: str, thickness: int) -> Fraction:
    """Return the nominal thickness in inches of what the trade calls `name`, at least one.

    A quarter says it; of others it is what they measure (`thickness`, ticks).
    """
    m = _QUARTER.match(name.strip())
    inches = Fraction(int(m[1]), 4) if m and int(m[1]) >= 4 else Fraction(thickness, TICKS_PER_INCH)
    return max(inches, Fraction(1))


def board_feet(length: int, width: int, name: str, thickness: int, *, tally: bool = False) -> Fraction:
    """Return the board feet of a board, as `tally` in whole surface measure; sizes in ticks.

    Halves of a foot of surface go to the even number, which over a load is up as often as down.
    """
    feet = Fraction(length, 12 * TICKS_PER_INCH)
    if section := _SECTION.match(name.replace(" ", "")):
        return feet * int(section[1]) * int(section[2]) / 12
    surface = feet * Fraction(width, 12 * TICKS_PER_INCH)
    return (Fraction(round(surface)) if tally else surface) * nominal(name, thickness)


def amount(
    measure: Measure, length: int, width: int, name: str, thickness: int, *, tally: bool = True
) -> Fraction:
    """Return how many board feet, cubic or square metres a board is; of board feet its `tally`."""
    if measure is Measure.BOARD_FOOT:
        return board_feet(length, width, name, thickness, tally=tally)
    square = Fraction(length * width, (1000 * TICKS_PER_MM) ** 2)
    return square if measure is Measure.SQUARE else square * Fraction(thickness, 1000 * TICKS_PER_MM)


def price(rate: int, measure: Measure, length: int, width: int, name: str, thickness: int) -> int:
    """Return what a board costs at a rate, in steps of money, to the hundredth."""
    cent = MONEY // 100
    return round(rate * amount(measure, length, width, name, thickness) / cent) * cent


def words(count: Fraction, measure: Measure) -> str:
    """Write how much lumber: `8 board feet`, `5.3 board feet`, `0.042 m³`."""
    if measure is not Measure.BOARD_FOOT:
        return f"{float(count):.3f} {measure}"
    text = f"{float(count):.1f}".removesuffix(".0")
    return f"{text} board {'foot' if text == '1' else 'feet'}"


def usual(unit: Unit) -> Measure:
    """Return what lumber is counted in where nobody says: by the unit of the shop."""
    return Measure.BOARD_FOOT if unit is Unit.INCH else Measure.CUBIC
