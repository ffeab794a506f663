"""Flaws of a piece: knots, splits, bruised corners, what a wrong cut took; rectangles no part may touch.

Each is measured from one corner of the piece, its corner 0: with the good face up and the length running
left to right, the near left one. x runs along the length (the grain), y along the width.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from stockyard.errors import BadInput
from stockyard.measure import Unit, show

MOST = 50
CORNER_0 = "corner 0: near left, with the good face up and the length left to right"


class Flaw(NamedTuple):
    """A rectangle of a piece that no part may touch: its low corner and its extents (ticks)."""

    x: int
    y: int
    dx: int
    dy: int


def flaws_in(flaws: Iterable[Flaw], x: int, y: int, dx: int, dy: int) -> tuple[Flaw, ...]:
    """Return what of the flaws lies in a rectangle, seen from its low corner, each once."""
    found = []
    for f in flaws:
        low, high = max(f.x, x), min(f.x + f.dx, x + dx)
        near, far = max(f.y, y), min(f.y + f.dy, y + dy)
        if low < high and near < far:
            found.append(Flaw(low - x, near - y, high - low, far - near))
    return tuple(dict.fromkeys(found))


def covered(flaws: Sequence[Flaw]) -> int:
    """Return the area that flaws take together, each place counted once."""
    xs = sorted({x for f in flaws for x in (f.x, f.x + f.dx)})
    total = 0
    for x, far in pairwise(xs):
        at = 0
        for f in sorted((f for f in flaws if f.x < far and f.x + f.dx > x), key=lambda f: f.y):
            total += (far - x) * max(0, f.y + f.dy - max(at, f.y))
            at = max(at, f.y + f.dy)
    return total


def clear_place(flaws: Sequence[Flaw], length: int, width: int, dx: int, dy: int) -> tuple[int, int] | None:
    """Return where (x, y) a rectangle lies clear of all flaws of a piece, None where it has no such place.

    What has a place has one pushed low both ways: at the edge or at the far side of a flaw.
    """
    xs = sorted({0, *(f.x + f.dx for f in flaws)})
    ys = sorted({0, *(f.y + f.dy for f in flaws)})
    spots = ((x, y) for x in xs for y in ys if x + dx <= length and y + dy <= width)
    return next((s for s in spots if not flaws_in(flaws, *s, dx, dy)), None)


def biggest_clear(flaws: Sequence[Flaw], length: int, width: int) -> Flaw | None:
    """Return the rectangle of most area that touches no flaw, None where nothing is clear.

    Its sides lie at edges of the piece or of flaws (Naamad, Lee and Hsu 1984), so all such are looked at.
    """
    xs = sorted({0, length, *(x for f in flaws for x in (f.x, f.x + f.dx))})
    ys = sorted({0, width, *(y for f in flaws for y in (f.y, f.y + f.dy))})
    best: Flaw | None = None
    for i, x in enumerate(xs):
        for far in xs[i + 1 :]:
            between = [f for f in flaws if f.x < far and f.x + f.dx > x]
            for y, high in _gaps(between, ys[0], ys[-1]):
                if best is None or (far - x) * (high - y) > best.dx * best.dy:
                    best = Flaw(x, y, far - x, high - y)
    return best


def _gaps(flaws: Sequence[Flaw], low: int, high: int) -> Iterable[tuple[int, int]]:
    """Yield what lies between flaws across the width."""
    at = low
    for f in sorted(flaws, key=lambda f: f.y):
        if f.y > at:
            yield at, f.y
        at = max(at, f.y + f.dy)
    if at < high:
        yield at, high


def looked_at(flaws: Sequence[Flaw], length: int, width: int, unit: Unit, name: str) -> tuple[Flaw, ...]:
    """Return the flaws of a piece, each once.

    Raises:
        BadInput: one reaches out of the piece, or they leave nothing clear; `name` says of which piece.
    """
    for f in flaws:
        if f.x + f.dx > length or f.y + f.dy > width:
            raise BadInput(
                f"the flaw {said(f, unit)} reaches out of {name}, "
                f"which is {show(length, unit)} x {show(width, unit)}"
            )
    if len(flaws) > MOST:
        raise BadInput(f"{name} has {len(flaws)} flaws: at most {MOST} are kept of a piece")
    if biggest_clear(flaws, length, width) is None:
        raise BadInput(f"those flaws leave nothing of {name} clear: write it off instead")
    return tuple(dict.fromkeys(flaws))


def flaws_text(flaws: Sequence[Flaw], unit: Unit) -> str:
    """Say on a label what is wrong with a piece: one flaw whole, of several how many; nothing of none."""
    if len(flaws) > 1:
        return f"{len(flaws)} flaws"
    return "".join(f"flaw {said(f, unit)} from corner 0" for f in flaws)


def said(flaw: Flaw, unit: Unit) -> str:
    """Write a flaw as it is typed: 80 x 120 at 300, 45."""
    x, y, dx, dy = (show(side, unit) for side in flaw)
    return f"{dx} x {dy} at {x}, {y}"
