"""The upper outline of what lies on a sheet (a skyline), and options in the order in which they are tried."""

from __future__ import annotations

from stockyard.planning.compiled import lean
from stockyard.planning.placing.room import Floats, Ints


@lean
def raised(a: Ints, n: int, b: Ints, at: int, w: int, h: int) -> int:
    """Write the outline after `w` of stretch `at` has risen by `h` to `b`; return its stretches."""
    m = 0
    for i in range(n):
        x, y, wide = a[i, 0], a[i, 1], a[i, 2]
        if i == at:
            if m > 0 and b[m - 1, 1] == y + h:
                b[m - 1, 2] += w
            else:
                b[m, 0], b[m, 1], b[m, 2] = x, y + h, w
                m += 1
            x, wide = x + w, wide - w
        if wide > 0:
            if m > 0 and b[m - 1, 1] == y:
                b[m - 1, 2] += wide
            else:
                b[m, 0], b[m, 1], b[m, 2] = x, y, wide
                m += 1
    return m


@lean
def ranked(order: Ints, rank: Floats, n: int, option: int, worth: float) -> int:
    """Put an option in among `n` that are ordered, the worthiest first; return how many there are then."""
    at = n
    while at > 0 and rank[at - 1] < worth:
        rank[at], order[at] = rank[at - 1], order[at - 1]
        at -= 1
    rank[at], order[at] = worth, option
    return n + 1
