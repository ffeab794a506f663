"""Layouts of freely placed parts as trees of the planner: a root whose children are spots."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from stockyard.planning.model import Candidate, Model
from stockyard.planning.path import shared
from stockyard.planning.placing.kernel import worth_of
from stockyard.planning.placing.room import X0, X1, Y0, Y1, Floats, Ints, occupy
from stockyard.planning.problem import Problem, Stock
from stockyard.planning.tree import Axis, Node, Pattern, Spot

Box = tuple[int, int, int, int]
"""x, y, dx, dy (ticks)."""

# Rectangles that the room of one piece is kept in at most.
MOST_ROOMS = 400


def corner_of(piece: Stock) -> tuple[int, int]:
    """Return where the usable rectangle of a piece begins."""
    return piece.edge_trim.x_low, piece.edge_trim.y_low


def blocked(piece: Stock) -> tuple[Box, ...]:
    """Return the boxes of a piece that no part may touch, from its own corner."""
    return piece.flaws


def is_free(root: Node) -> bool:
    """Whether a tree is one of spots."""
    return root.axis is None and bool(root.children)


def spots(problem: Problem, pattern: Pattern) -> Iterator[Spot]:
    """Yield the parts of a pattern, as cut tree or of spots, each where it lies from the root's corner."""
    todo = [(pattern.root, 0, 0)]
    while todo:
        node, x, y = todo.pop()
        if node.part is not None:
            if isinstance(node, Spot):
                x, y = node.x, node.y
            yield Spot(node.length, node.width, node.part, x=x, y=y)
        for child in node.children:
            todo.append((child, x, y))
            if node.axis is Axis.CROSSCUT:
                x += child.length + problem.kerf
            elif node.axis is Axis.RIP:
                y += child.width + problem.kerf


def rooms_of(model: Model, stock: int, room: Ints, fresh: Ints) -> int:
    """Write the free room of an untouched piece down, gap included; return how many rectangles it takes.

    A part here is larger by the gap on its two high sides, so what it may not touch begins later by that.
    """
    s, piece, kerf = model.stock[stock], model.problem.stock[model.stock[stock].row], model.problem.kerf
    room[0] = 0, 0, s.length, s.width
    n, (x, y) = 1, corner_of(piece)
    for fx, fy, dx, dy in blocked(piece):
        n = occupy(room, n, fresh, fx - x + kerf, fy - y + kerf, fx - x + dx, fy - y + dy)
    return int(n)


def keep_of(problem: Problem) -> Floats:
    """Return the gap and what the shop keeps, as the kernel wants them."""
    w = problem.worth
    return np.array([
        problem.kerf, w.keep_short_side, w.keep_long_side, w.keep_area, w.whole_area, w.floor / 1000.0,
    ], dtype=np.float64)  # fmt: skip


def candidate(model: Model, stock: int, laid: Iterable[Spot], net: int | None = None) -> Candidate:
    """Return spots on one stock row as a layout; `net` None: the piece less its worthiest leftover.

    What one pass of the bit saves where it cuts the edges of two parts is taken off the net.
    """
    piece, kerf = model.stock[stock], model.problem.kerf
    placed = tuple(sorted(laid, key=lambda s: (s.x, s.y)))
    part_of_row = {p.row: k for k, p in enumerate(model.parts)}
    count = Counter(part_of_row[s.part] for s in placed if s.part is not None)
    root = Node(piece.length - kerf, piece.width - kerf, children=placed)
    if net is None:
        net = piece.area - _best_room(model, stock, placed)
    pattern = Pattern(piece.row, root)
    net -= passed(model.problem, pattern)
    return Candidate(pattern, stock, tuple(sorted(count.items())), piece.money, net)


def passed(problem: Problem, pattern: Pattern) -> int:
    """Return what the stretches are worth that one pass cuts for two parts of a pattern (ticks²)."""
    if not counts_passes(problem):
        return 0
    laid = list(spots(problem, pattern))
    boxes = [(s.x, s.y, s.length, s.width) for s in laid]
    parts = problem.parts
    shapes = [None if s.part is None else parts[s.part].lying(s.length, s.width) for s in laid]
    return problem.effort_on(problem.stock[pattern.stock]).path * shared(boxes, problem.kerf, shapes)


def counts_passes(problem: Problem) -> bool:
    """Whether it is worth something that one pass cuts the edges of two parts."""
    return problem.one_pass and problem.effort.path > 0


def routed(model: Model, layout: Candidate) -> Candidate:
    """Return a layout as a router makes it: clear of flaws, what shared edges save taken off its net."""
    clear = clear_of_flaws(model, layout)
    if clear is not layout or is_free(layout.pattern.root):
        return clear
    saved = passed(model.problem, layout.pattern)
    return replace(layout, net=layout.net - saved) if saved else layout


def _best_room(model: Model, stock: int, placed: Iterable[Spot]) -> int:
    room, fresh = np.zeros((MOST_ROOMS, 4), np.int64), np.zeros((MOST_ROOMS, 4), np.int64)
    n, kerf = rooms_of(model, stock, room, fresh), model.problem.kerf
    for s in placed:
        n = occupy(room, n, fresh, s.x, s.y, s.x + s.length + kerf, s.y + s.width + kerf)
    keep = keep_of(model.problem)
    return int(max((worth_of(keep, float(r[X1] - r[X0]), float(r[Y1] - r[Y0])) for r in room[:n]), default=0))


def without(model: Model, layout: Candidate, part: int) -> Candidate:
    """Return a layout of spots with one copy of a part (by index into the model) taken off."""
    row, left = model.parts[part].row, []
    gone = False
    for s in spots(model.problem, layout.pattern):
        if s.part == row and not gone:
            gone = True
        else:
            left.append(s)
    return candidate(model, layout.stock, left)


def clear_of_flaws(model: Model, layout: Candidate) -> Candidate:
    """Return a layout without the parts that touch what they may not; the same one when none does."""
    problem, piece = model.problem, model.problem.stock[model.stock[layout.stock].row]
    x, y = corner_of(piece)
    if not blocked(piece):
        return layout
    laid = list(spots(problem, layout.pattern))
    clear = [s for s in laid if clean(piece, (s.x + x, s.y + y, s.length, s.width))]
    return layout if len(clear) == len(laid) else candidate(model, layout.stock, clear)


def clean(piece: Stock, box: Box) -> bool:
    """Whether a box, from the corner of the piece, touches no flaw."""
    x, y, dx, dy = box
    return not any(
        x < fx + fdx and fx < x + dx and y < fy + fdy and fy < y + dy for fx, fy, fdx, fdy in blocked(piece)
    )
