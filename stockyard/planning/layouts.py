"""Between the search's flat table and cut trees: read layouts out, plant them again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from stockyard.planning import forest as f
from stockyard.planning.forest import Forest
from stockyard.planning.kernel import place
from stockyard.planning.model import AS_WRITTEN, Candidate, Model
from stockyard.planning.record import A_REST, CLOSE, OPEN_ALONG, write_layout
from stockyard.planning.tree import Axis, Node, Pattern

AXES = (Axis.CROSSCUT, Axis.RIP)


class Reader:
    """Turns written layouts of one model into candidates."""

    def __init__(self, model: Model) -> None:
        self.model = model
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
        stock = model.stock[tokens[1]]
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
                gives[token // 2] += 1
                done.append(self._leaf[token // 2][token % 2])
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
            stock=tokens[1],
            gives=tuple(sorted(gives.items())),
            money=stock.money,
            net=stock.area - worth,
        )

    def record(self, s: Forest) -> list[Candidate]:
        """Return the layouts recorded during the search and empty the record."""
        used = int(s.ints[f.USED])
        tokens: list[int] = s.layouts[:used].tolist()
        s.ints[f.USED] = 0
        found = []
        at = 0
        while at < used:
            found.append(self.candidate(tokens[at : at + tokens[at]]))
            at += tokens[at]
        return found

    def state(self, s: Forest) -> list[Candidate]:
        """Return the layouts of the open pieces."""
        found = []
        at = int(s.ints[f.USED])
        p = int(s.rows[0, f.CHILD])
        while p:
            end = int(write_layout(s, p, at))
            assert end > 0, "the record keeps room for one layout"
            found.append(self.candidate(s.layouts[at:end].tolist()))
            p = int(s.rows[p, f.NEXT])
        return found


def plant(s: Forest, model: Model, candidates: Iterable[Candidate]) -> None:
    """Open a piece for each candidate and grow its tree; parts beyond the demand become rests."""
    index = {p.row: t for t, p in enumerate(model.parts)}
    left = {p.row: int(s.rows[1 + t, f.COUNT]) for t, p in enumerate(model.parts)}
    for c in candidates:
        tree = prune(c.pattern.root, left)
        if tree is not None:
            _grow(s, model, index, tree, int(f.open_piece(s, c.stock)))


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


def _grow(s: Forest, model: Model, index: dict[int, int], node: Node, r: int) -> None:
    """Grow a pruned tree in the listed REST `r`, which is as large as its root or larger."""
    kerf = model.problem.kerf
    if node.part is not None:
        t = index[node.part]
        part = model.parts[t]
        stock = int(s.rows[s.rows[r, f.PIECE], f.TAG])
        straight = part.length == node.length + kerf and part.width == node.width + kerf
        place(s, t, 0 if straight and part.lies[stock] & AS_WRITTEN else 1, r, 0)
        return
    assert node.axis is not None
    axis = AXES.index(node.axis)
    for child in node.children:
        f.unlink_rest(s, r)
        low = int(f.slice_rest(s, r, axis, (child.length, child.width)[axis] + kerf))
        f.link_rest(s, low)
        rest = r if s.rows[r, f.KIND] == f.REST else _last(s, r)
        _grow(s, model, index, child, low)
        r = rest


def _last(s: Forest, p: int) -> int:
    """Return the last child of split `p`."""
    c = int(s.rows[p, f.CHILD])
    while s.rows[c, f.NEXT]:
        c = int(s.rows[c, f.NEXT])
    return c
