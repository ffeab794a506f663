"""Between the search's flat table and cut trees: read layouts out, plant them again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import numpy as np

from stockyard.planning.model import AS_WRITTEN, Candidate, Model
from stockyard.planning.recreate import forest as f
from stockyard.planning.recreate.forest import Forest, Ints
from stockyard.planning.recreate.record import A_REST, CLOSE, OPEN_ALONG, write_layout
from stockyard.planning.tree import Axis, Node, Pattern

AXES = (Axis.CROSSCUT, Axis.RIP)


class Reader:
    """Turns written layouts of one model into candidates."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self._first_stock = f.FIRST_PART + len(model.parts)
        kerf = model.problem.kerf
        self._leaf = [
            (
                Node(p.length - kerf, p.width - kerf, part=p.row),
                Node(p.width - kerf, p.length - kerf, part=p.row),
            )
            for p in model.parts
        ]

    def candidate(self, tokens: list[int]) -> Candidate:
        """Return the layout written as `tokens` (its length is the first)."""
        model, kerf = self.model, self.model.problem.kerf
        j = tokens[1] - self._first_stock
        stock = model.stock[j]
        gives: Counter[int] = Counter()
        worth = 0
        stack: list[tuple[int, int, Axis, list[Node]]] = []
        done: list[Node] = []
        i = 2
        while i < tokens[0]:
            token = tokens[i]
            if token == CLOSE:
                length, width, axis, before = stack.pop()
                before.append(Node(length, width, axis=axis, children=tuple(done)))
                done = before
            elif token >= 0:
                t = token // 2 - f.FIRST_PART
                gives[t] += 1
                done.append(self._leaf[t][token % 2])
            else:
                length, width = -tokens[i + 1] - kerf, -tokens[i + 2] - kerf
                i += 2
                if token != A_REST:
                    stack.append((length, width, AXES[OPEN_ALONG - token], done))
                    done = []
                elif length > 0 and width > 0:
                    worth += model.problem.worth.of(length, width)
                    done.append(Node(length, width))
            i += 1
        return Candidate(
            pattern=Pattern(stock.row, done[0]),
            stock=j,
            gives=tuple(sorted(gives.items())),
            money=stock.money,
            net=stock.area - worth,
        )

    def record(self, s: Forest) -> list[Candidate]:
        """Return the layouts recorded during the search and empty the record."""
        used = int(s.rows[f.REGISTERS, f.USED])
        tokens: list[int] = s.layouts[:used].tolist()
        s.rows[f.REGISTERS, f.USED] = 0
        found = []
        at = 0
        while at < used:
            found.append(self.candidate(tokens[at : at + tokens[at]]))
            at += tokens[at]
        return found

    def state(self, rows: Ints) -> list[Candidate]:
        """Return the layouts of the open pieces of a table."""
        found = []
        written = np.zeros(16 + 8 * len(rows), np.int64)
        p = int(rows[f.HEADER, f.CHILD])
        while p:
            end = int(write_layout(rows, written, p, 0))
            found.append(self.candidate(written[:end].tolist()))
            p = int(rows[p, f.NEXT])
        return found


def plant(s: Forest, model: Model, candidates: Iterable[Candidate]) -> None:
    """Open a piece for each candidate and grow its tree; parts beyond the demand become rests."""
    part_row = {p.row: f.FIRST_PART + t for t, p in enumerate(model.parts)}
    left = {p.row: int(s.rows[part_row[p.row], f.COUNT]) for p in model.parts}
    for c in candidates:
        tree = prune(c.pattern.root, left)
        if tree is not None:
            line = f.FIRST_PART + len(model.parts) + c.stock
            root = int(f.open_piece(s.rows, s.undo, s.nums, line))
            f.unlink_rest(s.rows, s.undo, s.nums, root)
            _grow(s, model, part_row, tree, root)


def prune(node: Node, left: dict[int, int]) -> Node | None:
    """Return the tree without rests and without parts beyond `left`, axes alternating, None when empty.

    `left` is lowered by the parts kept.
    """
    if node.part is not None:
        if left[node.part] == 0:
            return None
        left[node.part] -= 1
        return node
    if node.axis is None:
        return None
    children: list[Node] = []
    for child in node.children:
        kept = prune(child, left)
        if kept is None:
            continue
        children.extend(kept.children if kept.axis is node.axis else (kept,))
    if not children:
        return None
    only = children[0]
    if len(children) == 1 and (only.length, only.width) == (node.length, node.width):
        return only
    return Node(node.length, node.width, axis=node.axis, children=tuple(children))


def _grow(s: Forest, model: Model, part_row: dict[int, int], node: Node, r: int) -> None:
    """Grow a pruned tree in the unlisted REST `r`, which is as large as its root or larger."""
    rows, undo, nums = s.rows, s.undo, s.nums
    kerf = model.problem.kerf
    if node.part is not None:
        t = part_row[node.part]
        stock = rows[rows[r, f.PIECE], f.TAG] - f.FIRST_PART - len(model.parts)
        straight = (rows[t, f.LENGTH], rows[t, f.WIDTH]) == (node.length + kerf, node.width + kerf)
        as_written = straight and s.lies[t - f.FIRST_PART, stock] & AS_WRITTEN
        f.cut_out(rows, undo, nums, t, 0 if as_written else 1, r, 0)
        return
    assert node.axis is not None
    axis = AXES.index(node.axis)
    for n, child in enumerate(node.children):
        if n:
            f.unlink_rest(rows, undo, nums, r)
        low = int(f.slice_rest(rows, undo, nums, r, axis, (child.length, child.width)[axis] + kerf))
        rest = r if rows[r, f.KIND] == f.REST else _last(rows, r)
        _grow(s, model, part_row, child, low)
        r = rest


def _last(rows: Ints, p: int) -> int:
    """Return the last child of split `p`."""
    c = int(rows[p, f.CHILD])
    while rows[c, f.NEXT]:
        c = int(rows[c, f.NEXT])
    return c
