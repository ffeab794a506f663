"""One figure of a list: what was written, its unit if marked, and the doubts about it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from stockyard.cutlist.words import COUNT_WORDS
from stockyard.errors import BadInput
from stockyard.measure import LONGEST, TICKS_PER, TICKS_PER_INCH, TICKS_PER_MM, Ambiguous, Unit, read_ticks

# number, fraction and unit are bounded or exclusive, so no text makes them back-track far
NUMBER = r"\d{1,12}(?:[.,]\d{1,12}){0,4}"
AMOUNT = rf"(?:\d{{1,6}}/\d{{1,6}}|{NUMBER}(?:(?:[ ]|-|[ ]{{1,3}}-)\d{{1,6}}/\d{{1,6}})?|[.,]\d{{1,12}})"

_COUNTED = "|".join(sorted((re.escape(w) for w in COUNT_WORDS - {"x"}), key=len, reverse=True))
_INCHES = r"(?:\"|''|(?:in\b\.?|inch(?:es)?\b)(?![a-z]))"
_UNIT = (
    r"(?:[ ]?(?:\"|'')|[ ]?(?:mm|cm|m)\.?(?![a-wyz])|(?:inches|inch|in)\.?(?![a-wyz])|[ ](?:inches|inch)\b"
    r"|[ ]in\b\.?(?=\s*(?:$|[x×*@,;:)\-]|by\b)))"
)
_FEET_INCHES = (
    rf"{AMOUNT}[ ]?(?:'(?!')|ft\b\.?|feet\b|foot\b)"
    rf"(?:\s?-?\s?{AMOUNT}(?![\d/])(?!\s*(?:{_COUNTED})\b)(?:[ ]?{_INCHES})?)?"
)
FIGURE = rf"(?:{_FEET_INCHES}|{AMOUNT}{_UNIT}?)"

_METRIC = re.compile(r"(?:mm|cm|m)\.?$", re.IGNORECASE)
_FEET = re.compile(r"\b(?:ft|feet|foot)", re.IGNORECASE)
_IMPERIAL = re.compile(r"(?:[\"']|in\.?|inch|inches|ft\.?|feet|foot)$", re.IGNORECASE)
_QUARTER = re.compile(r"(\d{1,2})/4$")
_POINT_GROUP = re.compile(r"([1-9]\d{0,2})\.(\d{3})$")
_MINUS = re.compile(r"(\d+)\s+-\s*(\d+)/(\d+)(.*)$")

_BELOW = re.compile(r"/(\d+)")
_ON_A_RULE = (2, 4, 8, 16, 32, 64)
MOST_PARTS = 10_000


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure as written. `value` is in ticks when `unit` is known, else a bare number.

    `fraction` tells an inch-style fraction (3/4, 23-1/2). `start`, `end` are its place in the plain line.
    """

    text: str
    value: Fraction
    unit: Unit | None
    fraction: bool = False
    start: int = 0
    end: int = 0

    @property
    def whole(self) -> bool:
        """Whether it is a bare whole number, such as a count could be."""
        return self.unit is None and self.text.isdigit()

    @property
    def quarter(self) -> str | None:
        """Its name as a hardwood quarter ("8/4"), None when it is an ordinary fraction."""
        m = _QUARTER.match(self.text)
        return self.text if m and int(m[1]) >= 4 else None

    def ticks(self, unit: Unit) -> int:
        """Return the length in whole ticks; `unit` is that of a bare figure."""
        return round(self.value if self.unit else self.value * TICKS_PER[unit])


@dataclass(frozen=True, slots=True)
class Fix:
    """A reading of a line: `says` it, and put `text` in place of line[start:end] to mean it."""

    says: str
    start: int
    end: int
    text: str


class Unclear(Exception):
    """A line, or the part of it from `start`, that has more than one reading or none."""

    def __init__(self, message: str, start: int, fixes: tuple[Fix, ...] = ()) -> None:
        super().__init__(message)
        self.message, self.start, self.fixes = message, start, fixes


