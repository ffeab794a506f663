"""Layouts of pieces with flaws: no part touches one, cuts may run through.

Two ways: all parts at once, over the exact table of the piece, where they nearly fill it; and one part after
the other into what is free, many times over in other orders. Extents here hold the kerf already.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import gcd
from random import Random

from stockyard.planning.compiled import COMPILED
from stockyard.planning.model import AS_WRITTEN, TURNED, Candidate, Model
from stockyard.planning.problem import Flaw, flaws_in
from stockyard.planning.tables.flawed import MOST_POINTS, Cell, Item, Sets, Table
from stockyard.planning.tree import Axis, Node, Pattern, leaves

# A set of parts may miss this share of the best value of the table, else it is built part after part.
NEARLY = 0.12
# Orders tried of one piece.
ORDERS = 8
# Points of the table where the kernels run as plain Python.
FEW_POINTS = 150
# Values in the table are below this.
TOP = 1 << 28


def candidate(model: Model, stock: int, root: Node) -> Candidate:
    """Return a tree of a flawed piece as a layout; of a rest only its clear area counts."""
    problem, piece = model.problem, model.stock[stock]
    row = problem.stock[piece.row]
    part_of_row = {p.row: k for k, p in enumerate(model.parts)}
    count: dict[int, int] = {}
    kept = 0
    for x, y, node in leaves(root, row.edge_trim.x_low, row.edge_trim.y_low, problem.kerf):
        if node.part is not None:
            k = part_of_row[node.part]
            count[k] = count.get(k, 0) + 1
        elif min(node.length, node.width) > 0:
            kept += problem.worth.clear(
                node.length, node.width, flaws_in(row.flaws, x, y, node.length, node.width)
            )
    gives = tuple(sorted(count.items()))
    return Candidate(Pattern(piece.row, root), stock, gives, piece.money, piece.area - kept)


@dataclass(frozen=True, slots=True)
class _Way:
    """One part as it may lie on the piece: its extents with kerf."""

    part: int
    row: int
    length: int
    width: int


class FlawedPiece:
    """Makes layouts of one stock row of a model that has flaws."""

    def __init__(self, model: Model, stock: int) -> None:
        """`model` says how parts may lie on the row."""
        self._model, self._stock, self._kerf = model, stock, model.problem.kerf
        piece = model.stock[stock]
        self._length, self._width = piece.length, piece.width
        self._flaws = tuple(_mark(f, model, piece.row) for f in model.problem.stock[piece.row].flaws)
        self._ways = {k: self._ways_of(k) for k in range(len(model.parts))}
        self._tried: set[frozenset[tuple[int, int]]] = set()

    def _ways_of(self, k: int) -> tuple[_Way, ...]:
        p = self._model.parts[k]
        lies = p.lies[self._stock]
        both = [(p.length, p.width)] if lies & AS_WRITTEN else []
        both += [(p.width, p.length)] if lies & TURNED else []
        return tuple(_Way(k, p.row, dx, dy) for dx, dy in both)

    def layout(
        self, wanted: Mapping[int, int], seed: int, stop: Callable[[], bool], *, exactly: bool
    ) -> Candidate | None:
        """Return a layout that gives much of what is wanted (by part), None for none.

        `exactly`: all of it is tried over the table first.
        """
        left = {k: n for k, n in wanted.items() if n > 0 and self._ways[k]}
        if not left:
            return None
        fresh = exactly and frozenset(left.items()) not in self._tried
        self._tried |= {frozenset(left.items())} if exactly else set()
        root = self._all_of(left, stop) if fresh else None
        if root is None:
            root = self._best_of(left, Random(seed), stop)
        return None if root is None else candidate(self._model, self._stock, root)

    def _all_of(self, wanted: Mapping[int, int], stop: Callable[[], bool]) -> Node | None:
        """Return a tree that gives all that is wanted, if the table holds one that nearly fills the piece."""
        ways = [(w, n) for k, n in sorted(wanted.items()) for w in self._ways[k]]
        face = {w.part: w.length * w.width for w, _ in ways}
        if sum(face[k] * n for k, n in wanted.items()) > self._length * self._width:
            return None
        step = gcd(*(s for w, _ in ways for s in (w.length, w.width)))
        scale = max(1, -(-self._length * self._width // (step * step * TOP)))
        items = [
            Item(w.length, w.width, n, w.part, max(1, face[w.part] // (step * step * scale))) for w, n in ways
        ]
        most = MOST_POINTS if COMPILED else FEW_POINTS
        flaws = self._flaws
        if all(i.width == self._width for i in items):  # boards: a flaw is in the way over the whole width
            across = (f for f in flaws if f[2] < self._width and f[3] > 0)
            flaws = tuple((low, high, self._kerf, self._width) for low, high, *_ in across)
        table = Table(items, flaws, self._length, self._width, self._kerf, most)
        value = {i.part: i.value for i in items}
        loss = table.value - sum(value[k] * n for k, n in wanted.items())
        if loss < 0 or loss > NEARLY * table.value:
            return None
        sets = Sets(table, loss, stop)
        if sets.wanted not in sets.of(table.root):
            return None
        return self._traced(sets, table, table.root, sets.wanted)

    def _traced(self, sets: Sets, table: Table, cell: Cell, wanted: int) -> Node:
        length, width = table.extents(cell)
        if wanted == 0:
            return Node(length - self._kerf, width - self._kerf)
        for item in table.items:
            if sets.of_part[item.part] == wanted and table.lies(item, cell):
                row = self._model.parts[item.part].row
                return self._cornered(length, width, _Way(item.part, row, item.length, item.width))
        found = sets.split(cell, wanted)
        assert found is not None, "a set is known by the cut that gave it"
        crosscut, low, lows, high, highs = found
        both = (self._traced(sets, table, low, lows), self._over_nothing(sets, table, high, highs))
        axis = Axis.CROSSCUT if crosscut else Axis.RIP
        children = tuple(n for n in both if n is not None)
        return Node(length - self._kerf, width - self._kerf, axis=axis, children=children)

    def _over_nothing(self, sets: Sets, table: Table, cell: Cell, wanted: int) -> Node | None:
        """Return the high side of a cut, None where the blade leaves nothing of it."""
        return self._traced(sets, table, cell, wanted) if min(table.extents(cell)) > self._kerf else None

    def _cornered(self, length: int, width: int, way: _Way) -> Node:
        """Return a rectangle with a part in its low corner."""
        inner = Node(way.length - self._kerf, way.width - self._kerf, part=way.row)
        inner = self._beside(Axis.RIP, inner, way.length, width, width - way.width)
        return self._beside(Axis.CROSSCUT, inner, length, width, length - way.length)

    def _beside(self, axis: Axis, inner: Node, length: int, width: int, more: int) -> Node:
        """Return a rectangle of these extents that splits into `inner` and a rest of `more`."""
        if not more:
            return inner
        k = self._kerf
        rest: tuple[Node, ...] = ()
        if more > k:
            size = (more - k, width - k) if axis is Axis.CROSSCUT else (length - k, more - k)
            rest = (Node(*size),)
        return Node(length - k, width - k, axis=axis, children=(inner, *rest))

    def _best_of(self, wanted: Mapping[int, int], luck: Random, stop: Callable[[], bool]) -> Node | None:
        """Return the tree that gives most, of several orders in which parts are laid one after the other."""
        copies = [k for k, n in wanted.items() for _ in range(min(n, 400))]
        face = {k: self._ways[k][0].length * self._ways[k][0].width for k in wanted}
        best, most = None, 0
        for turn in range(ORDERS):
            if turn and stop():
                break
            noise = 0.0 if turn == 0 else luck.choice((0.1, 0.3, 0.7))
            rank = {k: face[k] * (1 + noise * (luck.random() - 0.5)) for k in wanted}
            order = sorted(copies, key=lambda k: -rank[k])
            free = _Free(self, luck if turn else None)
            given = sum(face[k] for k in order if free.lay(self._ways[k]))
            if given > most:
                best, most = free.tree(), given
                if given == sum(face[k] for k in copies):
                    break
        return best

    def room(self, box: tuple[int, int, int, int], way: _Way) -> tuple[int, int] | None:
        """Return the lowest corner in a box (x, x end, y, y end) where a part touches no flaw."""
        x1, x2, y1, y2 = box
        if x1 + way.length > x2 or y1 + way.width > y2:
            return None
        xs = sorted({x1, *(f[1] for f in self._flaws if f[1] > x1)})
        ys = sorted({y1, *(f[3] for f in self._flaws if f[3] > y1)})
        spots = ((x, y) for x in xs for y in ys if x + way.length <= x2 and y + way.width <= y2)
        return min(
            (s for s in spots if not self._hit(s, way)), key=lambda s: (s[0] - x1) + (s[1] - y1), default=None
        )

    def _hit(self, at: tuple[int, int], way: _Way) -> bool:
        x, y = at
        return any(
            x + way.length > f[0] and x < f[1] and y + way.width > f[2] and y < f[3] for f in self._flaws
        )


def _mark(flaw: Flaw, model: Model, row: int) -> tuple[int, int, int, int]:
    """Return a flaw (low, high, low, high) in extents with kerf: the blade may lie over its low edge."""
    trim, kerf = model.problem.stock[row].edge_trim, model.problem.kerf
    x, y = flaw.x - trim.x_low, flaw.y - trim.y_low
    return x + kerf, x + flaw.dx, y + kerf, y + flaw.dy


class _Free:
    """The free rectangles of a piece while parts are laid into it, and the tree of the cuts."""

    def __init__(self, piece: FlawedPiece, luck: Random | None) -> None:
        self._piece, self._luck = piece, luck
        self._box: list[tuple[int, int, int, int]] = [(0, piece._length, 0, piece._width)]
        self._split: list[tuple[Axis, int, int] | int | None] = [None]
        self._open = [0]

    def lay(self, ways: Sequence[_Way]) -> bool:
        """Lay a part where it leaves least beside it; return whether it fits."""
        best: tuple[float, int, _Way, tuple[int, int]] | None = None
        for n in self._open:
            x1, x2, y1, y2 = self._box[n]
            for way in ways:
                at = self._piece.room(self._box[n], way)
                if at is None:
                    continue
                spare = min(x2 - at[0] - way.length, y2 - at[1] - way.width) + (at[0] - x1) + (at[1] - y1)
                score = spare * (1.0 if self._luck is None else 0.8 + 0.4 * self._luck.random())
                if best is None or score < best[0]:
                    best = (score, n, way, at)
        if best is None:
            return False
        _, n, way, (x, y) = best
        x1, x2, y1, y2 = self._box[n]
        if x > x1:
            n = self._cut(n, Axis.CROSSCUT, x - x1)[1]
        if y > y1:
            n = self._cut(n, Axis.RIP, y - y1)[1]
        wide, tall = x2 - x - way.length, y2 - y - way.width
        axes = [Axis.CROSSCUT, Axis.RIP] if wide >= tall else [Axis.RIP, Axis.CROSSCUT]
        if self._luck is not None and self._luck.random() < 0.3:
            axes.reverse()
        for axis in axes:
            if wide if axis is Axis.CROSSCUT else tall:
                n = self._cut(n, axis, way.length if axis is Axis.CROSSCUT else way.width)[0]
        self._open.remove(n)
        self._split[n] = way.row
        return True

    def _cut(self, n: int, axis: Axis, at: int) -> tuple[int, int]:
        x1, x2, y1, y2 = self._box[n]
        if axis is Axis.CROSSCUT:
            sides = (x1, x1 + at, y1, y2), (x1 + at, x2, y1, y2)
        else:
            sides = (x1, x2, y1, y1 + at), (x1, x2, y1 + at, y2)
        low = len(self._box)
        self._box += sides
        self._split += [None, None]
        self._split[n] = (axis, low, low + 1)
        self._open.remove(n)
        self._open += [low, low + 1]
        return low, low + 1

    def tree(self, n: int = 0) -> Node:
        """Return the cut tree as it stands."""
        x1, x2, y1, y2 = self._box[n]
        kerf = self._piece._kerf
        length, width = x2 - x1 - kerf, y2 - y1 - kerf
        split = self._split[n]
        if split is None or isinstance(split, int):
            return Node(length, width, part=split)
        axis, low, high = split
        sides = [self.tree(low)]
        a1, a2, b1, b2 = self._box[high]
        if min(a2 - a1, b2 - b1) > kerf:
            sides.append(self.tree(high))
        if all(side.part is None and side.axis is None for side in sides):
            return Node(length, width)
        return Node(length, width, axis=axis, children=tuple(sides))


class FlawedPieces:
    """The flawed stock rows of a model: layouts of them for what a plan needs, in ever other orders."""

    def __init__(self, model: Model, rows: Sequence[int], seed: int = 0) -> None:
        self._model, self._rows, self._seed = model, rows, seed
        self._pieces: dict[int, FlawedPiece] = {}
        clear = [j for j in range(len(model.stock)) if j not in set(rows)]
        self.alone = not any(p.lies[j] for p in model.parts for j in clear)
        self._only_here = {k for k, p in enumerate(model.parts) if not any(p.lies[j] for j in clear)}

    def layouts(self, turn: int, stop: Callable[[], bool]) -> list[Candidate]:
        """Return layouts, each within what those before it leave; the first turn is quick."""
        luck = Random(self._seed * 1009 + turn)
        wanted = {k: p.demand for k, p in enumerate(self._model.parts)}
        found: list[Candidate] = []
        for j in self._order(turn, luck):
            for _ in range(self._most(j)):
                ours = wanted if self._may_pay(j, turn) else {k: wanted[k] for k in self._only_here}
                piece = self._piece(j)
                made = piece.layout(ours, self._seed + turn - 1, stop, exactly=turn > 1)
                if made is None:
                    break
                found.append(made)
                for k, n in made.gives:
                    wanted[k] -= n
                if turn > 1 and stop():
                    return found
        return found

    def rest(self, layouts: Sequence[Candidate], seed: int) -> list[Candidate]:
        """Return layouts on rows that these leave unused, of parts that they leave out."""
        used = Counter(c.stock for c in layouts)
        missing = Counter({k: p.demand for k, p in enumerate(self._model.parts)})
        for c in layouts:
            missing.subtract(dict(c.gives))
        found: list[Candidate] = []
        for j in self._order(1, Random(seed)):
            for _ in range(self._most(j) - used[j]):
                piece = self._piece(j)
                made = piece.layout(missing, seed, lambda: False, exactly=False)
                if made is None:
                    break
                found.append(made)
                missing.subtract(dict(made.gives))
        return found

    def _piece(self, j: int) -> FlawedPiece:
        if j not in self._pieces:
            self._pieces[j] = FlawedPiece(self._model, j)
        return self._pieces[j]

    def _order(self, turn: int, luck: Random) -> list[int]:
        """Return the rows in the order in which they are used: small ones first, later by chance."""
        stock = self._model.stock
        order = sorted(self._rows, key=lambda j: (stock[j].money, stock[j].area, j))
        if turn <= 2:
            return order
        luck.shuffle(order)
        return order if turn % 2 else order[: luck.randint(1, len(order))]

    def _most(self, j: int) -> int:
        count = self._model.stock[j].count
        return sum(p.demand for p in self._model.parts) if count < 0 else count

    def _may_pay(self, j: int, turn: int) -> bool:
        """Whether a row may give parts that clear pieces could give too: where it costs, every other turn."""
        return self.alone or not self._model.stock[j].money or turn % 2 == 0
