"""What is clear of flaws in a piece, and the cuts that free it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from stockyard.flaws import Flaw, biggest_clear, flaws_in
from stockyard.measure import Length


class Off(StrEnum):
    """Which strip a cut takes off: at an end (a crosscut) or a side (a rip), toward corner 0 or away."""

    LOW_END = "the end at corner 0"
    HIGH_END = "the far end"
    LOW_SIDE = "the side at corner 0"
    HIGH_SIDE = "the far side"


@dataclass(frozen=True, slots=True)
class ClearCut:
    """One cut: what it takes off, and what remains measures then (ticks)."""

    off: Off
    keeps: Length

    @property
    def word(self) -> str:
        """What is done: an end comes off by a crosscut, a side by a rip."""
        return "crosscut" if self.off in (Off.LOW_END, Off.HIGH_END) else "rip"


@dataclass(frozen=True, slots=True)
class Cleared:
    """The biggest clear rectangle of a piece, the cuts that free it, and strips worth keeping beside it."""

    clear: Flaw
    cuts: tuple[ClearCut, ...]
    others: tuple[Flaw, ...]


def cleared(
    flaws: Sequence[Flaw], length: int, width: int, kerf: int, keeps: Callable[[int, int], bool]
) -> Cleared | None:
    """Return how the biggest clear rectangle comes out of a piece, None where nothing is clear.

    Ends come off first or sides first, whichever leaves more clear area in strips that `keeps` says a shop
    keeps.
    """
    clear = biggest_clear(flaws, length, width)
    if clear is None:
        return None
    found = []
    for ends_first in (True, False):
        strips = list(_strips(clear, length, width, kerf, ends_first=ends_first))
        kept = tuple(s for _, s in strips if s.dx > 0 and s.dy > 0 and _worth(flaws, s, keeps))
        found.append(Cleared(clear, tuple(cut for cut, _ in strips), kept))
    return max(found, key=lambda c: sum(_clear_area(flaws, s) for s in c.others))


def _strips(
    clear: Flaw, length: int, width: int, kerf: int, *, ends_first: bool
) -> Iterator[tuple[ClearCut, Flaw]]:
    """Yield the cuts around a rectangle and the strip that each takes off, the kerf gone from it."""
    x, y, far, high = 0, 0, length, width
    for is_end in (ends_first, not ends_first):
        if is_end and clear.x > 0:
            yield ClearCut(Off.LOW_END, Length(length - clear.x)), Flaw(0, y, clear.x - kerf, high - y)
        if is_end and clear.x + clear.dx < length:
            at = clear.x + clear.dx
            yield ClearCut(Off.HIGH_END, Length(clear.dx)), Flaw(at + kerf, y, length - at - kerf, high - y)
        if is_end:
            x, far = clear.x, clear.x + clear.dx
            continue
        if clear.y > 0:
            yield ClearCut(Off.LOW_SIDE, Length(width - clear.y)), Flaw(x, 0, far - x, clear.y - kerf)
        if clear.y + clear.dy < width:
            at = clear.y + clear.dy
            yield ClearCut(Off.HIGH_SIDE, Length(clear.dy)), Flaw(x, at + kerf, far - x, width - at - kerf)
        y, high = clear.y, clear.y + clear.dy


def _worth(flaws: Sequence[Flaw], strip: Flaw, keeps: Callable[[int, int], bool]) -> bool:
    """Whether what is clear in a strip is as large as the shop keeps."""
    own = biggest_clear(flaws_in(flaws, *strip), strip.dx, strip.dy)
    return own is not None and keeps(own.dx, own.dy)


def _clear_area(flaws: Sequence[Flaw], strip: Flaw) -> int:
    own = biggest_clear(flaws_in(flaws, *strip), strip.dx, strip.dy)
    return own.dx * own.dy if own else 0
