"""A cut tree: how the usable rectangle of one piece falls into parts and rests, edge to edge.

Extents are real ticks without kerf. In a split, neighbouring children lie one kerf apart along the
axis, in order from the low edge; the last child may end in sawdust narrower than a kerf:
sum(children) + (n - 1) * kerf <= extent <= sum(children) + n * kerf. Across the axis every child has
the extent of its parent. The first child is nothing, or less than nothing, where a blade wider than what it
takes off runs beside a flaw. A leaf with a part is exactly as large as the part (turned or not).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Axis(StrEnum):
    """Direction of a cut: a crosscut splits the length, a rip splits the width."""

    CROSSCUT = "crosscut"
    RIP = "rip"


@dataclass(frozen=True, slots=True)
class Node:
    """A rectangle: a split when `axis` is set, a part when `part` is set, otherwise a rest.

    `part` is an index into the problem's parts.
    """

    length: int
    width: int
    part: int | None = None
    axis: Axis | None = None
    children: tuple[Node, ...] = ()


@dataclass(frozen=True, slots=True)
class Spot(Node):
    """A part laid freely, its low corner at (x, y) of the root. A root without an axis holds some."""

    x: int = 0
    y: int = 0


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way to cut one piece of a stock row (`stock` is an index into the problem's stock).

    The root is the usable rectangle: the piece less its edge trim on all four sides.
    """

    stock: int
    root: Node

    def parts(self) -> dict[int, int]:
        """Return how many of each part it gives, by part index."""
        found: dict[int, int] = {}
        todo = [self.root]
        while todo:
            node = todo.pop()
            if node.part is not None:
                found[node.part] = found.get(node.part, 0) + 1
            todo.extend(node.children)
        return found


def leaves(root: Node, x: int, y: int, kerf: int) -> list[tuple[int, int, Node]]:
    """Return the parts and rests of a tree with the low corner of each; (x, y) is that of the root."""
    found: list[tuple[int, int, Node]] = []
    todo = [(x, y, root)]
    while todo:
        x, y, node = todo.pop()
        if node.axis is None and not node.children:
            found.append((x, y, node))
        for child in node.children:
            if isinstance(child, Spot):
                todo.append((x + child.x, y + child.y, child))
                continue
            todo.append((x, y, child))
            if node.axis is Axis.CROSSCUT:
                x += child.length + kerf
            else:
                y += child.width + kerf
    return found
