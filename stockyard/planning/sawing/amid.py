"""A large piece parted amid its strips: one rough cut by two people in place of many.

Strips come off one by one, and as long as what is left is large each of them takes two people. Where many of
them are narrow, the piece is parted first, about in its middle; a little more than the strips want goes with
those of the one side, so that the last of them is still set by the fence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stockyard.measure import TICKS_PER_MM
from stockyard.planning.sawing.tidy import along, is_rest, split
from stockyard.planning.tree import Axis, Node
from stockyard.saws import Saws, is_heavy

# What goes with the strips beyond the blade of their last cut: as much as a rough cut may be off (common
# practice, no source); and how many strips by two people are the fewest that it is done for.
SPARE, FEWEST = 6 * TICKS_PER_MM, 3


def parted(node: Node, kerf: int, saws: Saws) -> Node:
    """Return a tidy tree with each large split parted amid its strips where there is room; else the same."""
    axis = node.axis
    if axis is None or not is_heavy(node.length, node.width, saws):
        return node
    children = tuple(parted(c, kerf, saws) for c in node.children)
    if any(new is not old for new, old in zip(children, node.children, strict=True)):
        node = replace(node, children=children)
    *strips, rest = children
    room = along(rest, axis) - SPARE - kerf if is_rest(rest) else 0
    if room <= 0 or _by_two(node, strips, kerf, saws) < FEWEST:
        return node
    middle = _middle(node, strips)
    together = sum(along(c, axis) for c in strips[:middle]) + (middle - 1) * kerf
    extent = together + SPARE + kerf
    low = split(axis, *_box(node, extent), strips[:middle], kerf)
    return replace(node, children=(low, *strips[middle:], Node(*_box(node, room))))


def _by_two(node: Node, strips: Sequence[Node], kerf: int, saws: Saws) -> int:
    """Return how many strips come off while what is left takes two people."""
    assert node.axis is not None
    left, count = along(node, node.axis), 0
    for strip in strips:
        if not is_heavy(*_box(node, left), saws):
            break
        count += 1
        left -= along(strip, node.axis) + kerf
    return count


def _middle(node: Node, strips: Sequence[Node]) -> int:
    """Return how many strips lie on the low side of the cut that parts them most evenly; two at least."""
    assert node.axis is not None
    half, low = along(node, node.axis) / 2, 0
    best, nearest = 2, half
    for n, strip in enumerate(strips[:-1], 1):
        low += along(strip, node.axis)
        if n >= 2 and abs(low - half) < nearest:
            best, nearest = n, abs(low - half)
    return best


def _box(node: Node, extent: int) -> tuple[int, int]:
    return (extent, node.width) if node.axis is Axis.CROSSCUT else (node.length, extent)
