"""Rough, then final: what a part is sawn larger than it is to be, and planed and trimmed afterwards.

A size goes one way: finished, less its bands (`stockyard.bands`), is what a part is trimmed to; that and its
allowance is what is sawn. An allowance may be said machine by machine: what the parts pass on their way from
the rough board takes its own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from stockyard.errors import BadInput
from stockyard.measure import Length, Unit, parse, show

USUAL, AS_IS, OWN = "usual", "as is", "own"
MACHINES = ("saw", "jointer", "planer")
"""What rough stock passes: squared and ripped again at the saw, one face and edge flat, then parallel."""


@dataclass(frozen=True, slots=True)
class Over:
    """How much longer and wider parts are sawn, and what is planed off each of two faces. Ticks.

    `by` is what each machine takes of that, where it was said so.
    """

    length: Length = Length(0)
    width: Length = Length(0)
    face: Length = Length(0)
    by: tuple[tuple[str, Over], ...] = ()

    @classmethod
    def of(cls, by: Mapping[str, Over]) -> Over:
        """Return what several machines take together."""
        every = by.values()
        length, width = sum(o.length for o in every), sum(o.width for o in every)
        face = sum(o.face for o in every)
        return cls(Length(length), Length(width), Length(face), tuple(by.items()))

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


_NAMES = "|".join(MACHINES)
_BETWEEN = re.compile(rf";|\band\b|\+|,(?=\s*(?:the )?(?:{_NAMES})\b)")
_MACHINE = re.compile(rf"(?:the )?(?P<name>{_NAMES})\b\s*[:=]?\s*(?P<own>.*)")


def read_milled(text: str, unit: Unit, usual: Mapping[str, Over]) -> Over:
    """Return an allowance that is said whole, as `read_over` does, or machine by machine.

    "planer" alone takes what is `usual` for it, "planer 10 x 0, 2 a face; jointer" its own figures.

    Raises:
        BadInput: it says no such thing, or one machine twice.
    """
    bits = [bit.strip() for bit in _BETWEEN.split(text.strip().lower())]
    found = [_MACHINE.fullmatch(bit) for bit in bits]
    if not any(found):
        return read_over(text, unit)
    by: dict[str, Over] = {}
    for bit, m in zip(bits, found, strict=True):
        if m is None:
            raise BadInput(f"'{bit[:40]}' names no machine: write saw, jointer or planer before its figures")
        if m["name"] in by:
            raise BadInput(f"the {m['name']} is named twice: write what it takes once")
        by[m["name"]] = read_over(m["own"], unit) if m["own"] else usual[m["name"]]
    return Over.of({name: by[name] for name in MACHINES if name in by})


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
    """Write an allowance so that `read_milled` reads it: `12 x 6, 2.5 a face`, or machine by machine."""
    if over.by:
        return "; ".join(f"{name} {_own(one, unit)}" for name, one in over.by)
    return f"{show(over.length, unit)} x {show(over.width, unit)}, {show(over.face, unit)} a face"


def _own(over: Over, unit: Unit) -> str:
    """Write what one machine takes: "6 x 3", "0 x 3, 1 a face"."""
    face = f", {show(over.face, unit)} a face" if over.face else ""
    return f"{show(over.length, unit)} x {show(over.width, unit)}{face}"


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
