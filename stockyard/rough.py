"""Rough, then final: what a part is sawn larger than it is to be, and planed and trimmed afterwards.

A size goes one way: finished, less its bands (`stockyard.bands`), is what a part is trimmed to; that and its
allowance is what is sawn.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from stockyard.errors import BadInput
from stockyard.measure import Length, Unit, parse, show

USUAL, AS_IS, OWN = "usual", "as is", "own"


@dataclass(frozen=True, slots=True)
class Over:
    """How much longer and wider parts are sawn, and what is planed off each of two faces. Ticks."""

    length: Length = Length(0)
    width: Length = Length(0)
    face: Length = Length(0)

    def most(self, other: Over) -> Over:
        """Return the larger of two in each direction."""
        return Over(max(self.length, other.length), max(self.width, other.width), max(self.face, other.face))

    def sawn(self, length: int, width: int) -> tuple[Length, Length]:
        """Return the size that is sawn for one that is trimmed to `length` x `width`."""
        return Length(length + self.length), Length(width + self.width)

    def planed(self, thickness: int) -> int:
        """Return what rough stock of a thickness measures with both faces planed; 0 or less: nothing."""
        return thickness - 2 * self.face

    def larger_than(self, length: int, width: int) -> bool:
        """Whether it is larger than the part itself, in either direction."""
        return self.length > length or self.width > width


NONE = Over()


def read_over(text: str, unit: Unit) -> Over:
    """Return the allowance that '12 x 6, 2.5 a face' says: in length and width, and what a face loses.

    One figure alone is for both length and width.

    Raises:
        BadInput: it says no such thing.
    """
    m = re.fullmatch(
        r"(?P<length>[^x,]{1,24})(?:x(?P<width>[^x,]{1,24}))?"
        r"(?:,(?P<face>[^x,]{1,24}?)(?:(?:a|per|each) face)?)?",
        text.strip().lower().replace("×", "x"),
    )
    if m is None:
        raise BadInput(f"'{text.strip()[:40]}' is no allowance: write '12 x 6, 2.5 a face', usual or as is")
    length = _figure(m["length"], unit)
    width = _figure(m["width"], unit) if m["width"] else length
    return Over(length, width, _figure(m["face"], unit) if m["face"] else Length(0))


def _figure(text: str, unit: Unit) -> Length:
    """Return one figure of an allowance, which may be nothing."""
    return Length(0) if re.fullmatch(r"0(\.0)?\s*(mm|in|\")?", text.strip()) else parse(text, unit)


def says(over: Over, unit: Unit) -> str:
    """Write an allowance so that `read_over` reads it: `12 x 6, 2.5 a face`."""
    return f"{show(over.length, unit)} x {show(over.width, unit)}, {show(over.face, unit)} a face"


def too_large(over: Over, length: int, width: int, unit: Unit) -> str:
    """Say that an allowance is larger than the part itself, empty where it is not."""
    if not over.larger_than(length, width):
        return ""
    long = over.length > length
    allowed, own = (over.length, length) if long else (over.width, width)
    side = "length" if long else "width"
    most, own_text = show(allowed, unit, mark=True), show(own, unit, mark=True)
    return f"the allowance of {most} is larger than its {side} of {own_text}"


def too_thin(over: Over, stock: int, final: int | None, unit: Unit) -> str:
    """Say that stock of a thickness is too thin to be planed to `final` (None: to whatever is left)."""
    left = over.planed(stock)
    if left > 0 and (final is None or final <= left):
        return ""
    planed = f"planing {show(over.face, unit, mark=True)} off each face"
    if left <= 0:
        return f"{planed} leaves nothing of stock {show(stock, unit, mark=True)} thick"
    thick, is_left, wanted = (show(ticks, unit, mark=True) for ticks in (stock, left, final or 0))
    return f"{planed} leaves {is_left} of stock {thick} thick, and it is to be {wanted}"
