"""Figures in words: sizes, areas, weights and money as the shop writes them, and as data with their unit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any, get_args, get_type_hints

from stockyard.measure import (
    MONEY,
    TICKS_PER,
    TICKS_PER_INCH,
    TICKS_PER_MM,
    Area,
    Length,
    Money,
    Unit,
    Weight,
    decimal,
    show,
)

GRAMS_PER_KG = 1000
# The avoirdupois pound is exactly 0.45359237 kg (international yard and pound agreement, 1959).
GRAMS_PER_LB = Fraction(45_359_237, 100_000)
_SQUARE = {Unit.MM: ("m²", (1000 * TICKS_PER_MM) ** 2), Unit.INCH: ("sq ft", (12 * TICKS_PER_INCH) ** 2)}


@dataclass(frozen=True, slots=True)
class Terms:
    """The unit and the currency that a shop's figures are written in."""

    unit: Unit
    currency: str


def size(length: int, width: int, unit: Unit, *, mark: bool = True, finest: int = 64) -> str:
    """Write a size, length along the grain first: `2440 mm × 1220 mm`; without the unit if not `mark`.

    Inches come to the nearest 1/`finest`.
    """
    return " × ".join(show(side, unit, mark=mark, finest=finest) for side in (length, width))


def typed_size(length: int, width: int, unit: Unit) -> str:
    """Write a size in signs that a person can type: `2440 x 1220`."""
    return f"{show(length, unit)} x {show(width, unit)}"


def money(amount: int, currency: str) -> str:
    """Write an amount: $84.00 with a sign, 84.00 EUR with a code."""
    text = f"{amount / MONEY:.2f}"
    return f"{text} {currency}" if currency.isalpha() else f"{currency}{text}"


def caliper(ticks: int, unit: Unit) -> str:
    """Write a thickness as a caliper shows it: 17.7 mm, 0.703 in."""
    if unit is Unit.INCH:
        return f"{ticks / TICKS_PER_INCH:.3f} in"
    return f"{ticks / TICKS_PER_MM:.1f}".removesuffix(".0") + " mm"


def area_unit(unit: Unit) -> str:
    """Return what areas are given in: square metres, or square feet for a shop that works in inches."""
    return _SQUARE[unit][0]


def area_figure(area: int, unit: Unit) -> float:
    """Return an area in `area_unit`."""
    return area / _SQUARE[unit][1]


def area(ticks: int, unit: Unit) -> str:
    """Write an area: 1.49 m², 16.0 sq ft."""
    digits = 2 if unit is Unit.MM else 1
    return f"{area_figure(ticks, unit):.{digits}f} {area_unit(unit)}"


def distance(ticks: int, unit: Unit) -> str:
    """Write a way in metres or feet: `12.3 m`, `40 ft`."""
    if unit is Unit.MM:
        return f"{ticks / (1000 * TICKS_PER[unit]):.1f} m"
    return f"{ticks / (12 * TICKS_PER[unit]):.0f} ft"


def weight_unit(unit: Unit) -> str:
    """Return what weights are given in."""
    return "lb" if unit is Unit.INCH else "kg"


def weight_figure(grams: int, unit: Unit) -> float:
    """Return a weight in `weight_unit`."""
    return float(grams / GRAMS_PER_LB) if unit is Unit.INCH else grams / GRAMS_PER_KG


def weight(grams: int, unit: Unit) -> str:
    """Write a weight: 72 lb, 8.1 kg, 33 kg."""
    value = weight_figure(grams, unit)
    return f"{value:.1f} {weight_unit(unit)}" if value < 10 else f"{value:.0f} {weight_unit(unit)}"


def plain(value: object, terms: Terms) -> Any:
    """Return a value made of dataclasses as data, every figure in the shop's unit beside that unit's name.

    Which field is a length, an area, money or a weight is read from its type. A value that holds lengths
    gets a `unit`, areas an `area_unit`, money a `currency`, weights a `weight_unit`.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return _data(value, terms)
    if isinstance(value, Mapping):
        return {str(k): plain(v, terms) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(v, terms) for v in value]
    if isinstance(value, Fraction):
        return float(value)
    return value


def _data(value: Any, terms: Terms) -> dict[str, Any]:
    units: dict[str, str] = {}
    out: dict[str, Any] = {}
    kind: type = type(value)
    measured = _measured(kind)
    for field in fields(value):
        one, of = getattr(value, field.name), measured.get(field.name)
        if of is None or one is None:
            out[field.name] = plain(one, terms)
        else:
            name, unit = _NAMES[of](terms)
            out[field.name], units[name] = _figure(one, of, terms), unit
    return units | out


@cache
def _measured(kind: type) -> dict[str, Any]:
    """Return which fields of a dataclass hold figures, and of what."""
    found = {}
    for name, hint in get_type_hints(kind).items():
        of = next((t for t in (hint, *get_args(hint)) if t in _NAMES), None)
        if of is not None:
            found[name] = of
    return found


_NAMES: Mapping[Any, Callable[[Terms], tuple[str, str]]] = {
    Length: lambda t: ("unit", str(t.unit)),
    Area: lambda t: ("area_unit", area_unit(t.unit)),
    Money: lambda t: ("currency", t.currency),
    Weight: lambda t: ("weight_unit", weight_unit(t.unit)),
}


def _figure(value: Any, of: Any, terms: Terms) -> Any:
    if isinstance(value, tuple):
        return [_figure(v, of, terms) for v in value]
    if of is Length:
        return number(decimal(abs(value), terms.unit)) * (-1 if value < 0 else 1)
    if of is Area:
        return round(area_figure(value, terms.unit), 6)
    if of is Money:
        return number(Decimal(value) / MONEY)
    return round(weight_figure(value, terms.unit), 3)


def number(value: Decimal) -> int | float:
    """Return a decimal as the number that reads back as it."""
    return int(value) if value == value.to_integral_value() else float(value)
