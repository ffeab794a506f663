"""All parts on one sheet without waste, decided by depth-first search: every gap must be filled exactly.

What lies already has an outline (a skyline). At the left end of each of its gaps some part must begin, so
the search branches over the parts and ways that may, in the gap that leaves the fewest (as in Lesh and
others, IPL 2004, and Kenmochi and others, EJOR 2009). A gap whose width, or the height above it, is no sum of
what is left ends a branch; an outline with the same parts left is not searched twice.
"""

from __future__ import annotations

import numpy as np

from stockyard.planning.compiled import lean
from stockyard.planning.placing.kernel import AS_WRITTEN, TURNED, chance
from stockyard.planning.placing.outline import raised, ranked
from stockyard.planning.placing.room import Floats, Ints

FOUND, EXHAUSTED, LIMIT = 1, 0, -1
# Bits of one word of a set of sums, and places of the table that are looked at for one outline.
WORD, PROBES = 32, 4
# Places of that table (16 MB).
KNOWN = 1 << 20
FULL = (1 << WORD) - 1
# What makes the keys of an outline.
KEY_A, KEY_B, KEY_MASK = 1000003, 92821, (1 << 61) - 1


@lean
def _moved(bits: Ints, i: int, by: int) -> int:
    """Return word `i` of a set of sums all of which are `by` larger."""
    far, near = by >> 5, by & (WORD - 1)
    if i < far:
        return 0
    moved = bits[i - far] << near
    if i > far:
        moved |= bits[i - far - 1] >> (WORD - near)
    return int(moved & FULL)


@lean
def _sums(size: Ints, lies: Ints, side: int, left: Ints, bits: Ints) -> None:
    """Write down as bits which lengths are sums of the extents of what is left, each part once at most."""
    words = len(bits)
    for i in range(words):
        bits[i] = 0
    bits[0] = 1
    for k in range(len(left)):
        one = size[k, side] if lies[k] & AS_WRITTEN else size[k, 1 - side]
        other = size[k, 1 - side] if lies[k] & TURNED else one
        for _ in range(left[k]):
            for i in range(words - 1, -1, -1):
                moved = _moved(bits, i, one)
                if other != one:
                    moved |= _moved(bits, i, other)
                bits[i] |= moved


@lean
def _is_sum(bits: Ints, n: int) -> bool:
    """Whether a length is one of the sums."""
    return bool(bits[n >> 5] >> (n & (WORD - 1)) & 1)


@lean
def _suits(size: Ints, lies: Ints, left: Ints, o: int, gap: int, room: int, across: Ints, up: Ints) -> bool:
    """Whether option `o`, twice a kind and 1 for turned, may begin a gap.

    It fits, and what stays of the gap and above it are sums.
    """
    k, turned = o >> 1, o & 1
    if left[k] == 0 or not lies[k] & (TURNED if turned else AS_WRITTEN):
        return False
    w, h = size[k, turned], size[k, 1 - turned]
    return w <= gap and h <= room and _is_sum(across, gap - w) and _is_sum(up, room - h)


@lean
def _gap(size: Ints, lies: Ints, left: Ints, sky: Ints, n: int, high: int, across: Ints, up: Ints) -> int:
    """Return the gap with the fewest options to begin it; -1 where one can not be filled."""
    best, fewest = -1, 2 * len(left) + 1
    for i in range(n):
        y = sky[i, 1]
        if not _is_sum(up, high - y):
            return -1
        if y == high or (i > 0 and sky[i - 1, 1] < y) or (i + 1 < n and sky[i + 1, 1] < y):
            continue
        if not _is_sum(across, sky[i, 2]):
            return -1
        many = 0
        for o in range(2 * len(left)):
            many += _suits(size, lies, left, o, sky[i, 2], high - y, across, up)
        if many == 0:
            return -1
        if many < fewest or (many == fewest and y < sky[best, 1]):
            best, fewest = i, many
    return best


