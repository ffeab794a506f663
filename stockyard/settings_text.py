"""A setting as text: how a person writes it and how it is shown."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

from stockyard.days import read_zone
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER, TICKS_PER_INCH, TICKS_PER_MM, Unit, decimal, parse, read_number
from stockyard.routing import clamps_kept, clamps_of, read_clamps, write_clamps
from stockyard.settings_said import called

LENGTHS = (
    "kerf", "edge_trim", "keep_short_side", "keep_board_width", "keep_board_length",
    "label_right", "label_down", "board_end_trim", "rip_width", "stop_length", "stop_reach", "guide_length",
    "one_person", "band_trim", "band_over", "batch_spread", "bit", "bit_margin", "table_edge", "tab_width",
    "tab_under", "tab_inside", "saw_length", "saw_width", "jointer_width", "jointer_face", "planer_length",
    "planer_face", "joint_edge",
)  # fmt: skip
AREAS = ("keep_area", "whole_area", "pull_area")


def write_value(name: str, value: object, unit: Unit) -> str:
    """Return one setting as a person writes it: lengths in `unit`, areas in its square."""
    if name in LENGTHS and isinstance(value, int):
        sign = "-" if value < 0 else ""
        return f"{sign}{decimal(abs(value), unit):f} {unit}"
    if name in AREAS and isinstance(value, int):
        return f"{_area_text(value, unit)} {unit}²"
    if name == "clamps":
        return write_clamps(clamps_of(str(value)), unit)
    if name == "fence":
        return f"1/{value} in"
    return f"{value // 10}.{value % 10} %" if name == "keep_floor" and isinstance(value, int) else str(value)


def show_value(name: str, value: object, unit: Unit) -> str:
    """Return one setting as a person reads it: as `write_value`, but rounded, with an about-sign if so."""
    places = 3 if name in LENGTHS else 1 if name in AREAS else None
    if places is None or not isinstance(value, int):
        return write_value(name, value, unit).replace(".0 %", " %")
    side = TICKS_PER[unit]
    exact = Fraction(value, side if name in LENGTHS else side * side)
    near = round(exact, places)
    text = f"{float(near):.{places}f}".rstrip("0").rstrip(".")
    return f"{'' if near == exact else '≈'}{text} {unit}{'' if name in LENGTHS else '²'}"


def _area_text(area: int, unit: Unit) -> str:
    """Write `area` (ticks²) in square units so that it reads back as the same number of ticks²."""
    exact = Fraction(area, TICKS_PER[unit] ** 2)
    for places in range(13):
        near = Fraction(round(exact * 10**places), 10**places)
        if round(near * TICKS_PER[unit] ** 2) == area:
            return f"{Decimal(near.numerator) / Decimal(near.denominator):f}"
    raise AssertionError("twelve places always tell square ticks apart")


def read_value(name: str, text: str, unit: Unit) -> object:
    """Return the value of one setting from text; a bare length is in `unit`.

    Raises:
        BadInput: it is none of its values; the text names the setting.
    """
    readers: dict[str, Callable[[str], object]] = {
        "unit": read_unit,
        "paper": lambda t: t.strip().lower(),
        "label": lambda t: t.strip().lower(),
        "own_label": lambda t: t.strip().lower(),
        "currency": str.strip,
        "guide_name": str.strip,
        "time_zone": read_zone,
        "origin": _read_words,
        "sheet_along": _read_words,
        "drawing_unit": _read_words,
        "drawing_form": lambda t: t.strip().upper(),
        "layers": lambda t: ", ".join(p.strip() for p in t.split(",") if p.strip()),
        "clamps": lambda t: clamps_kept(read_clamps(t, unit)),
        "fence": lambda t: _read_whole(re.sub(r"^1\s*/|(in|\")$", "", t.strip())),
        "keep_floor": _read_share,
    }
    try:
        if name in readers:
            return readers[name](text)
        if name in LENGTHS:
            return _read_signed(text, unit)
        if name in AREAS:
            return _read_area(text, unit)
        return _read_whole(text)
    except BadInput as error:
        raise BadInput(f"{called(name)}: {error}") from None


def read_unit(text: str) -> Unit:
    """Return the unit a person names.

    Raises:
        BadInput: it is none.
    """
    words = {"mm": Unit.MM, "millimetres": Unit.MM, "in": Unit.INCH, "inch": Unit.INCH, "inches": Unit.INCH}
    if text.strip().lower() not in words:
        raise BadInput(f"'{text[:20]}' is not a unit: write mm or in")
    return words[text.strip().lower()]


def _read_words(text: str) -> str:
    return " ".join(text.lower().split())


def _read_signed(text: str, unit: Unit) -> int:
    t = text.strip()
    if re.fullmatch(r"[+-]?0+([.,]0+)?\s*(mm|in|\")?", t):
        return 0
    return -parse(t[1:], unit) if t.startswith("-") else parse(t.removeprefix("+"), unit)


def _read_area(text: str, unit: Unit) -> int:
    t = text.strip().removesuffix("²").removesuffix("^2").strip()
    for word, side in (
        ("mm", TICKS_PER_MM),
        ("in", TICKS_PER_INCH),
        ("m", 1000 * TICKS_PER_MM),
        ("ft", 12 * TICKS_PER_INCH),
        ("", 0),
    ):
        if t.endswith(word):
            side = side or TICKS_PER[unit]
            return round(read_number(t.removesuffix(word).strip()) * side * side)
    raise AssertionError("the empty word ends every text")


def _read_share(text: str) -> int:
    """Return thousandths from '40 %' or from thousandths."""
    t = text.strip()
    return round(read_number(t[:-1].strip()) * 10) if t.endswith("%") else _read_whole(t)


def _read_whole(text: str) -> int:
    t = text.strip()
    if not re.fullmatch(r"\d{1,9}", t):
        raise BadInput(f"'{text[:20]}' is not a whole number")
    return int(t)
