"""Layouts met during the search, written down compactly and each set of parts only once.

A layout is written as [length of the record, stock row, tokens...]: a part is twice its row, plus 1
when turned; a rest is -1; -2 and -3 open a split along axis 0 and 1, -4 closes it. The two extents of
a rest or split follow its token as negative numbers.
"""

from __future__ import annotations

from stockyard.planning.compiled import lean
from stockyard.planning.recreate.forest import (
    CHILD,
    COUNT,
    FILLED,
    KIND,
    LENGTH,
    NEXT,
    OPEN,
    PARENT,
    PART,
    REGISTERS,
    SAVED,
    SPLIT,
    TAG,
    TOUCHED,
    USED,
    WIDTH,
    Floats,
    Ints,
)

A_REST, OPEN_ALONG, OPEN_ACROSS, CLOSE = -1, -2, -3, -4
# Slots of the hash table that are tried for one layout.
TRIES = 16


@lean
def write_box(rows: Ints, layouts: Ints, x: int, n: int, token: int) -> int:
    """Write `token` and the extents of node `x` at index `n`; return the index after them."""
    layouts[n] = token
    layouts[n + 1] = -rows[x, LENGTH]
    layouts[n + 2] = -rows[x, WIDTH]
    return n + 3


@lean
def write_layout(rows: Ints, layouts: Ints, p: int, at: int) -> int:
    """Write the layout of open piece `p` at index `at`; return the index after it, -1 if there is no room."""
    last = layouts.shape[0] - 3
    n = at + 2
    if n >= last:
        return -1
    layouts[at + 1] = rows[p, TAG]
    x = rows[p, CHILD]
    top = x
    while True:
        if n >= last:
            return -1
        if rows[x, KIND] == SPLIT:
            n = write_box(rows, layouts, x, n, OPEN_ALONG - rows[x, TAG])
            x = rows[x, CHILD]
            continue
        if rows[x, KIND] == PART:
            t = rows[x, TAG]
            layouts[n] = 2 * t + (1 if rows[x, LENGTH] != rows[t, LENGTH] else 0)
            n += 1
        else:
            n = write_box(rows, layouts, x, n, A_REST)
        while x != top and rows[x, NEXT] == 0:
            x = rows[x, PARENT]
            if n >= last:
                return -1
            layouts[n] = CLOSE
            n += 1
        if x == top:
            break
        x = rows[x, NEXT]
    layouts[at] = n - at
    return n


@lean
def fingerprint(layouts: Ints, at: int, end: int) -> int:
    """Return a number that is the same for equal stock and equal sets of parts, never 0."""
    total = (layouts[at + 1] + 1) * 7919 % 2147483647
    for i in range(at + 2, end):
        if layouts[i] >= 0:
            t = layouts[i] // 2 + 1
            total = (total + t * 48271 % 2147483647 * (t * 16807 % 2147483629 + 12345)) % 2305843009213693951
    return int(total + 1)


@lean
def record(rows: Ints, nums: Floats, layouts: Ints, seen: Ints, p: int) -> None:
    """Write down the layout of open piece `p` unless it is poorly filled or known, or there is no room."""
    line = rows[p, TAG]
    at = rows[REGISTERS, USED]
    end = write_layout(rows, layouts, p, at)
    if end < 0:
        return
    filled = 0.0
    for i in range(at + 2, end):
        if layouts[i] >= 0:
            t = layouts[i] // 2
            filled += float(rows[t, LENGTH]) * float(rows[t, WIDTH])
    if filled < nums[FILLED] * float(rows[line, LENGTH]) * float(rows[line, WIDTH]):
        return
    key = fingerprint(layouts, at, end)
    slot = key % seen.shape[0]
    for _ in range(TRIES):
        if seen[slot] == key:
            return
        if seen[slot] == 0:
            seen[slot] = key
            rows[REGISTERS, USED] = end
            return
        slot = (slot + 1) % seen.shape[0]


@lean
def record_changed(rows: Ints, undo: Ints, nums: Floats, layouts: Ints, seen: Ints) -> None:
    """Write down the layouts of the pieces that this step changed."""
    for n in range(rows[REGISTERS, SAVED]):
        r = undo[n, TOUCHED]
        if rows[r, KIND] == OPEN and rows[r, COUNT] > 0:
            record(rows, nums, layouts, seen, r)