@lean
def _list(
    size: Ints, lies: Ints, left: Ints, sky: Ints, n: int, at: int, high: int, across: Ints, up: Ints,
    order: Ints, rank: Floats, regs: Ints, noise: float,
) -> int:  # fmt: skip
    """List the options that may begin gap `at`, the likeliest first; return how many.

    Those that fill it or end level with what stands beside it come first, then the large before the small.
    """
    gap, y, many = sky[at, 2], sky[at, 1], 0
    before = sky[at - 1, 1] - y if at > 0 else high - y
    behind = sky[at + 1, 1] - y if at + 1 < n else high - y
    for o in range(2 * len(left)):
        if not _suits(size, lies, left, o, gap, high - y, across, up):
            continue
        w, h = size[o >> 1, o & 1], size[o >> 1, 1 - (o & 1)]
        worth = float(w) * float(h) * (1.0 + noise * chance(regs))
        if w == gap:
            worth *= 1.0 + 3.0 * (1.0 - noise * chance(regs))
        if h == before or (w == gap and h == behind):
            worth *= 1.0 + 1.0 * (1.0 - noise * chance(regs))
        many = ranked(order, rank, many, o, worth)
    return many


@lean
def _key(sky: Ints, n: int, left: Ints, mark: Ints, of: int) -> int:
    """Return a number that stands for an outline and what is left."""
    key, factor = 0, KEY_A if of == 0 else KEY_B
    for k in range(len(left)):
        key += left[k] * mark[k, of]
    for i in range(n):
        key = (key & KEY_MASK) * factor + sky[i, 1] * 7919 + sky[i, 0] * 31 + 17
        key ^= key >> 29
    return int(key & KEY_MASK)


@lean
def _known(table: Ints, a: int, b: int) -> bool:
    """Whether an outline was searched in vain."""
    for i in range(PROBES):
        at = (a + i) % len(table)
        if table[at, 0] == a and table[at, 1] == b:
            return True
    return False


@lean
def _note(table: Ints, a: int, b: int, nodes: int) -> None:
    """Write an outline down as searched in vain, over an older one where there is no room."""
    for i in range(PROBES):
        at = (a + i) % len(table)
        if table[at, 0] == 0 and table[at, 1] == 0:
            table[at, 0], table[at, 1] = a, b
            return
    at = (a + nodes % PROBES) % len(table)
    table[at, 0], table[at, 1] = a, b


@lean
def perfect(
    size: Ints, lies: Ints, left: Ints, wide: int, high: int, across: Ints, up: Ints, mark: Ints, table: Ints,
    sky: Ints, sky_n: Ints, gap_at: Ints, key: Ints, order: Ints, rank: Floats, many: Ints, cursor: Ints,
    laid: Ints, regs: Ints, limit: int, noise: float,
) -> int:  # fmt: skip
    """Cover wide x high with all that is `left`, whose area it has; `laid` gets option, x, y of each.

    Return FOUND, EXHAUSTED (it can not be) or LIMIT, after `limit` outlines.
    """
    wanted = nodes = d = 0
    for k in range(len(left)):
        wanted += left[k]
    sky[0, 0, 0], sky[0, 0, 1], sky[0, 0, 2] = 0, 0, wide
    sky_n[0], many[0] = 1, -1
    while d >= 0:
        n = sky_n[d]
        if many[d] < 0:
            nodes += 1
            many[d] = cursor[d] = 0
            key[d, 0], key[d, 1] = _key(sky[d], n, left, mark, 0), _key(sky[d], n, left, mark, 1)
            if not _known(table, key[d, 0], key[d, 1]):
                _sums(size, lies, 0, left, across)
                _sums(size, lies, 1, left, up)
                gap_at[d] = _gap(size, lies, left, sky[d], n, high, across, up)
                if gap_at[d] >= 0:
                    many[d] = _list(
                        size, lies, left, sky[d], n, gap_at[d], high, across, up, order[d], rank, regs, noise
                    )
        else:  # take back what was tried
            left[laid[d, 0] >> 1] += 1
        if cursor[d] < many[d] and nodes <= limit:
            at, o = gap_at[d], order[d, cursor[d]]
            w, h = size[o >> 1, o & 1], size[o >> 1, 1 - (o & 1)]
            cursor[d] += 1
            left[o >> 1] -= 1
            laid[d, 0], laid[d, 1], laid[d, 2] = o, sky[d, at, 0], sky[d, at, 1]
            if d + 1 == wanted:
                return FOUND
            sky_n[d + 1] = raised(sky[d], n, sky[d + 1], at, w, h)
            many[d + 1] = -1
            d += 1
        else:
            if nodes <= limit:
                _note(table, key[d, 0], key[d, 1], nodes)
            d -= 1
    return LIMIT if nodes > limit else EXHAUSTED


