"""Layouts met during the search, written down compactly and each set of parts only once.

A layout is written as [length of the record, stock, tokens...]: a part t is 2 t, or 2 t + 1 when
turned; a rest is -1; -2 and -3 open a split along axis 0 and 1, -4 closes it. The two extents of a
rest or split follow its token as negative numbers.
"""

from __future__ import annotations

from stockyard.planning.forest import (
    CHILD,
    COUNT,
    FIELDS,
    FILLED,
    KIND,
    LENGTH,
    NEXT,
    OPEN,
    PARENT,
    PART,
    SAVED,
    SPLIT,
    TAG,
    USED,
    WIDTH,
    Forest,
)
from stockyard.planning.compiled import jit

A_REST, OPEN_ALONG, OPEN_ACROSS, CLOSE = -1, -2, -3, -4


@jit
def write_box(s: Forest, x: int, n: int, token: int) -> int:
    """Write `token` and the extents of node `x` at index `n`; return the index after them."""
    s.layouts[n] = token
    s.layouts[n + 1] = -s.rows[x, LENGTH]
    s.layouts[n + 2] = -s.rows[x, WIDTH]
    return n + 3


@jit
def write_layout(s: Forest, p: int, at: int) -> int:
    """Write the layout of open piece `p` at index `at` of the record; return the index after it, or -1 if full."""
    last = s.layouts.shape[0] - 3
    n = at + 2
    if n >= last:
        return -1
    s.layouts[at + 1] = s.rows[p, TAG]
    x = s.rows[p, CHILD]
    top = x
    while True:
        if n >= last:
            return -1
        kind = s.rows[x, KIND]
        if kind == SPLIT:
            n = write_box(s, x, n, OPEN_ALONG - s.rows[x, TAG])
            x = s.rows[x, CHILD]
            continue
        if kind == PART:
            t = s.rows[x, TAG]
            s.layouts[n] = 2 * t + (1 if s.rows[x, LENGTH] != s.parts[t, 0] else 0)
            n += 1
        else:
            n = write_box(s, x, n, A_REST)
        while x != top and s.rows[x, NEXT] == 0:
            x = s.rows[x, PARENT]
            if n >= last:
                return -1
            s.layouts[n] = CLOSE
            n += 1
        if x == top:
            break
        x = s.rows[x, NEXT]
    s.layouts[at] = n - at
    return n


@jit
def fingerprint(s: Forest, at: int, end: int) -> int:
    """Return a number that is the same for equal stock and equal sets of parts, never 0."""
    total = (s.layouts[at + 1] + 1) * 7919 % 2147483647
    for i in range(at + 2, end):
        if s.layouts[i] >= 0:
            t = s.layouts[i] // 2 + 1
            total = (total + t * 48271 % 2147483647 * (t * 16807 % 2147483629 + 12345)) % 2305843009213693951
    return total + 1


@jit
def record(s: Forest, p: int) -> None:
    """Write down the layout of open piece `p` unless it is empty, poorly filled, known, or the record is full."""
    j = s.rows[p, TAG]
    at = s.ints[USED]
    end = write_layout(s, p, at)
    if end < 0:
        return
    filled = 0.0
    for i in range(at + 2, end):
        if s.layouts[i] >= 0:
            t = s.layouts[i] // 2
            filled += float(s.parts[t, 0]) * float(s.parts[t, 1])
    if filled < s.rules[FILLED] * float(s.stock[j, 0]) * float(s.stock[j, 1]):
        return
    key = fingerprint(s, at, end)
    size = s.seen.shape[0]
    slot = key % size
    for _ in range(16):
        if s.seen[slot] == key:
            return
        if s.seen[slot] == 0:
            s.seen[slot] = key
            s.ints[USED] = end
            return
        slot = (slot + 1) % size


@jit
def record_changed(s: Forest) -> None:
    """Write down the layouts of the pieces that this step changed."""
    for i in range(s.ints[SAVED]):
        r = s.saved[i, FIELDS]
        if s.rows[r, KIND] == OPEN and s.rows[r, COUNT] > 0:
            record(s, r)
