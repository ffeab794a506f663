"""What to mind at a cut: strips too narrow to rip, pieces too small to hold. It warns, it never forbids.

Push stick under 6 in of width or 12 in of length, and support for rips over 3 ft, as two table-saw
makers' manuals print on their page 21; a stick between fence and blade under 1 1/2 in. The
smallest sizes (1/2 in wide, 3 in square) and large sheets are common practice, no source.
"""

from __future__ import annotations

from stockyard.measure import TICKS_PER_INCH
from stockyard.printing.papers import Caution, Direction

TOO_NARROW = TICKS_PER_INCH // 2
NARROW = 3 * TICKS_PER_INCH // 2
TOO_SMALL = 3 * TICKS_PER_INCH
STICK_WIDTH = 6 * TICKS_PER_INCH
STICK_LENGTH = 12 * TICKS_PER_INCH
SUPPORT_LENGTH = 36 * TICKS_PER_INCH


def cautions_of(
    direction: Direction, length: int, width: int, fence: int, gives: tuple[int | None, int | None]
) -> tuple[Caution, ...]:
    """Return what to mind when a piece of `length` x `width` ticks is cut with the fence at `fence`.

    `gives` is the extent of each side along the cut direction's axis, None for waste.
    """
    found = _rip(length, fence) if direction is Direction.RIP else _crosscut(width, gives)
    if length > SUPPORT_LENGTH and width > SUPPORT_LENGTH:
        found.append(Caution("large: two people, or support all round", False))
    elif direction is Direction.RIP and length > SUPPORT_LENGTH:
        found.append(Caution("support behind the saw", False))
    return tuple(found)


def _rip(length: int, strip: int) -> list[Caution]:
    if strip < TOO_NARROW:
        return [Caution("too narrow to rip safely: find another way", True)]
    if length < TOO_SMALL:
        return [Caution("too small to hold: clamp it in a carrier", True)]
    if strip < NARROW:
        return [Caution("narrow strip: push stick between fence and blade", True)]
    if length < STICK_LENGTH:
        return [Caution("short to rip: push block", True)]
    return [Caution("push stick", False)] if strip < STICK_WIDTH else []


def _crosscut(width: int, gives: tuple[int | None, int | None]) -> list[Caution]:
    smallest = min((extent for extent in gives if extent is not None), default=TOO_SMALL)
    if smallest < TOO_NARROW:
        return [Caution("too thin a slice to cut safely: find another way", True)]
    if smallest < TOO_SMALL and width < TOO_SMALL:
        return [Caution("too small to hold: clamp it in a sled", True)]
    return [Caution("short: hold it in a sled", False)] if smallest < STICK_WIDTH else []
