"""Tidy cut trees: equal cuts joined, rests merged and last, the last split turned the better way.

A tidy split holds its parts and deeper splits first and at most one rest, which comes last. Any
order of the children of a split is the same layout to the planner, so tidying never invalidates.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from stockyard.effort import FREE, Effort
from stockyard.measure import TICKS_PER_INCH
from stockyard.planning.tree import Axis, Node
from stockyard.saws import LEAST_CROSSCUT, LEAST_ON_MACHINE, LEAST_RIP_LENGTH
from stockyard.worth import Worth

OTHER = {Axis.CROSSCUT: Axis.RIP, Axis.RIP: Axis.CROSSCUT}
# What is less than this is hard to hold: hands stay 3 in from the guard; no crosscut under 6 in (`saws`).
HARD_TO_HOLD = {Axis.RIP: 3 * TICKS_PER_INCH, Axis.CROSSCUT: LEAST_CROSSCUT}


def along(node: Node, axis: Axis) -> int:
    """Return the extent that cuts in direction `axis` divide."""
    return node.length if axis is Axis.CROSSCUT else node.width


def is_rest(node: Node) -> bool:
    """Whether the node is neither part nor split."""
    return node.part is None and node.axis is None


def solids(node: Node) -> tuple[Node, ...]:
    """Return the children of a tidy split that are not its rest."""
    return node.children[:-1] if is_rest(node.children[-1]) else node.children


def sawdust(node: Node, kerf: int) -> int:
    """Return what a tidy split has left over behind its last child: 0 to one kerf."""
    assert node.axis is not None
    used = sum(along(c, node.axis) for c in node.children) + (len(node.children) - 1) * kerf
    return along(node, node.axis) - used


def tidy(root: Node, kerf: int, worth: Worth | None, effort: Effort = FREE) -> Node:
    """Return the same parts in the same rectangle: leftovers worth more by what the saw work takes more.

    Without `worth` nothing is turned, only joined and sorted.
    """
    if root.axis is None:
        return root
    children = [tidy(c, kerf, worth, effort) for c in root.children]
    node = split(root.axis, root.length, root.width, children, kerf)
    tries = [] if worth is None else _turned(node, kerf)
    if worth is None or not tries:
        return node
    return max([node, *tries], key=lambda t: _value(t, kerf, worth).rank(effort))


def split(axis: Axis, length: int, width: int, children: Sequence[Node], kerf: int) -> Node:
    """Return the tidy node that gives `children` (their rests aside) from `length` x `width`."""
    solid: list[Node] = []
    for c in children:
        solid += solids(c) if c.axis is axis else [c]
    solid = [_stretched(c, axis, length, width, kerf) for c in solid if not is_rest(c)]
    if not solid:
        return Node(length, width)
    extent = length if axis is Axis.CROSSCUT else width
    free = extent - sum(along(c, axis) for c in solid) - (len(solid) - 1) * kerf
    assert free >= 0, "children are longer than their parent"
    if len(solid) == 1 and free == 0:
        return solid[0]
    rest = max(free - kerf, 0)
    ordered = _order(solid, axis, rest)
    if rest:
        ordered.append(Node(*_box(axis, rest, width if axis is Axis.CROSSCUT else length)))
    return Node(length, width, axis=axis, children=tuple(ordered))


def _stretched(node: Node, axis: Axis, length: int, width: int, kerf: int) -> Node:
    """Return `node` with its extent across `axis` set to its parent's, the gain going to its rest."""
    new = (node.length, width) if axis is Axis.CROSSCUT else (length, node.width)
    if (node.length, node.width) == new:
        return node
    if node.axis is OTHER[axis]:
        return split(node.axis, *new, node.children, kerf)
    return split(OTHER[axis], *new, [node], kerf)


def _order(solid: Sequence[Node], axis: Axis, rest: int) -> list[Node]:
    """Widest first; what is hard to hold comes off while something wide is still behind it."""
    ordered = sorted(solid, key=lambda c: -along(c, axis))
    wide = [c for c in ordered if along(c, axis) >= HARD_TO_HOLD[axis]]
    hard = len(wide) < len(ordered) and rest < LEAST_ON_MACHINE
    if wide and (hard or rest < HARD_TO_HOLD[axis]):
        # What remains is set by no fence: rather a strip that is ripped again than a part.
        last = wide[-1] if rest else next((c for c in reversed(wide) if not fills(c, axis)), wide[-1])
        place = max(i for i, c in enumerate(ordered) if c is last)
        ordered.append(ordered.pop(place))
    return ordered


