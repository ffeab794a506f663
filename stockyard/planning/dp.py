"""Best guillotine pattern by dynamic programming on raster points, for every sheet of a table at once.

F(w, h) is the most value that parts cut edge to edge from a w x h rectangle can have, any number of
each: the best single part, or the best split in two (Gilmore and Gomory 1966). Only sums of part
sizes matter as cut positions (Herz 1972), and of those only the reduced raster points (Terno,
Lindemann and Scheithauer 1987; Cintra, Miyazawa, Wakabayashi and Xavier 2008). Extents here hold
the kerf already. Values are whole numbers, so a bound made of them is exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import gcd
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stockyard.planning.compiled import jit

Ints = NDArray[np.int64]

# Kinds of step in a traced pattern, each followed by one number.
REST, PART, CROSSCUT, RIP = 0, 1, 2, 3


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
    """Return the points that suffice for sheets of these extents: each is normal, and 0 is there."""
    keep = {0}
    for extent in set(extents):
        inside = normal[: np.searchsorted(normal, extent, side="right")]
        mirrored = np.searchsorted(inside, extent - inside, side="right") - 1
        keep.update(inside[np.unique(mirrored)].tolist())
    return np.array(sorted(keep), dtype=np.int64)


def thinned(points: Ints, most: int) -> Ints:
    """Return about `most` of the points, evenly by rank; patterns on them are true, but not all there are."""
    if len(points) <= most:
        return points
    picks = np.unique(np.linspace(0, len(points) - 1, most).astype(np.int64))
    return points[picks]


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
def _fill(base: Any, xs: Any, ys: Any, behind_x: Any, behind_y: Any) -> Any:
    best = base.copy()
    nx, ny = best.shape
    for i in range(nx):
        row = best[i]
        if i:
            below = best[i - 1]
            for j in range(ny):
                if below[j] > row[j]:
                    row[j] = below[j]
        a = 1
        while a < i and 2 * xs[a] <= xs[i]:
            low, high = best[a], best[behind_x[i, a]]
            for j in range(ny):
                both = low[j] + high[j]
                if both > row[j]:
                    row[j] = both
            a += 1
        for j in range(ny):
            top = row[j]
            if j and row[j - 1] > top:
                top = row[j - 1]
            b = 1
            while b < j and 2 * ys[b] <= ys[j]:
                both = row[b] + row[behind_y[j, b]]
                if both > top:
                    top = both
                b += 1
            row[j] = top
    return best


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

    def point(self, length: int, width: int) -> tuple[int, int]:
        """Return the point of a sheet with these extents."""
        i = int(np.searchsorted(self.xs, length, side="right")) - 1
        return i, int(np.searchsorted(self.ys, width, side="right")) - 1

    def solve(self, values: Ints, leaf: Ints | None = None) -> Ints:
        """Return F at every point; `leaf` is what an uncut rectangle of the point is worth (default 0)."""
        uncut = np.zeros((len(self.xs), len(self.ys)), dtype=np.int64) if leaf is None else leaf
        base = _base(uncut, self.first_x, self.first_y, values)
        filled: Ints = _fill(base, self.xs, self.ys, self.behind_x, self.behind_y)
        return filled

    def trace(self, best: Ints, values: Ints, point: tuple[int, int]) -> Ints:
        """Return the pattern behind `best` at `point` as rows (kind, item), root first, low side first."""
        steps: Ints = _trace(
            best, self.xs, self.ys, self.behind_x, self.behind_y, self.first_x, self.first_y, values, *point
        )
        return steps


def table(items: Sequence[Item], sheets: Sequence[tuple[int, int]], most: int | None = None) -> Table:
    """Return the table of `items` for sheets of these extents.

    With more than `most` points in a direction they are thinned: what the table finds can be cut,
    but better may exist. Without `most` it is exact.
    """
    axes = []
    for side in (0, 1):
        longest = max(s[side] for s in sheets)
        sizes: dict[int, int] = {}
        for it in items:
            size = it.width if side else it.length
            sizes[size] = sizes.get(size, 0) + it.demand
        points = raster_points(normal_points(sizes.items(), longest), (s[side] for s in sheets))
        axes.append(points if most is None else thinned(points, most))
    xs, ys = axes
    return Table(
        tuple(items),
        xs,
        ys,
        _behind(xs),
        _behind(ys),
        np.searchsorted(xs, [it.length for it in items]).astype(np.int64),
        np.searchsorted(ys, [it.width for it in items]).astype(np.int64),
    )
