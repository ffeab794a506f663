"""Best guillotine pattern by dynamic programming on raster points, for every sheet of a table at once.

F(w, h) is the most value that parts cut edge to edge from a w x h rectangle can have, any number of
each: the best single part, or the best split in two (Gilmore and Gomory 1966). Only sums of part
sizes matter as cut positions (Herz 1972), and of those only the reduced raster points (Terno,
Lindemann and Scheithauer 1987; Cintra, Miyazawa, Wakabayashi and Xavier 2008) or, where they are
fewer, the sums within the counts of the parts; raster points of those would not do. Extents here
hold the kerf already. Values are whole numbers, so a bound made of them is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import gcd, inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stockyard.planning.compiled import jit

Ints = NDArray[np.int64]
Values = NDArray[np.float32]

# Kinds of step in a traced pattern, each followed by one number.
REST, PART, CROSSCUT, RIP = 0, 1, 2, 3
# A coarser grid starts with this many lines along the longest sheet.
COARSE = 800
# A table that is coarse anyway may as well be quick.
COARSE_STEPS = 5e7
# More points in one direction take too much memory.
POINTS = 5000
# Steps between two questions whether to stop.
STEPS_BETWEEN = 2e8
# Rows done at once.
BLOCK = 64
# Values are held as 32-bit floats, which are exact for whole numbers up to this.
TOP_VALUE = 1 << 24


@dataclass(frozen=True, slots=True)
class Item:
    """One way a part may lie: its extents there (ticks), how often it may be used, and its part."""

    length: int
    width: int
    demand: int
    part: int


def normal_points(sizes: Iterable[tuple[int, int]], limit: int) -> Ints:
    """Return all sums up to `limit` of sizes, each (size, count) used at most count times; 0 included."""
    usable = [(s, c) for s, c in sizes if s <= limit]
    step = gcd(*(s for s, _ in usable)) if usable else 1
    room = limit // step
    mask = (1 << (room + 1)) - 1
    sums = 1
    for size, count in usable:
        left, power = min(count, limit // size), 1
        while left:  # 1, 2, 4 ... and the remainder give every count
            take = min(power, left)
            sums |= (sums << (size // step * take)) & mask
            left, power = left - take, power * 2
    packed = np.frombuffer(sums.to_bytes(room // 8 + 1, "little"), dtype=np.uint8)
    return np.flatnonzero(np.unpackbits(packed, bitorder="little")).astype(np.int64) * step


def raster_points(normal: Ints, extents: Iterable[int]) -> Ints:
    """Return the points that suffice for sheets of these extents: each is normal, and 0 is there.

    `normal` are sums of sizes used any number of times: the proof adds two of them and needs their sum.
    """
    keep = np.zeros(len(normal), dtype=np.bool_)
    keep[0] = True
    for extent in set(extents):
        inside = normal[: np.searchsorted(normal, extent, side="right")]
        # No pattern reaches beyond the largest sum.
        mirrored = np.searchsorted(inside, inside[-1] - inside, side="right") - 1
        keep[mirrored] = True
    return normal[keep]


@jit
def _behind(points: Any) -> Any:
    """behind[i, a]: the last point not above points[i] - points[a], for each a in the lower half of i."""
    n = len(points)
    behind = np.zeros((n, n), dtype=np.int32)
    for i in range(n):
        k = i
        for a in range(1, i + 1):
            if 2 * points[a] > points[i]:
                break
            while points[k] > points[i] - points[a]:
                k -= 1
            behind[i, a] = k
    return behind


@jit
def _split_rows(best: Any, xs: Any, behind: Any, first: int, end: int) -> None:
    """Raise the rows first to end - 1 to the best split between two earlier rows."""
    for i in range(first, end):
        row = best[i]
        a = 1
        while a < i and 2 * xs[a] <= xs[i]:
            low, high = best[a], best[behind[i, a]]
            for j in range(row.size):
                both = low[j] + high[j]
                row[j] = both if both > row[j] else row[j]
            a += 1


@jit
def _fill(best: Any, xs: Any, ys: Any, behind_x: Any, behind_y: Any, first: int, most: int) -> Any:
    """Find F at the points of the rows from the `first` on, about `most` of them; return the next row.

    Rows closer together than the least part cannot use each other, so a block of them is done at
    once, turned over, which lets the machine work on several points in one step.
    """
    nx, ny = best.shape
    last = min(nx, first + most)
    while first < last:
        end = first + 1
        while end < nx and end - first < BLOCK and behind_x[end, 1] < first:
            end += 1
        _split_rows(best, xs, behind_x, first, end)
        block = best[first:end].T.copy()
        _split_rows(block, ys, behind_y, 1, ny)
        best[first:end] = block.T
        first = end
    return first


@jit
def _base(leaf: Any, first_x: Any, first_y: Any, values: Any) -> Any:
    """base[i, j]: the best single item that fits the point, or what the rectangle is worth uncut."""
    base = leaf.copy()
    nx, ny = base.shape
    for k in range(len(values)):
        i, j = first_x[k], first_y[k]
        if i < nx and j < ny and values[k] > base[i, j]:
            base[i, j] = values[k]
    for i in range(nx):
        for j in range(ny):
            if i and base[i - 1, j] > base[i, j]:
                base[i, j] = base[i - 1, j]
            if j and base[i, j - 1] > base[i, j]:
                base[i, j] = base[i, j - 1]
    return base


@jit
def _lower_corner(best: Any, i: int, j: int) -> Any:
    """Return the smallest point with the same value."""
    while i and best[i - 1, j] == best[i, j]:
        i -= 1
    while j and best[i, j - 1] == best[i, j]:
        j -= 1
    return i, j


@jit
def _split_of(best: Any, xs: Any, ys: Any, behind_x: Any, behind_y: Any, i: int, j: int) -> Any:
    """Return (kind, cut point, point behind it) of a split that gives best[i, j]; kind 0 if there is none."""
    a = 1
    while a < i and 2 * xs[a] <= xs[i]:
        if best[a, j] + best[behind_x[i, a], j] == best[i, j]:
            return 2, a, behind_x[i, a]
        a += 1
    b = 1
    while b < j and 2 * ys[b] <= ys[j]:
        if best[i, b] + best[i, behind_y[j, b]] == best[i, j]:
            return 3, b, behind_y[j, b]
        b += 1
    return 0, 0, 0


@jit
def _trace(
    best: Any,
    xs: Any,
    ys: Any,
    behind_x: Any,
    behind_y: Any,
    first_x: Any,
    first_y: Any,
    values: Any,
    i: int,
    j: int,
) -> Any:
    """Write down, root first, how best[i, j] comes about: pairs of (kind, item); low side first."""
    nx, ny = best.shape
    steps = np.empty((2 * nx * ny + 2, 2), dtype=np.int64)
    todo = np.empty((2 * (nx + ny), 2), dtype=np.int64)
    todo[0, 0], todo[0, 1] = i, j
    depth, n = 1, 0
    while depth:
        depth -= 1
        i, j = _lower_corner(best, todo[depth, 0], todo[depth, 1])
        item = -1
        for k in range(len(values)):
            if values[k] > 0 and values[k] == best[i, j] and first_x[k] <= i and first_y[k] <= j:
                item = k
                break
        kind, low, high = 0, 0, 0
        if item < 0 and best[i, j] > 0:
            kind, low, high = _split_of(best, xs, ys, behind_x, behind_y, i, j)
        if n == len(steps):  # points limited by demand are not closed: a pattern may have more leaves
            grown = np.empty((2 * n, 2), dtype=np.int64)
            grown[:n] = steps
            steps = grown
        steps[n, 0], steps[n, 1] = (1, item) if item >= 0 else (kind, 0)
        n += 1
        if kind:
            todo[depth, 0], todo[depth, 1] = (high, j) if kind == 2 else (i, high)
            todo[depth + 1, 0], todo[depth + 1, 1] = (low, j) if kind == 2 else (i, low)
            depth += 2
    return steps[:n].copy()


@dataclass(frozen=True, slots=True)
class Table:
    """Raster points and items that many sheets share; `values` of `solve` are per item."""

    items: tuple[Item, ...]
    xs: Ints
    ys: Ints
    behind_x: Any
    behind_y: Any
    first_x: Ints
    first_y: Ints
    grid: int
    mirror: Ints
    """For each item the same part lying the other way; empty when the two directions differ."""
    by_lines: bool = False
    """Whether the points are the lines of `lines.py`: for beams alone."""

    @property
    def exact(self) -> bool:
        """Whether the patterns can be cut as they are."""
        return self.grid == 1

    def steps(self) -> float:
        """Return about how many steps `solve` takes."""
        return _steps(self.xs, self.ys)

    def faces(self) -> list[float]:
        """Return the area of each item on the table's grid."""
        g = self.grid
        return [float(it.length // g * g) * (it.width // g * g) for it in self.items]

    def point(self, length: int, width: int) -> tuple[int, int]:
        """Return the point of a sheet with these extents."""
        if self.by_lines:  # the first line not before it
            return int(np.searchsorted(self.xs, length)), int(np.searchsorted(self.ys, width))
        i = int(np.searchsorted(self.xs, length // self.grid * self.grid, side="right")) - 1
        return i, int(np.searchsorted(self.ys, width // self.grid * self.grid, side="right")) - 1

    def solve(self, values: Values) -> Values:
        """Return F at every point."""
        filled = self._uncut(values)
        _fill(filled, self.xs, self.ys, self.behind_x, self.behind_y, 0, len(self.xs))
        return filled

    def solve_unless(self, values: Values, stop: Callable[[], bool]) -> Values | None:
        """Return F at every point, None when told to `stop` on the way."""
        filled = self._uncut(values)
        rows, first = max(1, int(len(self.xs) * STEPS_BETWEEN / self.steps())), 0
        while first < len(self.xs):
            if stop():
                return None
            first = _fill(filled, self.xs, self.ys, self.behind_x, self.behind_y, first, rows)
        return filled

    def _uncut(self, values: Values) -> Values:
        """Return what every point is worth without a cut."""
        nothing = np.zeros((len(self.xs), len(self.ys)), dtype=np.float32)
        uncut: Values = _base(nothing, self.first_x, self.first_y, values)
        return uncut

    def trace(self, best: Values, values: Values, point: tuple[int, int]) -> Ints:
        """Return the pattern behind `best` at `point` as rows (kind, item), root first, low side first."""
        steps: Ints = _trace(
            best, self.xs, self.ys, self.behind_x, self.behind_y, self.first_x, self.first_y, values, *point
        )
        return steps


def exact_steps(items: Sequence[Item], sheets: Sequence[tuple[int, int]]) -> float:
    """Return about how many steps the exact table of `items` for sheets of these extents takes."""
    return _steps(*_axes(items, sheets, 1))


def table(items: Sequence[Item], sheets: Sequence[tuple[int, int]], most: float = inf) -> Table:
    """Return the table of `items` for sheets of these extents.

    When it would take more than `most` steps to solve, all extents are rounded down to a coarser
    grid. What fits still fits, so values stay upper bounds; but patterns may be too large to cut
    (`exact` is then False).
    """
    least = min(min(it.length, it.width) for it in items)  # no extent may become nothing
    grid, coarser = 1, max(max(s) for s in sheets) // COARSE
    xs, ys = _axes(items, sheets, grid)
    while (_steps(xs, ys) > most or max(len(xs), len(ys)) > POINTS) and grid < least:
        grid = max(1, min(coarser, least))
        coarser += coarser // 2 + 1
        most = min(most, COARSE_STEPS)
        xs, ys = _axes(items, sheets, grid)
    first_x = np.searchsorted(xs, [it.length // grid * grid for it in items]).astype(np.int64)
    first_y = np.searchsorted(ys, [it.width // grid * grid for it in items]).astype(np.int64)
    mirror = _mirror(items) if np.array_equal(xs, ys) else []
    turned = np.array(mirror, np.int64)
    return Table(tuple(items), xs, ys, _behind(xs), _behind(ys), first_x, first_y, grid, turned)


def _mirror(items: Sequence[Item]) -> list[int]:
    """Return for each item the one of the same part that lies the other way; nothing if one has none."""
    ways = {(it.part, it.length, it.width): n for n, it in enumerate(items)}
    turned = [ways.get((it.part, it.width, it.length), -1) for it in items]
    return [] if -1 in turned else turned


def _axes(items: Sequence[Item], sheets: Sequence[tuple[int, int]], grid: int) -> tuple[Ints, Ints]:
    """Return the points of both directions on a grid."""
    axes = []
    for side in (0, 1):
        extents = {s[side] // grid * grid for s in sheets}
        sizes: dict[int, int] = {}
        for it in items:
            size = (it.width if side else it.length) // grid * grid
            sizes[size] = sizes.get(size, 0) + it.demand
        axes.append(_fewest(sizes, extents))
    return axes[0], axes[1]


def _fewest(sizes: Mapping[int, int], extents: Iterable[int]) -> Ints:
    """Return the normal points within the counts, or the raster points where these are fewer."""
    most = max(extents)
    within = normal_points(sizes.items(), most)
    raster = raster_points(normal_points(((s, most // s) for s in sizes), most), extents)
    return min(raster, within, key=len)


def _steps(xs: Ints, ys: Ints) -> float:
    """Return about how many steps a table takes: states times cuts of each."""
    x, y = (float(np.searchsorted(p, p / 2, side="right").sum()) for p in (xs, ys))
    return x * len(ys) + y * len(xs)
