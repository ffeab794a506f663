"""Bounds by dual feasible functions: exact values of parts that no packing of a sheet can exceed.

Families f0, f1, f2 of Carlier, Clautiaux and Moukrim (2007), "New reduction procedures and lower
bounds for the two-dimensional bin packing problem with fixed orientation". A pair (f, g), one for
each direction, values a part of a x b at f(a) g(b); no sheet of L x W holds more than f(L) g(W),
however it is cut, so the bounds hold for a router too. Parts that may be turned are valued at the
lesser of their two ways (Clautiaux, Jouglet and El Hayek 2007), or their mean where every sheet is square.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockyard.planning.bounds.piececuts import PieceCut
from stockyard.planning.model import AS_WRITTEN, TURNED, Model

Ints = NDArray[np.int64]
# Above this many parameters of a family they are thinned evenly; each one alone is a valid bound.
MOST_PARAMETERS = 120


def keep_large(sizes: Ints, extent: int, least: int) -> Ints:
    """f0: sizes above extent - least count as all of it, sizes under `least` as nothing."""
    return np.where(sizes > extent - least, extent, np.where(sizes >= least, sizes, 0))


def in_steps(sizes: Ints, extent: int, step: int) -> Ints:
    """f2: sizes counted in steps, rounded down below the half and up above it."""
    top = extent // step
    above, below = 2 * (top - (extent - sizes) // step), 2 * (sizes // step)
    return np.where(2 * sizes > extent, above, np.where(2 * sizes < extent, below, top))


def by_number(sizes: Ints, extent: int, least: int, data: Ints) -> Ints:
    """f1: sizes from `least` to the half count one, larger ones the number of such they displace.

    `data` are the sizes of all single parts in this direction, ascending; `sizes` are among them.
    """
    middle = data[(data >= least) & (2 * data <= extent)]
    sums = np.cumsum(middle)
    most = np.searchsorted(sums, [extent, *(extent - sizes)], side="right")
    large = most[0] - most[1:]
    return np.where(2 * sizes > extent, large, np.where(sizes >= least, 1, 0)).astype(np.int64)


@dataclass(frozen=True, slots=True)
class Scale:
    """A dual feasible function at work: the value of each way a part may lie, and of each sheet."""

    parts: Ints
    sheets: Ints


def scales(ways: Ints, data: Ints, sheets: Ints) -> list[Scale]:
    """Return the functions of all families for one direction.

    `ways` are the extents of the parts as they may lie, `data` those of every single part,
    `sheets` of the stock rows. Functions are relative to the longest sheet and valid for the shorter.
    """
    extent = int(sheets.max())
    half = _parameters(np.concatenate([ways, extent - ways + 1]), extent // 2)
    found = [Scale(keep_large(ways, extent, k), keep_large(sheets, extent, k)) for k in [1, *half]]
    data = np.sort(data)
    for k in _parameters(ways, extent // 2):
        found.append(Scale(by_number(ways, extent, k, data), _holds_by_number(sheets, ways, extent, k, data)))
    steps = _parameters(np.concatenate([ways, *(ways // n + 1 for n in (2, 3, 4))]), extent // 2)
    found += [Scale(in_steps(ways, extent, k), in_steps(sheets, extent, k)) for k in steps]
    return list({(f.parts.tobytes(), f.sheets.tobytes()): f for f in found}.values())


def _parameters(values: Ints, most: int) -> list[int]:
    usable = np.unique(values[(values >= 1) & (values <= most)])
    if len(usable) > MOST_PARAMETERS:
        usable = usable[np.linspace(0, len(usable) - 1, MOST_PARAMETERS).astype(int)]
    return [int(v) for v in usable]


def _holds_by_number(sheets: Ints, ways: Ints, extent: int, least: int, data: Ints) -> Ints:
    """Return the most f1 that fits each sheet: middle sizes alone, or behind one large part."""
    middle = np.cumsum(data[(data >= least) & (2 * data <= extent)])
    large = ways[2 * ways > extent]
    values = by_number(large, extent, least, data)
    holds = []
    for sheet in sheets:
        fits = large <= sheet
        behind = values[fits] + np.searchsorted(middle, sheet - large[fits], side="right")
        holds.append(max(int(np.searchsorted(middle, sheet, side="right")), int(behind.max(initial=0))))
    return np.array(holds, dtype=np.int64)


@dataclass(frozen=True, slots=True)
class _Ways:
    """Both ways of every part as (along length, along width); the same twice when it has only one."""

    first: Ints
    second: Ints


def _ways(model: Model) -> _Ways:
    first, second = [], []
    for p in model.parts:
        mask = 0
        for ways in p.lies:
            mask |= ways
        written, turned = (p.length, p.width), (p.width, p.length)
        first.append(written if mask & AS_WRITTEN else turned)
        second.append(turned if mask & TURNED else written)
    return _Ways(np.array(first, dtype=np.int64), np.array(second, dtype=np.int64))


@dataclass(frozen=True, slots=True)
class Weights:
    """What each part weighs and what one piece of each stock row holds: no packing of a piece weighs more."""

    parts: tuple[int, ...]
    holds: tuple[int, ...]


def cuts(model: Model, most: int = 12) -> list[PieceCut]:
    """Return the cuts in piece counts that look strongest, about `most` of each kind."""
    demand = [p.demand for p in model.parts]
    return [
        PieceCut(sum(d * v for d, v in zip(demand, w.parts, strict=True)), w.holds)
        for w in weights(model, most)
    ]


def weights(model: Model, most: int) -> list[Weights]:
    """Return the weights that look strongest, about `most` of each kind."""
    sheets = np.array([(s.length, s.width) for s in model.stock], dtype=np.int64)
    ways = _ways(model)
    found = _weights(model, sheets, ways, False, most)
    if (sheets[:, 0] == sheets[:, 1]).all() and (ways.first != ways.second).any():
        mirrored = _Ways(ways.first, ways.first[:, ::-1])
        found += _weights(model, sheets, mirrored, True, most)
    return found


def _weights(model: Model, sheets: Ints, ways: _Ways, mean: bool, most: int) -> list[Weights]:
    demand = np.array([p.demand for p in model.parts], dtype=np.int64)
    both = np.concatenate([ways.first, ways.second])
    turning = (ways.first != ways.second).any(axis=1)
    data = np.concatenate([
        np.repeat(ways.first, demand, axis=0),
        np.repeat(ways.second[turning], demand[turning], axis=0),
    ])  # fmt: skip
    across = scales(both[:, 0], data[:, 0], sheets[:, 0])
    along = scales(both[:, 1], data[:, 1], sheets[:, 1])
    tables = _Tables(across, along, demand, mean)
    return [tables.weights(f, g) for f, g in tables.strongest(model, most)]


class _Tables:
    """The functions of both directions as matrices: one row for each function."""

    def __init__(self, across: list[Scale], along: list[Scale], demand: Ints, mean: bool) -> None:
        n = len(demand)
        self.f, self.f_sheets = np.stack([s.parts for s in across]), np.stack([s.sheets for s in across])
        self.g, self.g_sheets = np.stack([s.parts for s in along]), np.stack([s.sheets for s in along])
        self.demand, self.mean, self.n = demand, mean, n

    def weights(self, f: int, g: int) -> Weights:
        """Return the weights of one pair, in exact whole numbers."""
        n = self.n
        one = [int(a) * int(b) for a, b in zip(self.f[f, :n], self.g[g, :n], strict=True)]
        other = [int(a) * int(b) for a, b in zip(self.f[f, n:], self.g[g, n:], strict=True)]
        holds = [int(a) * int(b) for a, b in zip(self.f_sheets[f], self.g_sheets[g], strict=True)]
        if self.mean:
            values, holds = [a + b for a, b in zip(one, other, strict=True)], [2 * h for h in holds]
        else:
            values = [min(a, b) for a, b in zip(one, other, strict=True)]
        return Weights(tuple(values), tuple(holds))

    def strongest(self, model: Model, most: int) -> list[tuple[int, int]]:
        """Return pairs that promise most: against money once all free pieces are used, and against area."""
        need = self._needs()
        rows = np.arange(len(model.stock))
        count = np.array([max(s.count, 0) for s in model.stock], dtype=float)
        money = np.array([s.money for s in model.stock], dtype=float)
        area = np.array([s.length * s.width for s in model.stock], dtype=float)
        picks: list[tuple[int, int]] = []
        gratis = (self.f_sheets * np.where(money == 0, count, 0)) @ self.g_sheets.T
        for cost, free in ((money, gratis), (area, 0.0 * gratis)):
            paid = rows[cost > 0]
            if not len(paid):
                continue
            rate = np.zeros_like(need)
            for j in paid:
                rate = np.maximum(rate, np.outer(self.f_sheets[:, j], self.g_sheets[:, j]) / cost[j])
            short = need - free
            unheld = np.where(short > 0, np.inf, 0.0)
            strength = np.where(rate > 0, short / np.where(rate > 0, rate, 1.0), unheld)
            order = np.argsort(-strength, axis=None, kind="stable")[: most // 2]
            picks += [(int(k) // need.shape[1], int(k) % need.shape[1]) for k in order]
        return list(dict.fromkeys(picks))

    def _needs(self) -> NDArray[np.float64]:
        """Return the total value of all parts for each pair, near enough to choose by."""
        n, d = self.n, self.demand.astype(float)
        f, g = self.f.astype(float), self.g.astype(float)
        if self.mean:
            total: NDArray[np.float64] = (f[:, :n] * d) @ g[:, :n].T + (f[:, n:] * d) @ g[:, n:].T
            return total / 2
        turned = (f[:, :n] != f[:, n:]).any(axis=0) | (g[:, :n] != g[:, n:]).any(axis=0)
        fixed = ~turned
        total = (f[:, :n][:, fixed] * d[fixed]) @ g[:, :n][:, fixed].T
        for i in np.flatnonzero(turned):
            total += d[i] * np.minimum(np.outer(f[:, i], g[:, i]), np.outer(f[:, n + i], g[:, n + i]))
        return total
