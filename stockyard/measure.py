"""Exact lengths: whole numbers of 1/3200 mm, read and written only at the edge of the program.

1/64 in is 1270 ticks and 0.01 mm is 32, so inch fractions and metric decimals are both exact
and sums never drift. A figure between two ticks (0.703 in) is taken to the nearest, at most
0.00016 mm away, and written back as the shortest decimal that reads as the same tick.
"""

from __future__ import annotations

import re
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from typing import NewType

from stockyard.errors import BadInput

Length = NewType("Length", int)
"""Ticks of 1/3200 mm."""
Area = NewType("Area", int)
"""Square ticks."""
Money = NewType("Money", int)
"""Ten-thousandths of the shop's currency."""
Weight = NewType("Weight", int)
"""Grams."""

TICKS_PER_MM = 3200
TICKS_PER_INCH = 81_280
MONEY = 10_000
"""Steps in one unit of the shop's currency."""
# 100 m: longer than any board, short enough that areas stay inside 64 bits.
LONGEST = 100_000 * TICKS_PER_MM


class Unit(StrEnum):
    """The unit of bare numbers."""

    MM = "mm"
    INCH = "in"


TICKS_PER = {Unit.MM: TICKS_PER_MM, Unit.INCH: TICKS_PER_INCH}

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10", "⅓": "1/3", "⅔": "2/3",
    "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8",
    "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_PLAIN = str.maketrans({
    "’": "'", "‘": "'", "′": "'", "`": "'", "´": "'", "ʹ": "'", "”": '"', "“": '"', "″": '"', "˝": '"',
    "–": "-", "—": "-", "−": "-", "‐": "-", "‑": "-", "⁄": "/", "∕": "/", "\u00a0": " ", "\u202f": " ",
    "\u2009": " ", "\u2007": " ",
})  # fmt: skip

_NUMBER = r"\d+(?:[.,]\d+)*"
_AMOUNT = (
    rf"(?:(?P<whole{{0}}>{_NUMBER})(?:(?:\s+-?|-)(?P<num{{0}}>\d+)/(?P<den{{0}}>\d+))?"
    r"|(?P<onum{0}>\d+)/(?P<oden{0}>\d+)|(?P<point{0}>[.,]\d+))"
)
_FEET = re.compile(
    rf"(?:{_AMOUNT.format('f')}\s*(?:'(?!')|ft\.?|feet|foot))"
    rf"(?:\s*-?\s*{_AMOUNT.format('i')}\s*(?:\"|''|in\.?|inch(?:es)?)?)?",
    re.IGNORECASE,
)
_PLAIN_LENGTH = re.compile(
    rf"{_AMOUNT.format('x')}\s*(?P<unit>\"|''|inch(?:es)?|in\.?|mm\.?|cm\.?|m\.?)?", re.IGNORECASE
)

_NOTHING = re.compile(r"0+(?:[.,]0*)?\s*(?:mm|cm|m|in|inch|\"|')?")
_BY = re.compile(r"\s*(?:[x×*]|\bby\b)\s*", re.IGNORECASE)
_MARKED = re.compile(r"[a-z\"']", re.IGNORECASE)
_METRIC = re.compile(r"\s?(?:mm|cm|m)\.?$", re.IGNORECASE)
_FEET_ONLY = re.compile(r"(?:(?<!')'|ft\.?|feet|foot)$", re.IGNORECASE)
# A bare figure of 100 and more beside inches is rather millimetres (common practice, no source).
_LARGE_BESIDE_INCHES = 100 * TICKS_PER_MM


class Ambiguous(BadInput):
    """A figure that can be read in more than one way; `readings` holds them."""

    def __init__(self, message: str, readings: tuple[Fraction, ...] = ()) -> None:
        super().__init__(message)
        self.readings = readings


def plain(text: str) -> str:
    """Return `text` with curly quotes, odd dashes and vulgar fractions in their plain form."""
    out = text.translate(_PLAIN)
    for glyph, fraction in _VULGAR.items():
        if glyph in out:
            out = re.sub(rf"(?<=\d)\s*{glyph}", " " + fraction, out)
            out = re.sub(rf"{glyph}(?=\d)", fraction + " ", out).replace(glyph, fraction)
    return out


