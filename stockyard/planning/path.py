"""How far the router's bit runs round the parts of a piece, and how much of it a single pass saves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

Box = tuple[int, int, int, int]
"""x, y, dx, dy (ticks)."""


class Stretch(NamedTuple):
    """From where to where along a side (ticks)."""

    low: int
    high: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What the bit runs along of a part that is no rectangle (ticks).

    `around`: how long its outline and its holes are together. The others are what of each side of the
    rectangle round it is a straight edge of the part, from the low corner of that rectangle: at the low and
    the high end of the length, at the low and the high side of the width.
    """

    around: int
    x_low: tuple[Stretch, ...] = ()
    x_high: tuple[Stretch, ...] = ()
    y_low: tuple[Stretch, ...] = ()
    y_high: tuple[Stretch, ...] = ()

    def turned(self, width: int) -> Shape:
        """Return the shape a quarter turn counter-clockwise, of a part of this width."""

        def back(side: tuple[Stretch, ...]) -> tuple[Stretch, ...]:
            return tuple(Stretch(width - high, width - low) for low, high in side)

        return Shape(
            around=self.around, x_low=self.y_high, x_high=self.y_low,
            y_low=back(self.x_low), y_high=back(self.x_high),
        )  # fmt: skip


Shapes = Sequence[Shape | None]
"""One for each box, as it lies; None of a rectangle. None at all: all are rectangles."""


def path_length(boxes: Sequence[Box], gap: int, *, one_pass: bool, shapes: Shapes = ()) -> int:
    """Return how long the edges of parts in these boxes are together (ticks).

    `one_pass`: where two straight ones lie just the bit apart, `gap`, one pass cuts both: their common
    stretch counts once.
    """
    of = shapes or [None] * len(boxes)
    around = sum(s.around if s else 2 * (dx + dy) for (_, _, dx, dy), s in zip(boxes, of, strict=True))
    return around - (shared(boxes, gap, shapes) if one_pass else 0)


def shared(boxes: Sequence[Box], gap: int, shapes: Shapes = ()) -> int:
    """Return how long the stretches are along which two parts face each other just `gap` apart (ticks)."""
    of = list(zip(boxes, shapes or [None] * len(boxes), strict=True))
    ends = [
        (x, x + dx, *((_at(y, s.x_low), _at(y, s.x_high)) if s else [((y, y + dy),)] * 2))
        for (x, y, dx, dy), s in of
    ]
    sides = [
        (y, y + dy, *((_at(x, s.y_low), _at(x, s.y_high)) if s else [((x, x + dx),)] * 2))
        for (x, y, dx, dy), s in of
    ]
    return _facing(ends, gap) + _facing(sides, gap)


_Stretches = Sequence[tuple[int, int]]


def _at(begin: int, side: tuple[Stretch, ...]) -> _Stretches:
    return [(begin + low, begin + high) for low, high in side]


def _facing(edges: Sequence[tuple[int, int, _Stretches, _Stretches]], gap: int) -> int:
    """Return the common stretches of parts of which one ends where, `gap` on, another begins."""
    begins: dict[int, list[tuple[int, int]]] = {}
    for low, _, stretches, _ in edges:
        begins.setdefault(low, []).extend(stretches)
    total = 0
    for _, high, _, stretches in edges:
        for near, far in begins.get(high + gap, ()):
            total += sum(max(0, min(far, b) - max(near, a)) for a, b in stretches)
    return total