def _spanning(
    size: Ints, lies: Ints, demand: Ints, wide: int, high: int
) -> tuple[list[tuple[int, int, int, int, int]], Ints, int, int]:
    """Lay what can only lie right across the sheet along its far edge, which loses no solution without waste.

    Return kind, x, y and extents of each such part, what is left, and what is left of wide and high.
    """
    laid: list[tuple[int, int, int, int, int]] = []
    left, before = demand.copy(), -1
    while len(laid) > before:
        before = len(laid)
        for k in np.flatnonzero(left).tolist():
            ways = _ways(size, lies, k, wide, high)
            if len(ways) != 1:
                continue
            (w, h) = ways.pop()
            while left[k] and w == wide and h <= high:
                high -= h
                laid.append((k, 0, high, w, h))
                left[k] -= 1
            while left[k] and h == high and w <= wide:
                wide -= w
                laid.append((k, wide, 0, w, h))
                left[k] -= 1
    return laid, left, wide, high


def _ways(size: Ints, lies: Ints, k: int, wide: int, high: int) -> set[tuple[int, int]]:
    """Return the extents in which part `k` fits a sheet."""
    turns = [t for t, way in enumerate((AS_WRITTEN, TURNED)) if lies[k] & way]
    ways = {(int(size[k, t]), int(size[k, 1 - t])) for t in turns}
    return {(w, h) for w, h in ways if w <= wide and h <= high}


class Gapless:
    """Tries to cover one sheet; what was searched in vain is kept from try to try."""

    def __init__(self, size: Ints, lies: Ints, demand: Ints, wide: int, high: int, seed: int) -> None:
        """`size`: extents of each kind as written, in steps of which the sheet has wide x high."""
        self._spanning, demand, wide, high = _spanning(size, lies, demand, wide, high)
        self._job = size, lies, demand, wide, high
        rng = np.random.default_rng(seed)
        self._mark = rng.integers(1, 1 << 55, (len(demand), 2))
        self._table = np.zeros((KNOWN, 2), np.int64)
        self._regs = np.array([1 + 2 * seed, 12345 + seed], np.int64)

    def attempt(self, limit: int, noise: float) -> tuple[int, list[tuple[int, int, int, int, int]]]:
        """Try once; return how it ended, and kind, x, y and the extents there of each part."""
        size, lies, demand, wide, high = self._job
        wanted, options = int(demand.sum()), 2 * len(demand)
        if wanted == 0:
            return FOUND, self._spanning

        def whole(*shape: int) -> Ints:
            return np.zeros(shape, np.int64)

        laid = whole(wanted + 1, 3)
        ended = perfect(
            size, lies, demand.copy(), wide, high, whole(wide // WORD + 1), whole(high // WORD + 1),
            self._mark, self._table, whole(wanted + 1, wanted + 2, 3), whole(wanted + 1), whole(wanted + 1),
            whole(wanted + 1, 2), whole(wanted + 1, options), np.zeros(options), whole(wanted + 1),
            whole(wanted + 1), laid, self._regs, limit, noise,
        )  # fmt: skip
        if ended != FOUND:
            return int(ended), []
        return FOUND, self._spanning + [
            (o >> 1, x, y, int(size[o >> 1, o & 1]), int(size[o >> 1, 1 - (o & 1)]))
            for o, x, y in laid[:wanted].tolist()
        ]