def read_number(text: str) -> Fraction:
    """Return one figure as an exact fraction: 12, 0.5, 562,5, 1.198,5, 1,198.5.

    Raises:
        Ambiguous: `1,200` or `1.200,` style figures that may be thousands or decimals.
        BadInput: not a number.
    """
    t = text.strip()
    if not re.fullmatch(r"\d+(?:[.,]\d+)*|[.,]\d+", t) or len(t) > 24:
        raise BadInput(f"'{text.strip()[:40]}' is not a number")
    marks = [c for c in t if c in ".,"]
    if not marks:
        return Fraction(int(t))
    if len(set(marks)) == 2:
        point = marks[-1]
        whole, _, part = t.rpartition(point)
        groups = re.split(r"[.,]", whole)
        if marks.count(point) != 1 or not 1 <= len(groups[0]) <= 3 or any(len(g) != 3 for g in groups[1:]):
            raise BadInput(f"'{t}' is not a number: its points and commas do not add up")
        return Fraction("".join(groups) + "." + part)
    groups = re.split(r"[.,]", t)
    if len(marks) > 1:
        if any(len(g) != 3 for g in groups[1:]) or not 1 <= len(groups[0]) <= 3:
            raise BadInput(f"'{t}' is not a number: its points and commas do not add up")
        return Fraction("".join(groups))
    if marks[0] == "," and len(groups[1]) == 3 and 1 <= len(groups[0]) <= 3 and groups[0] != "0":
        as_decimal, as_thousands = Fraction(f"{groups[0]}.{groups[1]}"), Fraction("".join(groups))
        raise Ambiguous(
            f"'{t}' may be {''.join(groups)} or {groups[0]}.{groups[1]}: write it without a comma",
            (as_thousands, as_decimal),
        )
    return Fraction(f"{groups[0] or '0'}.{groups[1]}")


def _amount(m: re.Match[str], key: str) -> Fraction:
    g = m.groupdict()
    if g[f"onum{key}"]:
        top, bottom, whole = int(g[f"onum{key}"]), int(g[f"oden{key}"]), Fraction(0)
    elif g[f"point{key}"]:
        return read_number(g[f"point{key}"])
    else:
        whole = read_number(g[f"whole{key}"])
        if not g[f"num{key}"]:
            return whole
        top, bottom = int(g[f"num{key}"]), int(g[f"den{key}"])
        if whole.denominator != 1:
            raise BadInput(f"'{m.group(0).strip()}' has both a decimal and a fraction")
    if bottom == 0:
        raise BadInput(f"'{m.group(0).strip()}' divides by nothing")
    if whole and top >= bottom:
        raise Ambiguous(f"'{m.group(0).strip()}' has a fraction of one or more: write it out")
    return whole + Fraction(top, bottom)


def read_ticks(text: str, unit: Unit) -> Fraction:
    """Return the length in ticks, exactly as written (it may lie between two ticks).

    Reads 23-1/2, 23 1/2, 23½, 23.5, 562,5, 1'-11 1/2", 5'6, 6 ft, 600 mm, 60cm, 1.2 m; a bare
    figure is in `unit`, a bare figure after feet in inches.

    Raises:
        Ambiguous: more than one reading ('35 -1/8', '1,200').
        BadInput: not a length.
    """
    t = plain(text).strip()
    shown = text.strip()[:40]
    if len(t) > 60:
        raise BadInput(f"'{shown}...' is too long for a length")
    if re.search(r"\d\s+-\d+/\d+", t):
        raise Ambiguous(f"'{shown}' may be a fraction added or taken away: write it without the dash")
    if m := _PLAIN_LENGTH.fullmatch(t):
        value = _amount(m, "x")
        word = (m["unit"] or "").lower().rstrip(".")
        per_mm = {"mm": 1, "cm": 10, "m": 1000}
        if word in per_mm:
            return value * per_mm[word] * TICKS_PER_MM
        return value * (TICKS_PER_INCH if word else TICKS_PER[unit])
    if m := _FEET.fullmatch(t):
        feet = _amount(m, "f")
        has_inches = any(m[f"{k}i"] for k in ("whole", "onum", "point"))
        inches = _amount(m, "i") if has_inches else Fraction(0)
        if has_inches and inches >= 12:
            raise Ambiguous(f"'{shown}' has a foot or more of inches: write it out")
        return (feet * 12 + inches) * TICKS_PER_INCH
    raise BadInput(f"'{shown}' is not a length")


def parse(text: str, unit: Unit) -> Length:
    """Return the length in whole ticks (nearest), more than 0 and at most 100 m.

    Raises:
        BadInput: not a length, zero, or longer than 100 m; `Ambiguous` when it has two readings, such
            as 1/8 in a shop of millimetres.
    """
    ticks = round(read_ticks(text, unit))
    bare = plain(text).strip()
    if unit is Unit.MM and "/" in bare and not _MARKED.search(bare):
        raise Ambiguous(f"'{bare[:40]}' looks like inches in a shop of millimetres: mark it in or mm")
    if ticks <= 0:
        raise BadInput(f"'{text.strip()[:40]}' is nothing: a length must be more than 0")
    if ticks > LONGEST:
        raise BadInput(f"'{text.strip()[:40]}' is longer than 100 m: is the unit right?")
    return Length(ticks)