def _doubt(text: str, start: int, end: int, error: Ambiguous) -> Unclear:
    if m := _MINUS.match(text):
        whole, top, bottom, tail = m.groups()
        added, taken = (
            f"{whole}-{top}/{bottom}{tail}",
            Fraction(int(whole)) - Fraction(int(top), int(bottom) or 1),
        )
        less = f"{int(taken)}-{taken - int(taken)}{tail}" if taken.denominator != 1 else f"{taken}{tail}"
        fixes = [Fix(added, start, end, added)]
        if taken > 0:
            fixes.append(Fix(less, start, end, less))
        return Unclear(f"'{text}' may be {' or '.join(f.text for f in fixes)}", start, tuple(fixes))
    tail = text.lstrip("0123456789.,")
    words = [str(int(r)) if r.denominator == 1 else f"{float(r):.4f}" for r in error.readings]
    shown = [w.rstrip("0") if "." in w else w for w in words]
    pairs = zip(shown, words, strict=True)
    return Unclear(
        f"'{text}' may be {' or '.join(shown)}" if shown else str(error),
        start,
        tuple(Fix(s + tail, start, end, w + tail) for s, w in pairs),
    )


def figure(text: str, start: int, unit: Unit | None = None, *, end: int | None = None) -> Figure:
    """Return the figure in `text`, found at `start` of the plain line; `unit` is said by a header.

    `end` is where it ends when the line says it in other words.

    Raises:
        Unclear: two readings ('35 -1/8', '1,200', '1.198' mm), nothing, or not a length.
    """
    try:
        value, marked = _value(text, unit)
    except Ambiguous as error:
        raise _doubt(text, start, start + len(text), error) from None
    except BadInput as error:
        raise Unclear(str(error), start) from None
    if unit is Unit.MM:
        pointed_thousand(text, start)
    if odd := next((n for n in _BELOW.findall(text) if int(n) not in _ON_A_RULE), None):
        raise Unclear(f"'{text}': no rule is divided into {odd}", start)
    return Figure(text, value, marked, "/" in text, start, start + len(text) if end is None else end)


@lru_cache(maxsize=4096)
def _value(text: str, unit: Unit | None) -> tuple[Fraction, Unit | None]:
    """Return a figure's value and unit: in ticks when it has a unit, else as a bare number."""
    if unit is None and text.isdigit():
        if len(text) > 6:
            raise BadInput(f"'{text[:20]}' is longer than 100 m")
        if not int(text):
            raise BadInput(f"'{text[:20]}' is nothing to cut: a size must be more than 0")
        return Fraction(int(text)), None
    imperial = _IMPERIAL.search(text) or "'" in text or _FEET.search(text)
    marked = Unit.MM if _METRIC.search(text) else Unit.INCH if imperial else unit
    value = read_ticks(text, marked or Unit.MM)
    if value < TICKS_PER_MM // 100:
        raise BadInput(f"'{text}' is nothing to cut: a size must be more than 0")
    if value > LONGEST:
        raise BadInput(f"'{text[:20]}' is longer than 100 m")
    return (value, marked) if marked else (value / TICKS_PER_MM, None)


def pointed_thousand(text: str, start: int) -> None:
    """Refuse a bare 1.198 where it may be a thousand and more: in millimetres, or beside decimal commas."""
    if m := _POINT_GROUP.match(text):
        end = start + len(text)
        big, small = m[1] + m[2], f"{m[1]}.{m[2]}0"
        fixes = (Fix(big, start, end, big), Fix(text, start, end, small))
        raise Unclear(f"'{text}' may be {big} or {text}", start, fixes)


def whole_count(text: str, start: int) -> int:
    """Return a count. Raises `Unclear` for 0 and for more than anybody cuts of one part."""
    if len(text) > 9 or int(text) > MOST_PARTS:
        raise Unclear(f"{text[:20]} of one part is more than {MOST_PARTS}: is it a count?", start)
    if int(text) == 0:
        raise Unclear("a count of 0: leave the line out, or write how many", start)
    return int(text)


def counted(figure: str) -> str:
    """Return what a reading says of a figure that counts: "1 piece", "4 pieces"."""
    return f"{figure} piece" if figure == "1" else f"{figure} pieces"


def thickness_name(fig: Figure, unit: Unit) -> str:
    """Return what the trade calls this thickness: "3/4", "18 mm", "8/4"."""
    if fig.quarter:
        return fig.quarter
    inch = fig.unit is Unit.INCH or (fig.unit is None and (fig.fraction or unit is Unit.INCH))
    ticks = fig.ticks(Unit.INCH if inch else Unit.MM)
    if not inch:
        tenths = Fraction(ticks, TICKS_PER_MM)
        return f"{float(tenths):g} mm"
    value = Fraction(ticks, TICKS_PER_INCH)
    if 64 % value.denominator:
        return f"{float(value):.4g}"
    whole, rest = divmod(value.numerator, value.denominator)
    top = f"{rest}/{value.denominator}" if rest else ""
    return f"{whole} {top}".strip() if whole else top
