"""Best guillotine pattern of one piece with flaws, for every rectangle of it at once.

F(x1, x2, y1, y2) is the most value that parts cut edge to edge from that rectangle of the piece can have
when none may touch a flaw; the blade may run through one. Parts lie as low as they go, so that every cut
is a sum of part sizes from the low edge of the piece or from the far edge of a flaw (Afsharian, Niknejad
and Waescher 2014). Over that table all sets of parts that lose little of the value are listed, within the
demand. Extents here hold the kerf already; values are whole numbers, so that they are exact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stockyard.planning.compiled import jit

Ints = NDArray[np.int64]
Flaws = Sequence[tuple[int, int, int, int]]
# Points of both directions multiplied: the table has the square of that.
MOST_POINTS = 5000
# Sets of parts kept of one rectangle.
MOST_SETS = 300
# Rectangles looked at for sets of parts.
MOST_LOOKED = 60_000

Cell = tuple[int, int, int, int]
"""A rectangle of the table: from and to, along and across, as points."""


@dataclass(frozen=True, slots=True)
class Item:
    """One way a part may lie: its extents, how many are wanted, which part, its value."""

    length: int
    width: int
    demand: int
    part: int
    value: int


@jit
def _fill(best: Any, xs: Any, ys: Any, sizes: Any, values: Any, flaws: Any, kerf: int) -> None:
    """Fill best[a, b, c, d], the F of xs[a] .. xs[b] by ys[c] .. ys[d], from narrow to wide."""
    nx, ny = len(xs), len(ys)
    for wide in range(1, nx):
        for a in range(nx - wide):
            b = a + wide
            plane = best[a, b]
            for k in range(len(values)):
                if xs[a] + sizes[k, 0] <= xs[b]:
                    _lay(plane, xs[a], ys, sizes[k, 0], sizes[k, 1], values[k], flaws)
            for cut in range(a + 1, b):
                if xs[cut] - xs[a] <= kerf:
                    continue
                low, high = best[a, cut], best[cut, b]
                for c in range(ny):
                    for d in range(c + 1, ny):
                        both = low[c, d] + high[c, d]
                        if both > plane[c, d]:
                            plane[c, d] = both
            for tall in range(1, ny):
                for c in range(ny - tall):
                    d = c + tall
                    most = plane[c, d]
                    for cut in range(c + 1, d):
                        both = plane[c, cut] + plane[cut, d]
                        if both > most and ys[cut] - ys[c] > kerf:
                            most = both
                    plane[c, d] = most


@jit
def _lay(plane: Any, x: int, ys: Any, length: int, width: int, value: int, flaws: Any) -> None:
    """Raise plane[c, d] to the value of an item in the low corner, wherever it touches no flaw there."""
    ny = len(ys)
    for c in range(ny):
        top = ys[c] + width
        bad = top > ys[ny - 1]
        for f in range(len(flaws)):
            along = x + length > flaws[f, 0] and x < flaws[f, 1]
            bad = bad or (along and top > flaws[f, 2] and ys[c] < flaws[f, 3])
        for d in range(c + 1, ny):
            if not bad and ys[d] >= top and plane[c, d] < value:
                plane[c, d] = value


def points(sizes: Sequence[int], origins: Sequence[int], extent: int, most: int) -> Ints:
    """Return all sums of sizes from the origins within the extent, and the extent; `most`: those of few."""
    found = {o for o in origins if 0 <= o < extent}
    layer = set(found)
    while layer:
        reached = {o + s for o in layer for s in sizes if o + s < extent} - found
        if len(found) + len(reached) > most:
            found |= set(sorted(reached)[: max(0, most - len(found))])
            break
        found |= reached
        layer = reached
    return np.array(sorted(found | {extent}), dtype=np.int64)


def compile_flawed() -> None:
    """Compile the kernels of the table."""
    Table([Item(4, 4, 1, 0, 1)], [(2, 3, 2, 3)], 12, 12, kerf=1)


class Table:
    """F of every rectangle of one piece, and the sets of parts behind it."""

    def __init__(
        self, items: Sequence[Item], flaws: Flaws, length: int, width: int, kerf: int, most: int = MOST_POINTS
    ) -> None:
        """`flaws` are (low, high, low, high): an item from x to x + w touches where x + w > low, x < high."""
        self.items, self.flaws, self.kerf = items, flaws, kerf
        share = _share(items, flaws, length, width, most)
        after = kerf + 1  # the blade takes a kerf, and something must be left beside it
        x_from = [0, *(max(f[1], after) for f in flaws)]
        y_from = [0, *(max(f[3], after) for f in flaws)]
        self.xs = points([it.length for it in items], x_from, length, share[0])
        self.ys = points([it.width for it in items], y_from, width, share[1])
        nx, ny = len(self.xs), len(self.ys)
        self.best = np.zeros((nx, nx, ny, ny), dtype=np.int32)
        sizes = np.array([(it.length, it.width) for it in items], dtype=np.int64)
        values = np.array([it.value for it in items], dtype=np.int64)
        marks = np.array(flaws, dtype=np.int64).reshape(-1, 4)
        _fill(self.best, self.xs, self.ys, sizes, values, marks, kerf)
        self.root: Cell = (0, nx - 1, 0, ny - 1)
        self._x, self._y = self.xs.tolist(), self.ys.tolist()

    @property
    def value(self) -> int:
        """F of the whole piece."""
        return int(self.best[self.root])

    def lies(self, item: Item, cell: Cell) -> bool:
        """Whether an item fits into the low corner of a rectangle and touches no flaw there."""
        a, b, c, d = cell
        x, y = self._x[a], self._y[c]
        if x + item.length > self._x[b] or y + item.width > self._y[d]:
            return False
        return not any(
            x + item.length > f[0] and x < f[1] and y + item.width > f[2] and y < f[3] for f in self.flaws
        )

    def extents(self, cell: Cell) -> tuple[int, int]:
        """Return the extents of a rectangle."""
        a, b, c, d = cell
        return self._x[b] - self._x[a], self._y[d] - self._y[c]

    def halves(self, cell: Cell, least: int) -> Iterator[tuple[bool, Cell, Cell]]:
        """Yield the cuts of a rectangle whose sides have together at least this value; True for crosscuts."""
        a, b, c, d = cell
        both = self.best[a, a + 1 : b, c, d] + self.best[a + 1 : b, b, c, d]
        for n in np.flatnonzero(both >= least).tolist():
            cut = a + 1 + n
            if self._x[cut] - self._x[a] > self.kerf:
                yield True, (a, cut, c, d), (cut, b, c, d)
        both = self.best[a, b, c, c + 1 : d] + self.best[a, b, c + 1 : d, d]
        for n in np.flatnonzero(both >= least).tolist():
            cut = c + 1 + n
            if self._y[cut] - self._y[c] > self.kerf:
                yield False, (a, b, c, cut), (a, b, cut, d)


def _share(items: Sequence[Item], flaws: Flaws, length: int, width: int, most: int) -> tuple[int, int]:
    """Return how many points each direction may have."""
    along = len(points([it.length for it in items], [0, *(f[1] for f in flaws)], length, most))
    across = len(points([it.width for it in items], [0, *(f[3] for f in flaws)], width, most))
    if along * across <= most:
        return along, across
    half = int(most**0.5)
    if across <= half:
        return most // across, across
    return (along, most // along) if along <= half else (half, half)


class Sets:
    """The sets of parts that rectangles of a table can give within the demand and a loss of value.

    A set is one whole number: the count of each part in its own bits, and one bit more that shows a count
    beyond the demand.
    """

    def __init__(self, table: Table, loss: int, stop: Callable[[], bool]) -> None:
        self._table, self._loss, self._stop = table, loss, stop
        self.of_part: dict[int, int] = {}
        self.wanted = self._over = self._guard = at = 0
        for item in table.items:
            if item.part not in self.of_part:
                bits = item.demand.bit_length()
                self.of_part[item.part] = 1 << at
                self.wanted |= item.demand << at
                self._over |= ((1 << bits) - 1 - item.demand) << at
                self._guard |= 1 << (at + bits)
                at += bits + 1
        self._known: dict[Cell, set[int]] = {}

    def of(self, cell: Cell) -> set[int]:
        """Return the sets of a rectangle."""
        known = self._known.get(cell)
        if known is not None:
            return known
        least = int(self._table.best[cell]) - self._loss
        found = {0} if least <= 0 else set()
        if self._table.best[cell] == 0 or self._stop() or len(self._known) > MOST_LOOKED:
            return self._known.setdefault(cell, found)
        items = (i for i in self._table.items if i.value >= least and self._table.lies(i, cell))
        found |= {self.of_part[i.part] for i in items}
        for _, low, high in self._table.halves(cell, least):
            found |= self._joined(self.of(low), self.of(high))
            if len(found) > MOST_SETS:
                break
        return self._known.setdefault(cell, found)

    def _joined(self, low: set[int], high: set[int]) -> set[int]:
        both = {a + b for a in low for b in high}
        return {s for s in both if not (s + self._over) & self._guard}

    def split(self, cell: Cell, wanted: int) -> tuple[bool, Cell, int, Cell, int] | None:
        """Return a cut of a rectangle by which it gives a set of its own: the sides and what each gives."""
        least = int(self._table.best[cell]) - self._loss
        for crosscut, low, high in self._table.halves(cell, least):
            there = self._known.get(high, set())
            for part in self._known.get(low, set()):
                if wanted - part in there and not ((wanted - part) & self._guard) and part <= wanted:
                    return crosscut, low, part, high, wanted - part
        return None
