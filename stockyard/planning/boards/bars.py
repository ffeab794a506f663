"""One-dimensional models: which they are, and the best crosscuts by a bounded knapsack.

A model is one-dimensional when no two of its parts fit side by side on any stock: boards that are
only crosscut, or sheets only ripped into full strips.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stockyard.planning.compiled import jit
from stockyard.planning.model import AS_WRITTEN, Candidate, Model
from stockyard.planning.sawing.tidy import split
from stockyard.planning.tables.pricing import Column, Layout, weighed
from stockyard.planning.tree import Axis, Node

# Sums of 64-bit floats are exact for whole numbers far beyond this.
TOP_VALUE = 1 << 48
# Places on the line of one knapsack; longer stock is put on a coarser line.
PLACES = 120_000
# Patterns of one pricing, over all stock rows.
MANY = 10


@dataclass(frozen=True, slots=True)
class Line:
    """A one-dimensional view: extents along `axis` of the stock and of the parts (kerf inside)."""

    axis: Axis
    stock: tuple[int, ...]
    parts: tuple[int, ...]
    turned: tuple[bool, ...]


def line_of(model: Model) -> Line | None:
    """Return the one-dimensional view of a model, or None when it has none."""
    for axis in Axis:
        line = _along(model, axis)
        if line is not None:
            return line
    return None


def _along(model: Model, axis: Axis) -> Line | None:
    sizes, turned, across = [], [], []
    for p in model.parts:
        ways = {w for w in p.lies if w}
        if len(ways) != 1 or not ways <= {1, 2}:
            return None
        is_turned = ways != {AS_WRITTEN}
        along_length = (axis is Axis.CROSSCUT) != is_turned
        sizes.append(p.length if along_length else p.width)
        across.append(p.width if along_length else p.length)
        turned.append(is_turned)
    stock = []
    for j, s in enumerate(model.stock):
        along, side = (s.length, s.width) if axis is Axis.CROSSCUT else (s.width, s.length)
        sides = [a for a, p in zip(across, model.parts, strict=True) if p.lies[j]]
        if sides and 2 * min(sides) <= side:
            return None
        stock.append(along)
    return Line(axis, tuple(stock), tuple(sizes), tuple(turned))


@jit
def _knapsack(places: int, sizes: Any, values: Any, taken: Any) -> Any:
    """Return the best value for each room; taken[k, c] tells whether item k is in it. Items are single."""
    best = np.zeros(places + 1, dtype=np.float64)
    after = np.zeros(places + 1, dtype=np.float64)
    for k in range(len(sizes)):
        size, value = min(sizes[k], places + 1), values[k]
        after[:size] = best[:size]
        taken[k, :size] = 0
        # Slices of one length, which the machine goes through several at a time.
        below, without, with_it, mark = best[: places + 1 - size], best[size:], after[size:], taken[k, size:]
        for c in range(len(below)):
            more, same = below[c] + value, without[c]
            mark[c] = more > same
            with_it[c] = more if more > same else same
        best, after = after, best
    return best


@jit
def _patterns(part: Any, times: Any, sizes: Any, taken: Any, room: int, parts: int) -> Any:
    """Return for each item the best pattern in which it is the last: how many of each part, a row each.

    A row is empty where the item does not fit.
    """
    counts = np.zeros((len(sizes), parts), dtype=np.int64)
    for last in range(len(sizes)):
        left = room - sizes[last]
        if left < 0:
            continue
        counts[last, part[last]] += times[last]
        for k in range(last - 1, -1, -1):
            if taken[k, left]:
                counts[last, part[k]] += times[k]
                left -= sizes[k]
    return counts


def compile_bars() -> None:
    """Compile the kernels of this module on one part."""
    one, taken = np.ones(1, np.int64), np.zeros((1, 2), np.uint8)
    _knapsack(1, one, np.ones(1), taken)
    _patterns(one, one, one, taken, 1, 1)


@dataclass(frozen=True, slots=True)
class _Packed:
    """One knapsack solved: its single items (a part, how many at a time, their size) and its choices."""

    part: NDArray[np.int64]
    times: NDArray[np.int64]
    sizes: NDArray[np.int64]
    worth: NDArray[np.float64]
    taken: NDArray[np.uint8]
    best: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class BarsPriced:
    """The best value on each stock row, and the knapsacks (one for each group) that can be cut."""

    best: tuple[int, ...]
    packed: tuple[_Packed, ...]


def _lying_alike(model: Model) -> list[list[int]]:
    """Return the stock rows in groups on which the same parts lie, by their size too."""
    alike: dict[tuple[int, ...], list[int]] = {}
    for j in range(len(model.stock)):
        alike.setdefault(tuple(p.lies[j] for p in model.parts), []).append(j)
    return list(alike.values())


class BarPricer:
    """Prices one-dimensional stock, with patterns within the demand; see `pricing.Pricer`."""

    top = TOP_VALUE

    def __init__(self, model: Model, line: Line) -> None:
        self.model, self.line = model, line
        unit = gcd(*line.parts)
        self.step = max(unit, -(-max(line.stock) // PLACES))
        self.is_exact = self.step == unit
        self.groups = _lying_alike(model)
        self._rooms = [s // self.step for s in line.stock]

    def most(self, values: Sequence[float]) -> float:
        """Return a value that no stock row can exceed when one of part i is worth values[i]."""
        most = max(self._rooms)
        return max(v * most / max(1, p // self.step) for v, p in zip(values, self.line.parts, strict=True))

    def price(self, values: Sequence[int], demand: Sequence[int]) -> BarsPriced:
        """Return the best value of each stock row when one of part i is worth values[i]."""
        best = [0] * len(self.model.stock)
        packed = []
        for stock in self.groups:
            cut = self._pack(stock, values, demand, -1)
            bound = cut if self.is_exact else self._pack(stock, values, demand, 1)
            for j in stock:
                best[j] = int(bound.best[self._rooms[j]])
            packed.append(cut)
        return BarsPriced(tuple(best), tuple(packed))

    def _pack(
        self, stock: Sequence[int], values: Sequence[int], demand: Sequence[int], rounding: int
    ) -> _Packed:
        """Solve one knapsack for all rooms; sizes off the line are rounded up (-1) or down (1)."""
        places = max(self._rooms[j] for j in stock)
        rows: list[tuple[int, int, int]] = []
        for k, p in enumerate(self.model.parts):
            size = rounding * (self.line.parts[k] * rounding // self.step)
            if not values[k] or not any(p.lies[j] for j in stock):
                continue
            left, power = min(demand[k], places // max(size, 1)), 1
            while left > 0:  # 1, 2, 4 ... and the remainder give every count
                take = min(power, left)
                rows.append((k, take, size * take))
                left, power = left - take, power * 2
        part, times, sizes = np.ascontiguousarray(np.array(rows, dtype=np.int64).reshape(-1, 3).T)
        worth = np.array([float(values[k] * n) for k, n, _ in rows])
        taken = np.empty((len(rows), places + 1), dtype=np.uint8)
        best = _knapsack(places, sizes, worth, taken)
        return _Packed(part, times, sizes, worth, taken, best)

    def columns(self, priced: BarsPriced, stock: int) -> list[Column]:
        """Return a pattern of best value on one stock row, and others that differ in their last item."""
        n = next(n for n, g in enumerate(self.groups) if stock in g)
        packed, parts = priced.packed[n], len(self.model.parts)
        counts = _patterns(packed.part, packed.times, packed.sizes, packed.taken, self._rooms[stock], parts)
        value = np.zeros(parts)
        value[packed.part] = packed.worth / packed.times
        order = np.argsort(-(counts @ value), kind="stable")[: max(1, MANY // len(self.model.stock))]
        patterns = dict.fromkeys(
            tuple((int(k), int(counts[i, k])) for k in np.flatnonzero(counts[i])) for i in order
        )
        return [Column(stock, gives, b"", n) for gives in patterns if gives]

    def exact(self, layout: Layout) -> bool:  # noqa: ARG002 - the same question as to `Pricer`
        """Whether it can be cut: always."""
        return True

    def candidate(self, column: Layout) -> Candidate:
        """Return a column as a layout, long parts first."""
        if isinstance(column, Candidate):
            return column
        model, kerf = self.model, self.model.problem.kerf
        piece = model.stock[column.stock]
        leaves = []
        for k, n in sorted(column.gives, key=lambda g: -self.line.parts[g[0]]):
            p = model.parts[k]
            size = (p.width, p.length) if self.line.turned[k] else (p.length, p.width)
            leaves += [Node(size[0] - kerf, size[1] - kerf, part=p.row)] * n
        root = split(self.line.axis, piece.length - kerf, piece.width - kerf, leaves, kerf)
        return weighed(model, column.stock, root)
