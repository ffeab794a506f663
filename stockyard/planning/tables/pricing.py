"""Best patterns of every stock row for given values of the parts, and the cut trees behind them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stockyard.planning.model import AS_WRITTEN, TURNED, Candidate, Model
from stockyard.planning.problem import turns
from stockyard.planning.sawing.tidy import split, tidy
from stockyard.planning.tables.dp import CROSSCUT, PART, REST, TOP_VALUE, Ints, Item, Table, Values, table
from stockyard.planning.tree import Axis, Node, Pattern

# A table that takes more steps than this to solve is made coarser; 10^9 take about half a second.
MOST_STEPS = 3e8


@dataclass(frozen=True, slots=True)
class Column:
    """A pattern as the master sees it: stock and parts by index in the model, and the trace it came from."""

    stock: int
    gives: tuple[tuple[int, int], ...]
    trace: bytes
    group: int


MakeTable = Callable[[Sequence[Item], Sequence[tuple[int, int]]], Table]
Layout = Candidate | Column
"""A layout that was met, or a pattern whose cut tree is made only when it is wanted."""


@dataclass(frozen=True, slots=True)
class Group:
    """Stock rows that take the same parts the same ways, and the table they share."""

    stock: tuple[int, ...]
    table: Table
    points: tuple[tuple[int, int], ...]
    sheets: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Priced:
    """The best value on each stock row, and one pattern that has it for those that were asked for."""

    best: tuple[int, ...]
    filled: tuple[Values, ...]
    values: tuple[Values, ...]


def items_of(model: Model, stock: Sequence[int]) -> list[Item]:
    """Return each way each part may lie on at least one of these stock rows."""
    items = []
    for k, part in enumerate(model.parts):
        ways = 0
        for j in stock:
            ways |= part.lies[j]
        if ways & AS_WRITTEN:
            items.append(Item(part.length, part.width, part.demand, k))
        if ways & TURNED:
            items.append(Item(part.width, part.length, part.demand, k))
    return items


def compatible(model: Model) -> list[list[int]]:
    """Return the stock rows in groups that take the same parts the same ways, size aside."""
    rows, stock = model.problem.parts, model.problem.stock
    alike: dict[tuple[tuple[bool, ...], ...], list[int]] = {}
    for j, s in enumerate(model.stock):
        key = tuple(turns(rows[p.row], stock[s.row]) for p in model.parts)
        alike.setdefault(key, []).append(j)
    return list(alike.values())


def coarse_enough(items: Sequence[Item], sheets: Sequence[tuple[int, int]]) -> Table:
    """Return a table for exact pricing, or a coarse one where that would take too long (`dp.table`)."""
    return table(items, sheets, MOST_STEPS)


class Pricer:
    """Prices the stock of one model."""

    top = TOP_VALUE

    def __init__(self, model: Model, tables: MakeTable = coarse_enough) -> None:
        """`tables` makes a table of items and the extents of sheets."""
        self.model = model
        self.groups: list[Group] = []
        for stock in compatible(model):
            sheets = [(model.stock[j].length, model.stock[j].width) for j in stock]
            items = items_of(model, stock)
            if not items:  # rows with flaws get their layouts elsewhere
                continue
            shared = tables(items, sheets)
            self.groups.append(
                Group(tuple(stock), shared, tuple(shared.point(*s) for s in sheets), tuple(sheets))
            )

    @property
    def steps(self) -> float:
        """About how many steps one pricing takes."""
        return sum(g.table.steps() for g in self.groups) + 1.0

    @property
    def is_exact(self) -> bool:
        """Whether all tables are exact."""
        return all(g.table.exact for g in self.groups)

    def most(self, values: Sequence[float]) -> float:
        """Return a value that no stock row can exceed when one of part i is worth values[i]."""
        top = 0.0
        for g in self.groups:
            face = float(g.table.xs[-1]) * float(g.table.ys[-1])
            faces = g.table.faces()
            top = max(top, *(values[it.part] * face / f for it, f in zip(g.table.items, faces, strict=True)))
        return top

    def price(self, values: Sequence[int], demand: Sequence[int]) -> Priced:
        """Return the best value of each stock row when one of part i is worth values[i].

        A pattern may give more of a part than is wanted, except that parts of no demand are left out.
        """
        values = [v if d else 0 for v, d in zip(values, demand, strict=True)]
        best = [0] * len(self.model.stock)
        filled, worths = [], []
        for g in self.groups:
            per_item = np.array([values[it.part] for it in g.table.items], dtype=np.float32)
            table_best = g.table.solve(per_item)
            for j, point in zip(g.stock, g.points, strict=True):
                best[j] = int(table_best[point])
            filled.append(table_best)
            worths.append(per_item)
        return Priced(tuple(best), tuple(filled), tuple(worths))

    def columns(self, priced: Priced, stock: int) -> list[Column]:
        """Return a pattern of best value on one stock row; it may give more of a part than is wanted."""
        for n, g in enumerate(self.groups):
            if stock in g.stock:
                point = g.points[g.stock.index(stock)]
                return [self.traced(stock, n, g.table.trace(priced.filled[n], priced.values[n], point))]
        raise KeyError(stock)

    def traced(self, stock: int, group: int, steps: Ints) -> Column:
        """Return a pattern traced in the table of a group as a column of one of its stock rows."""
        count: dict[int, int] = {}
        for item in steps[steps[:, 0] == PART, 1].tolist():
            part = self.groups[group].table.items[item].part
            count[part] = count.get(part, 0) + 1
        return Column(stock, tuple(sorted(count.items())), steps.tobytes(), group)

    def exact(self, layout: Layout) -> bool:
        """Whether it can be cut."""
        return isinstance(layout, Candidate) or self.groups[layout.group].table.exact

    def candidate(self, column: Layout) -> Candidate:
        """Return a column as a layout with a tidy cut tree; parts beyond the column's are left out."""
        if isinstance(column, Candidate):
            return column
        steps = np.frombuffer(column.trace, dtype=np.int64).reshape(-1, 2)
        piece, kerf = self.model.stock[column.stock], self.model.problem.kerf
        length, width = piece.length - kerf, piece.width - kerf
        inner = _node(self.model, steps, self.groups[column.group].table.items, dict(column.gives))
        root = Node(length, width) if inner is None else split(Axis.CROSSCUT, length, width, [inner], kerf)
        return weighed(self.model, column.stock, root)