def fills(node: Node, axis: Axis) -> bool:
    """Whether some part of the node is as long along `axis` as the node itself."""
    return node.part is not None or (node.axis is OTHER[axis] and any(fills(c, axis) for c in node.children))


def _spare(node: Node, axis: Axis, kerf: int) -> int:
    """Return how much of the extent along `axis` lies behind the parts of `node`."""
    if node.axis is not axis:
        return 0
    inner = solids(node)
    return along(node, axis) - sum(along(c, axis) for c in inner) - (len(inner) - 1) * kerf


def _turned(node: Node, kerf: int) -> list[Node]:
    """Return the node with the corner of its rests given to the other direction, each way there is."""
    if node.axis is None:
        return []
    first, second = node.axis, OTHER[node.axis]
    inner = sorted(solids(node), key=lambda c: -_spare(c, second, kerf))
    tries = []
    for n in range(1, len(inner) + 1):
        if _spare(inner[n - 1], second, kerf) <= kerf:
            break
        group, others = inner[:n], inner[n:]
        tight = sum(along(c, first) for c in group) + (n - 1) * kerf
        free = along(node, first) - sum(along(c, first) + kerf for c in others)
        for extent in sorted({tight, free}):
            if n > 1 or extent > tight:
                tries.append(_joined(node, group, others, extent, kerf))
    if len(inner) == 1 and inner[0].axis is second and inner[0] is not node.children[-1]:
        tries.append(split(second, node.length, node.width, solids(inner[0]), kerf))
    return tries


def _joined(node: Node, group: list[Node], others: list[Node], extent: int, kerf: int) -> Node:
    """Return the node with `group` under one common rest, in a block of `extent`."""
    assert node.axis is not None
    first, second = node.axis, OTHER[node.axis]
    size = along(node, second)
    need = size - _spare(group[-1], second, kerf)
    low = split(first, *_box(first, extent, need), [_shrunk(c, second, need, kerf) for c in group], kerf)
    block = split(second, *_box(first, extent, size), [low], kerf)
    return split(first, node.length, node.width, [*others, block], kerf)


def _box(axis: Axis, size: int, across: int) -> tuple[int, int]:
    return (size, across) if axis is Axis.CROSSCUT else (across, size)


def _shrunk(node: Node, axis: Axis, size: int, kerf: int) -> Node:
    if node.axis is not axis:
        return node
    return split(axis, *_box(axis, size, along(node, OTHER[axis])), solids(node), kerf)


class _Value(NamedTuple):
    """What makes one tree better than another: worth, then safety, then settings, then cuts."""

    worth: int
    settings: frozenset[tuple[Axis, int]]
    hard: int
    cuts: int

    def rank(self, effort: Effort) -> tuple[int, int, int, int]:
        """Larger is better."""
        saw = effort.cut * (self.cuts + self.hard) + effort.fence * len(self.settings)
        return self.worth - saw, -self.hard, -len(self.settings), -self.cuts


def _value(node: Node, kerf: int, worth: Worth) -> _Value:
    if is_rest(node):
        return _Value(worth.of(node.length, node.width), frozenset(), 0, 0)
    if node.axis is None:
        return _Value(0, frozenset(), 0, 0)
    inner = [_value(c, kerf, worth) for c in node.children]
    sizes = [along(c, node.axis) for c in node.children]
    if not sawdust(node, kerf):
        sizes.pop()  # the last child, or the rest, is what remains: nobody sets its size
    own = frozenset((node.axis, size) for size in sizes)
    short = node.axis is Axis.RIP and node.length < LEAST_RIP_LENGTH
    return _Value(
        sum(v.worth for v in inner),
        own.union(*(v.settings for v in inner)),
        sum(v.hard for v in inner) + (len(sizes) if short else 0),
        sum(v.cuts for v in inner) + len(sizes),
    )