def named_thickness(name: str, unit: Unit) -> Length:
    """Return what the name of a thickness says in ticks; a bare fraction such as 3/4 is inches anywhere.

    Raises:
        BadInput: the name is not a length ('1x6').
    """
    try:
        return parse(name, Unit.INCH if "/" in plain(name) else unit)
    except BadInput:
        raise BadInput(f"the thickness '{name.strip()[:40]}' is not a length: say what it measures") from None


def parse_pair(first: str, second: str, unit: Unit) -> tuple[Length, Length]:
    """Return the two lengths of a size in whole ticks; a unit marked on one holds for the other.

    Raises:
        Ambiguous: `4' x 8` or 23 1/2 in a shop of millimetres, 300 beside inches.
        BadInput: as `parse`.
    """
    sides = [plain(side).strip() for side in (first, second)]
    bare = [side for side in sides if not _MARKED.search(side)]
    if len(bare) == 2 and unit is Unit.MM and any("/" in side for side in bare):
        written = " x ".join(bare)[:40]
        raise Ambiguous(f"'{written}' looks like inches in a shop of millimetres: mark it in or mm")
    if len(bare) == 1:
        marked = sides[1 - sides.index(bare[0])]
        metric = _METRIC.search(marked)
        whole = "/" not in bare[0]
        large = whole and parse(bare[0], Unit.MM) >= _LARGE_BESIDE_INCHES
        feet = whole and unit is Unit.MM and _FEET_ONLY.search(marked)
        if "/" in bare[0] if metric else large or feet:
            raise Ambiguous(f"'{bare[0][:40]}' beside '{marked[:40]}': mark the unit of both")
        mark = metric.group() if metric else '"'
        sides = [side + mark if side == bare[0] else side for side in sides]
    return parse(sides[0], unit), parse(sides[1], unit)


def read_size(text: str, unit: Unit) -> tuple[Length, Length]:
    """Return (length, width) in ticks from '23 1/2 x 48': the first figure runs along the grain.

    Raises:
        BadInput: not two lengths.
    """
    sides = _BY.split(plain(text).strip())
    if len(sides) != 2:
        raise BadInput(f"'{text.strip()[:40]}' is not a size: write length x width, along the grain first")
    return parse_pair(sides[0], sides[1], unit)


def read_rectangle(text: str, unit: Unit, wanted: str) -> tuple[int, int, int, int]:
    """Return (x, y, dx, dy) in ticks from '80 x 120 at 300, 45': its size, then where it begins.

    Raises:
        BadInput: no size and place; `wanted` goes on from "is" and says how to write it.
    """
    size, at, where = plain(text).strip().partition(" at ")
    # Where a comma may be a decimal one, another sign or a blank says what is between the two.
    splits = (re.split(split, where.strip()) for split in (r"\s*;\s*", _BY, r",\s+", r"\s*,\s*"))
    spot = next((found for found in splits if len(found) > 1), [])
    if not at or len(spot) != 2:
        raise BadInput(f"'{plain(text).strip()[:40]}' is {wanted}")
    x, y = (0 if _NOTHING.fullmatch(one) else parse(one, unit) for one in spot)
    return x, y, *read_size(size, unit)


def show(ticks: int, unit: Unit, *, finest: int = 64, mark: bool = False) -> str:
    """Write a length as the shop reads it: `23 1/2` in inches, `597.5` in millimetres.

    Inches go to the nearest 1/`finest`, millimetres to 0.1; a rounded figure gets an about-sign.
    `mark` adds the unit (″ or mm).
    """
    sign = "-" if ticks < 0 else ""
    value = abs(ticks)
    if unit is Unit.MM:
        tenths = (value * 10 + TICKS_PER_MM // 2) // TICKS_PER_MM
        rounded = tenths * TICKS_PER_MM != value * 10
        text = f"{tenths // 10}" + (f".{tenths % 10}" if tenths % 10 else "")
        tail = " mm" if mark else ""
    else:
        parts = (value * finest * 2 + TICKS_PER_INCH) // (2 * TICKS_PER_INCH)
        rounded = parts * TICKS_PER_INCH != value * finest
        whole, rest = divmod(parts, finest)
        text = str(whole) if whole or not rest else ""
        if rest:
            f = Fraction(rest, finest)
            text += (" " if text else "") + f"{f.numerator}/{f.denominator}"
        tail = "″" if mark else ""
    return ("≈" if rounded else "") + sign + text + tail


@lru_cache(maxsize=1 << 14)
def decimal(ticks: int, unit: Unit) -> Decimal:
    """Return the length in `unit`: exact where a decimal can be, else the shortest that reads back."""
    exact = Fraction(ticks, TICKS_PER[unit])
    rest = exact.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest == 1:
        return Decimal(exact.numerator) / Decimal(exact.denominator)
    for places in range(1, 12):
        near = Fraction(round(exact * 10**places), 10**places)
        if round(near * TICKS_PER[unit]) == ticks:
            return Decimal(near.numerator) / Decimal(near.denominator)
    raise AssertionError("twelve places always tell ticks apart")
