"""How far the router's bit runs round the parts of a piece, and how much of it a single pass saves."""

from __future__ import annotations

from collections.abc import Sequence

Box = tuple[int, int, int, int]
"""x, y, dx, dy (ticks)."""


def path_length(boxes: Sequence[Box], gap: int, *, one_pass: bool) -> int:
    """Return how long the edges of these boxes are together (ticks).

    `one_pass`: where two lie just the bit apart, `gap`, one pass cuts both: their common stretch counts once.
    """
    around = sum(2 * (dx + dy) for _, _, dx, dy in boxes)
    return around - (shared(boxes, gap) if one_pass else 0)


def shared(boxes: Sequence[Box], gap: int) -> int:
    """Return how long the stretches are along which two boxes face each other just `gap` apart (ticks)."""
    return _facing(boxes, gap) + _facing([(y, x, dy, dx) for x, y, dx, dy in boxes], gap)


def _facing(boxes: Sequence[Box], gap: int) -> int:
    """Return the common stretches of boxes of which one ends in x where, `gap` on, another begins."""
    begins: dict[int, list[Box]] = {}
    for box in boxes:
        begins.setdefault(box[0], []).append(box)
    total = 0
    for x, y, dx, dy in boxes:
        for _, other, _, high in begins.get(x + dx + gap, ()):
            total += max(0, min(y + dy, other + high) - max(y, other))
    return total
