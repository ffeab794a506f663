"""An answer on the way as somebody who watches sees it: where its parts lie, not yet how they are cut."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from stockyard.planning.limits import Sketch
from stockyard.planning.problem import Problem
from stockyard.planning.tree import Axis, Node, Pattern, Spot

# Nobody looks at more while a plan is made.
MOST = 12


def sketched(problem: Problem, patterns: Iterable[Pattern]) -> Iterator[Sketch]:
    """Yield the first pieces of an answer."""
    for _, pattern in zip(range(MOST), patterns, strict=False):
        stock = problem.stock[pattern.stock]
        low = stock.edge_trim
        spots = tuple(_spots(pattern.root, low.x_low, low.y_low, problem.kerf))
        yield Sketch(stock.length, stock.width, spots)


def _spots(root: Node, x: int, y: int, kerf: int) -> Iterator[tuple[int, int, int, int]]:
    """Yield where the parts of a tree lie whose low corner is at (x, y); a saw leaves its kerf between."""
    todo = [(root, x, y)]
    while todo:
        node, x, y = todo.pop()
        if node.part is not None:
            yield x, y, node.length, node.width
        for child in node.children:
            if isinstance(child, Spot):
                yield x + child.x, y + child.y, child.length, child.width
                continue
            todo.append((child, x, y))
            if node.axis is Axis.CROSSCUT:
                x += child.length + kerf
            else:
                y += child.width + kerf
