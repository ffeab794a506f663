"""All parts on one sheet with next to no waste: the lowest gap is filled first, step back where none fits.

Depth-first over the outline of what lies already (a skyline); restarts with other orders keep a bad beginning
from costing all the time. Without any waste `perfect.py` searches instead.
"""

from __future__ import annotations

from math import gcd

import numpy as np

from stockyard.planning.compiled import lean
from stockyard.planning.model import AS_WRITTEN, TURNED, Candidate, Model
from stockyard.planning.placing.kernel import chance
from stockyard.planning.placing.outline import raised, ranked
from stockyard.planning.placing.perfect import EXHAUSTED, FOUND, LIMIT, Gapless
from stockyard.planning.placing.room import Floats, Ints
from stockyard.planning.placing.spots import candidate
from stockyard.planning.tree import Spot

__all__ = ["EXHAUSTED", "FOUND", "LIMIT", "Closer"]

# Sums of extents are looked up where the sheet has no more steps than this; anew for each outline up to that.
MOST_SUMS, MOST_STEPS = 20_000, 4000
# Nodes of the first try, and how they grow from try to try.
FIRST_NODES, GROWTH, MOST_GROWN = 20_000, 1.3, 30


@lean
def _options(
    size: Ints, kind: Ints, left: Ints, order: Ints, rank: Floats, regs: Ints,
    gap: int, room: int, wall: int, sums: Ints, spare: int, noise: float,
) -> int:  # fmt: skip
    """List what may go into a gap of width `gap` with `room` above it; return how many.

    What fills the gap, or ends level with the `wall` beside it, comes first; then the large before the small.
    """
    n = 0
    for o in range(len(size)):
        w, h = size[o, 0], size[o, 1]
        if left[kind[o]] == 0 or w > gap or h > room:
            continue
        rest = gap - w
        if spare == 0 and len(sums) > 1 and not sums[rest]:
            continue
        worth = float(w) * float(h) * (1.0 + noise * chance(regs))
        if rest == 0:
            worth *= 1.0 + 3.0 * (1.0 - noise * chance(regs))
        if h == wall:
            worth *= 1.0 + 1.0 * (1.0 - noise * chance(regs))
        n = ranked(order, rank, n, o, worth)
    return n


@lean
def _lowest(sky: Ints, n: int) -> int:
    """Return the first of the lowest stretches."""
    at = 0
    for i in range(1, n):
        if sky[i, 1] < sky[at, 1]:
            at = i
    return at


@lean
def fill(
    size: Ints, kind: Ints, left: Ints, wide: int, high: int, spare: int, across: Ints, up: Ints,
    sky: Ints, sky_n: Ints, order: Ints, rank: Floats, many: Ints, cursor: Ints, waste: Ints,
    laid: Ints, regs: Ints, limit: int, noise: float,
) -> int:  # fmt: skip
    """Place all that is `left` on wide x high with at most `spare` of waste; `laid` gets option, x, y each.

    Return FOUND, EXHAUSTED (nothing of this kind exists) or LIMIT.
    """
    wanted = 0
    for k in range(len(left)):
        wanted += left[k]
    d = nodes = placed = 0
    sky[0, 0, 0], sky[0, 0, 1], sky[0, 0, 2] = 0, 0, wide
    sky_n[0], many[0], waste[0] = 1, -1, 0
    while d >= 0:
        at = _lowest(sky[d], sky_n[d])
        x, y, gap = sky[d, at, 0], sky[d, at, 1], sky[d, at, 2]
        low = sky[d, at - 1, 1] - y if at > 0 else high - y
        low = min(low, sky[d, at + 1, 1] - y) if at + 1 < sky_n[d] else low
        if many[d] < 0:
            nodes += 1
            if nodes > limit:
                return LIMIT
            many[d] = _options(
                size, kind, left, order[d], rank, regs, gap, high - y,
                sky[d, at - 1, 1] - y if at > 0 else high - y, across, spare - waste[d], noise,
            )  # fmt: skip
            if spare == waste[d] and len(up) > 1 and not up[high - y]:
                many[d] = 0
            cursor[d] = 0
        elif laid[d, 0] >= 0:  # take back what was tried
            left[kind[laid[d, 0]]] += 1
            placed -= 1
        if cursor[d] < many[d]:
            o = order[d, cursor[d]]
            cursor[d] += 1
            left[kind[o]] -= 1
            placed += 1
            laid[d, 0], laid[d, 1], laid[d, 2] = o, x, y
            if placed == wanted:
                return FOUND
            sky_n[d + 1] = raised(sky[d], sky_n[d], sky[d + 1], at, size[o, 0], size[o, 1])
            waste[d + 1], many[d + 1] = waste[d], -1
            d += 1
        elif cursor[d] == many[d] and low * gap <= spare - waste[d] and low < high - y and d + 2 < len(sky):
            cursor[d] += 1
            laid[d, 0] = -1
            sky_n[d + 1] = raised(sky[d], sky_n[d], sky[d + 1], at, gap, low)
            waste[d + 1], many[d + 1] = waste[d] + low * gap, -1
            d += 1
        else:
            laid[d, 0] = -1
            d -= 1
    return EXHAUSTED


