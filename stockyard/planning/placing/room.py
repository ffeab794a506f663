"""The free room of one piece as maximal rectangles, and what happens to it when a part is laid down.

Maximal empty rectangles as in Lai and Chan (1997): each reaches as far as it can in all four
directions, so that they overlap. A box that may not be touched splits those that it meets. A box with
its low side beyond its high side stands for one narrower than the bit: a part may come up to it from
either side and may not lie across it.
"""

from __future__ import annotations

from typing import Any

from numpy.typing import NDArray

from stockyard.planning.compiled import lean

Ints = NDArray[Any]
Floats = NDArray[Any]

# Columns of a rectangle: low corner, high corner.
X0, Y0, X1, Y1 = range(4)


@lean
def copy_box(a: Ints, b: Ints) -> None:
    """Make rectangle `a` what `b` is."""
    a[X0], a[Y0], a[X1], a[Y1] = b[X0], b[Y0], b[X1], b[Y1]


@lean
def _within(a: Ints, b: Ints) -> bool:
    """Whether rectangle `a` lies in `b`."""
    return bool(b[X0] <= a[X0] and b[Y0] <= a[Y0] and a[X1] <= b[X1] and a[Y1] <= b[Y1])


@lean
def _note(fresh: Ints, n: int, x0: int, y0: int, x1: int, y1: int) -> int:
    """Write a rectangle of some extent down as the n-th; return how many there are."""
    if x1 <= x0 or y1 <= y0 or n >= len(fresh):
        return n
    fresh[n, X0], fresh[n, Y0], fresh[n, X1], fresh[n, Y1] = x0, y0, x1, y1
    return n + 1


@lean
def occupy(free: Ints, n: int, fresh: Ints, x0: int, y0: int, x1: int, y1: int) -> int:
    """Take a box out of the first `n` rectangles of `free`; return how many there are then.

    `fresh` is a place to work. What finds no row any more is forgotten: room is then lost, never won.
    """
    kept = made = 0
    for i in range(n):
        r = free[i]
        if r[X0] < x1 and r[X1] > x0 and r[Y0] < y1 and r[Y1] > y0:
            a0, b0, a1, b1 = r[X0], r[Y0], r[X1], r[Y1]
            made = _note(fresh, made, a0, b0, min(a1, x0), b1)
            made = _note(fresh, made, max(a0, x1), b0, a1, b1)
            made = _note(fresh, made, a0, b0, a1, min(b1, y0))
            made = _note(fresh, made, a0, max(b0, y1), a1, b1)
        else:
            if kept != i:
                copy_box(free[kept], r)
            kept += 1
    old = kept
    for i in range(made):
        lost = kept >= len(free)
        for j in range(old):
            if lost or _within(fresh[i], free[j]):
                lost = True
                break
        for j in range(made):
            if lost:
                break
            if j != i and _within(fresh[i], fresh[j]) and (j < i or not _within(fresh[j], fresh[i])):
                lost = True
        if not lost:
            copy_box(free[kept], fresh[i])
            kept += 1
    return kept
