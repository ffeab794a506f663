"""A problem as whole numbers for the search: kerf inside every extent, parts matched to stock.

With kerf k a part of a x b takes (a + k) x (b + k) of a piece whose usable L x W counts as
(L + k) x (W + k); cutting is then plain guillotine cutting without kerf, exactly.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import gcd

from stockyard.planning.problem import Kind, Method, Problem, flaws_in, lies_on, turns
from stockyard.planning.tree import Pattern, leaves

AS_WRITTEN = 1
TURNED = 2
UNLIMITED = -1


@dataclass(frozen=True, slots=True)
class StockModel:
    """One stock row: extents with kerf, pieces to be had (-1 = any), money for one.

    `area` is the real face area with the price per `pull` (ticks²).
    """

    row: int
    length: int
    width: int
    count: int
    money: int
    to_buy: bool
    area: int
    pull: int
    dig: int


@dataclass(frozen=True, slots=True)
class PartModel:
    """One part row: extents with kerf, how many, and how it may lie on each stock of the model.

    `lies[j]` is a sum of AS_WRITTEN and TURNED for the j-th stock, only where it fits by size too.
    """

    row: int
    length: int
    width: int
    demand: int
    priority: int
    lies: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Model:
    """Parts and stock that concern each other (one connected share of a problem)."""

    problem: Problem
    stock: tuple[StockModel, ...]
    parts: tuple[PartModel, ...]

    @property
    def money_step(self) -> int:
        """What the money of every plan is a multiple of."""
        return gcd(*(s.money for s in self.stock)) or 1

    def most_times(self, c: Candidate) -> int:
        """Return how often a layout may be cut at most."""
        wanted = max(-(-self.parts[k].demand // n) for k, n in c.gives)
        count = self.stock[c.stock].count
        return wanted if count < 0 else min(wanted, count)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A layout in the pool: its pattern, what it gives (by index into the model's parts), its figures.

    `money` is 0 for offcuts. `net` is the piece's area with the price per pull, less the worth of the
    leftovers that its tree keeps (ticks²).
    """

    pattern: Pattern
    stock: int
    gives: tuple[tuple[int, int], ...]
    money: int
    net: int


def _lies(problem: Problem, part: int, stock: int) -> int:
    p, s = problem.parts[part], problem.stock[stock]
    saws = problem.saws if problem.method is Method.SAW else None
    ways = 0
    for turned in turns(p, s):
        if lies_on(p, s, turned=turned, saws=saws):
            ways |= TURNED if turned else AS_WRITTEN
    return ways


def shares(problem: Problem) -> tuple[Model, ...]:
    """Split a problem into models that have no stock in common. Parts that fit nothing are left out."""
    lies = [
        [_lies(problem, i, j) if s.count != 0 and p.count else 0 for j, s in enumerate(problem.stock)]
        for i, p in enumerate(problem.parts)
    ]
    share_of = list(range(len(problem.stock)))

    def root(j: int) -> int:
        while share_of[j] != j:
            j = share_of[j]
        return j

    for row in lies:
        usable = [j for j, ways in enumerate(row) if ways]
        for j in usable[1:]:
            share_of[root(j)] = root(usable[0])
    models = []
    for top in sorted({root(j) for row in lies for j, ways in enumerate(row) if ways}):
        stock = [j for j in range(len(problem.stock)) if root(j) == top]
        parts = [i for i, row in enumerate(lies) if problem.parts[i].count and any(row[j] for j in stock)]
        if parts:
            models.append(
                Model(
                    problem,
                    tuple(_stock_model(problem, j) for j in stock),
                    tuple(_part_model(problem, i, tuple(lies[i][j] for j in stock)) for i in parts),
                )
            )
    return tuple(models)


def _stock_model(problem: Problem, j: int) -> StockModel:
    s, k = problem.stock[j], problem.kerf
    return StockModel(
        row=j,
        length=s.usable[0] + k,
        width=s.usable[1] + k,
        count=UNLIMITED if s.count is None else s.count,
        money=s.cost if s.kind is Kind.FULL else 0,
        to_buy=s.count is None,
        area=s.area + problem.effort_on(s).pull,
        pull=problem.effort_on(s).pull,
        dig=s.dig,
    )


def _part_model(problem: Problem, i: int, lies: tuple[int, ...]) -> PartModel:
    p, k = problem.parts[i], problem.kerf
    return PartModel(i, p.length + k, p.width + k, p.count, p.priority, lies)


def has_flaws(model: Model, stock: int) -> bool:
    """Whether a stock row of a model has flaws."""
    return bool(model.problem.stock[model.stock[stock].row].flaws)


def flawed_rows(model: Model) -> tuple[int, ...]:
    """Return the stock rows of a model that have flaws."""
    return tuple(j for j in range(len(model.stock)) if has_flaws(model, j))


def without_flawed(model: Model) -> Model:
    """Return the model where no part may lie on a row with flaws: such rows get layouts of their own."""
    flawed = set(flawed_rows(model))
    if not flawed:
        return model
    parts = (
        replace(p, lies=tuple(0 if j in flawed else ways for j, ways in enumerate(p.lies)))
        for p in model.parts
    )
    return replace(model, parts=tuple(parts))


def is_clear(problem: Problem, pattern: Pattern) -> bool:
    """Whether no part of a cut tree touches a flaw of its piece."""
    piece = problem.stock[pattern.stock]
    if not piece.flaws:
        return True
    trim = piece.edge_trim
    return not any(
        node.part is not None and flaws_in(piece.flaws, x, y, node.length, node.width)
        for x, y, node in leaves(pattern.root, trim.x_low, trim.y_low, problem.kerf)
    )
