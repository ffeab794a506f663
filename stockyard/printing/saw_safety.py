"""What to mind at a cut: strips too narrow to rip, pieces too small to hold. It warns, it never forbids.

Push stick under 6 in of width or 12 in of length, and support for rips over 3 ft, as two table-saw
makers' manuals print on their page 21; a stick between fence and blade under 1 1/2 in. The
smallest sizes (1/2 in wide, 3 in square), the 24 in that a sled or gauge takes across, and what is said of
large sheets are common practice, no source.
"""

from __future__ import annotations

from stockyard.measure import TICKS_PER_INCH
from stockyard.printing.papers import Caution, CutStep, Direction

TOO_NARROW = TICKS_PER_INCH // 2
NARROW = 3 * TICKS_PER_INCH // 2
TOO_SMALL = 3 * TICKS_PER_INCH
STICK_WIDTH = 6 * TICKS_PER_INCH
STICK_LENGTH = 12 * TICKS_PER_INCH
SUPPORT_LENGTH = 36 * TICKS_PER_INCH
SLED = 24 * TICKS_PER_INCH


def cautions_of(step: CutStep, gives: tuple[int | None, int | None]) -> tuple[Caution, ...]:
    """Return what to mind at `step`, by the shape in hand and not by the name of the direction.

    `gives` is the extent in ticks of each side of the blade, None for waste.
    """
    run = step.width if step.direction is Direction.CROSSCUT else step.length
    if step.across and run <= SLED:
        found = _to_length(run, gives)
    elif step.trim:
        found = []
    else:
        found = _along_fence(run, step.fence)
    if step.length > SUPPORT_LENGTH and step.width > SUPPORT_LENGTH:
        found.append(Caution("large: two people, or break it down with a guided saw", False))
    elif not step.across and run > SUPPORT_LENGTH:
        found.append(Caution("support behind the saw", False))
    return tuple(found)


def _along_fence(run: int, strip: int) -> list[Caution]:
    if strip < TOO_NARROW:
        return [Caution("too narrow to rip safely: find another way", True)]
    if run < TOO_SMALL:
        return [Caution("too small to hold: clamp it in a carrier", True)]
    if strip < NARROW:
        return [Caution("narrow strip: push stick between fence and blade", True)]
    if run < STICK_LENGTH:
        return [Caution("short to rip: push block", True)]
    if run < strip:
        return [Caution("cut shorter than the fence distance: guided saw, not the rip fence", False)]
    return [Caution("push stick", False)] if strip < STICK_WIDTH else []


def _to_length(run: int, gives: tuple[int | None, int | None]) -> list[Caution]:
    smallest = min((extent for extent in gives if extent is not None), default=TOO_SMALL)
    if smallest < TOO_NARROW:
        return [Caution("too thin a slice to cut safely: find another way", True)]
    if smallest < TOO_SMALL and run < TOO_SMALL:
        return [Caution("too small to hold: clamp it in a sled", True)]
    return [Caution("to length: on a sled or mitre gauge with a stop, never on the rip fence", False)]