def weighed(model: Model, stock: int, root: Node) -> Candidate:
    """Return a cut tree of one stock row as a tidy layout with its figures."""
    problem, piece = model.problem, model.stock[stock]
    root = tidy(root, problem.kerf, problem.worth, problem.effort_on(problem.stock[piece.row]))
    part_of_row = {p.row: k for k, p in enumerate(model.parts)}
    count: dict[int, int] = {}
    kept, todo = 0, [root]
    while todo:
        node = todo.pop()
        if node.part is not None:
            k = part_of_row[node.part]
            count[k] = count.get(k, 0) + 1
        elif node.axis is None:
            kept += problem.worth.of(node.length, node.width)
        todo.extend(node.children)
    gives = tuple(sorted(count.items()))
    return Candidate(Pattern(piece.row, root), stock, gives, piece.money, piece.area - kept)


def _node(model: Model, steps: Ints, items: Sequence[Item], gives: Mapping[int, int]) -> Node | None:
    """Return a trace as a cut tree of least extents, without parts beyond `gives` or the demand."""
    kerf = model.problem.kerf
    left = {k: min(n, model.parts[k].demand) for k, n in gives.items()}
    done: list[Node | None] = []
    for kind, which in reversed(steps.tolist()):  # children come before their parent, the low side last
        if kind == REST:
            done.append(None)
        elif kind == PART:
            it = items[which]
            left[it.part] = left.get(it.part, 0) - 1
            leaf = Node(it.length - kerf, it.width - kerf, part=model.parts[it.part].row)
            done.append(leaf if left[it.part] >= 0 else None)
        else:
            axis = Axis.CROSSCUT if kind == CROSSCUT else Axis.RIP
            done.append(joined_along(axis, done.pop(), done.pop(), kerf))
    return done[0]


def joined_along(axis: Axis, low: Node | None, high: Node | None, kerf: int) -> Node | None:
    """Return the least rectangle that `axis` splits into both."""
    if low is None or high is None:
        return high if low is None else low
    if axis is Axis.CROSSCUT:
        return split(axis, low.length + kerf + high.length, max(low.width, high.width), [low, high], kerf)
    return split(axis, max(low.length, high.length), low.width + kerf + high.width, [low, high], kerf)