class Closer:
    """Tries to close one sheet of a model with everything on it, a try at a time."""

    def __init__(self, model: Model, stock: int, seed: int, *, swapped: bool = False) -> None:
        """`swapped`: without waste, search from the other side of the sheet."""
        self._model, self._stock, self._swapped = model, stock, swapped
        piece, parts = model.stock[stock], model.parts
        ways = [
            (p.length, p.width, n) if way == AS_WRITTEN else (p.width, p.length, n)
            for n, p in enumerate(parts)
            for way in (AS_WRITTEN, TURNED)
            if p.lies[stock] & way
        ]
        self._step = (gcd(*(w for w, _, _ in ways)), gcd(*(h for _, h, _ in ways)))
        self._size = np.array([(w // self._step[0], h // self._step[1]) for w, h, _ in ways], np.int64)
        self._kind = np.array([n for _, _, n in ways], np.int64)
        self._wide, self._high = piece.length // self._step[0], piece.width // self._step[1]
        unit = self._step[0] * self._step[1]
        need = sum(p.demand * p.length * p.width for p in parts) // unit
        self.waste = piece.length * piece.width - need * unit
        """What is left of the sheet with everything on it (ticks²); less than 0: it is too much."""
        self._spare = self._wide * self._high - need
        counts = [parts[k].demand for k in self._kind.tolist()]
        self._across = _sums(self._wide, self._size[:, 0].tolist(), counts)
        self._up = _sums(self._high, self._size[:, 1].tolist(), counts)
        self._regs = np.array([1 + 2 * seed, 12345 + seed], np.int64)
        self._tries = 0
        self._gapless = None if self.waste else self._exactly(seed)
        self._deep = 2 * sum(p.demand for p in parts) + 4

    @property
    def is_gapless(self) -> bool:
        """Whether the sheet has no waste and is searched for that."""
        return self._gapless is not None

    def _exactly(self, seed: int) -> Gapless | None:
        """Return the search without waste; None where the sheet is no multiple of a step, or has too many."""
        piece, parts = self._model.stock[self._stock], self._model.parts
        step = gcd(*self._step)
        wide, high = piece.length // step, piece.width // step
        if piece.length % step or piece.width % step or max(wide, high) > MOST_STEPS:
            return None
        size = np.array([(p.length // step, p.width // step) for p in parts], np.int64)
        lies = np.array([
            AS_WRITTEN if p.length == p.width else p.lies[self._stock] for p in parts
        ], np.int64)  # fmt: skip
        if self._swapped:
            size, wide, high = size[:, ::-1].copy(), high, wide
        return Gapless(size, lies, np.array([p.demand for p in parts], np.int64), wide, high, seed)

    def attempt(self, share: float = 1.0) -> tuple[int, Candidate | None]:
        """Try once, for a share of what it may take; return how it ended, and the layout if it was found."""
        noise = 0.0 if self._tries == 0 else (0.2, 0.5, 1.0)[self._tries % 3]
        limit = int(share * FIRST_NODES * GROWTH ** min(self._tries, MOST_GROWN))
        self._tries += 1
        if self._gapless is not None:
            ended, found = self._gapless.attempt(limit, noise)
            return ended, self._without_gaps(found) if ended == FOUND else None
        deep, options = self._deep, len(self._size)
        left = np.array([p.demand for p in self._model.parts], np.int64)
        laid = np.full((deep, 3), -1, np.int64)
        ended = fill(
            self._size, self._kind, left, self._wide, self._high, self._spare, self._across, self._up,
            np.zeros((deep, deep + 2, 3), np.int64), np.zeros(deep, np.int64),
            np.zeros((deep, options), np.int64), np.zeros(options), np.full(deep, -1, np.int64),
            np.zeros(deep, np.int64), np.zeros(deep, np.int64), laid, self._regs, limit, noise,
        )  # fmt: skip
        return int(ended), self._layout(laid) if ended == FOUND else None

    def _without_gaps(self, found: list[tuple[int, int, int, int, int]]) -> Candidate:
        gap, step, parts = self._model.problem.kerf, gcd(*self._step), self._model.parts
        if self._swapped:
            found = [(k, y, x, h, w) for k, x, y, w, h in found]
        placed = [
            Spot(w * step - gap, h * step - gap, parts[k].row, x=x * step, y=y * step)
            for k, x, y, w, h in found
        ]
        return candidate(self._model, self._stock, placed)

    def _layout(self, laid: Ints) -> Candidate:
        gap, (sx, sy) = self._model.problem.kerf, self._step
        wanted = sum(p.demand for p in self._model.parts)
        placed: list[Spot] = []
        for o, x, y in laid.tolist():
            if o >= 0 and len(placed) < wanted:
                w, h = (int(v) for v in self._size[o])
                row = self._model.parts[int(self._kind[o])].row
                placed.append(Spot(w * sx - gap, h * sy - gap, row, x=x * sx, y=y * sy))
        return candidate(self._model, self._stock, placed)


def _sums(most: int, extents: list[int], counts: list[int]) -> Ints:
    """Return which lengths up to `most` are sums of extents, each as often as given; [1] for unknown."""
    if most > MOST_SUMS:
        return np.ones(1, np.int64)
    reach = 1
    for extent, count in zip(extents, counts, strict=True):
        for _ in range(count):
            reach |= reach << extent
            reach &= (1 << (most + 1)) - 1
    return np.array([reach >> n & 1 for n in range(most + 1)], np.int64)
