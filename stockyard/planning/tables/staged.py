"""Whole plans part by part: the best of many unfinished ones go on at each step, as in a beam search.

A plan grows at its front only: the last strip across the piece, in it the last row, in that the last
column, in that the last part. The next part goes on top of the last one, beside it, into a new row, a new
strip or a new piece. Plans that differ in nothing but the way there count once. (Anytime tree search for
staged cutting, Fontan and Libralesso, arXiv 2004.02603, 2020; here with a stage more, so that a column may
hold several parts.)
"""

from __future__ import annotations

from typing import Any

from stockyard.planning.compiled import lean
from stockyard.planning.recreate.forest import Floats, Ints

Counts = Any
"""Small whole numbers: how many of each part are left."""

# Fields of a front: low and high edge of the last strip, row and column, top of the last part (all from the
# low corner of the piece), pieces begun, area of the parts placed, and a number that stands for these parts.
STRIP, STRIP_END, ROW, ROW_END, COLUMN, COLUMN_END, TOP, PIECES, AREA, PLACED = range(10)
FIELDS = 10
# Where the next part goes.
ON_PIECE, ON_STRIP, ON_ROW, ON_COLUMN, ON_TOP = range(5)
WAYS = 10
"""A step is written as part * WAYS + 2 * where + turned."""
PRIME = (1 << 31) - 1
FACTOR = 1_000_003


@lean
def _advance(front: Ints, out: Ints, where: int, x: int, y: int, length: int, width: int) -> bool:
    """Write the front after a part of x times y into `out`; return whether it fits."""
    strip, row = front[STRIP], front[ROW]
    strip_end, row_end = front[STRIP_END], front[ROW_END]
    column, column_end, top = front[COLUMN], front[COLUMN_END], front[TOP]
    if where == ON_TOP:
        if x > column_end - column or top + y > row_end:
            return False
        top += y
    else:
        if where == ON_COLUMN:
            column = column_end
        else:
            if where == ON_ROW:
                row = row_end
            else:
                strip = strip_end if where == ON_STRIP else 0
                strip_end = strip
                row = 0
            row_end = row
            column = strip
        column_end = column + x
        top = row + y
        if column_end > length or top > width:
            return False
        row_end = max(row_end, top)
        strip_end = max(strip_end, column_end)
    out[STRIP], out[STRIP_END], out[ROW], out[ROW_END] = strip, strip_end, row, row_end
    out[COLUMN], out[COLUMN_END], out[TOP] = column, column_end, top
    out[PIECES] = front[PIECES] + (where == ON_PIECE)
    out[AREA] = front[AREA] + x * y
    return True


@lean
def _taken(front: Ints, length: int, width: int) -> float:
    """Return the area behind a front, that of all pieces before it included."""
    area = float(front[PIECES] - 1) * length * width + float(front[STRIP]) * width
    area += float(front[STRIP_END] - front[STRIP]) * front[ROW]
    area += float(front[COLUMN] - front[STRIP]) * (front[ROW_END] - front[ROW])
    return float(area + float(front[COLUMN_END] - front[COLUMN]) * (front[TOP] - front[ROW]))


@lean
def _is_new(front: Ints, seen: Ints) -> bool:
    """Whether no plan with the same parts and the same front was met at this step; take note of it."""
    h = front[PLACED]
    for f in range(PIECES + 1):
        h = (h * FACTOR + front[f]) % PRIME
    mask = len(seen) - 1
    at = h & mask
    for _ in range(16):
        if seen[at] == 0:
            seen[at] = h + 1
            return True
        if seen[at] == h + 1:
            return False
        at = (at + 1) & mask
    return True


@lean
def _keep(keys: Floats, picks: Ints, held: int, key: float, node: int, step: int) -> int:
    """Put a step into the heap, the worst at its top, which goes when there is no room; return how many."""
    if held < len(keys):
        at = held
        held += 1
        while at and keys[(at - 1) // 2] < key:
            up = (at - 1) // 2
            keys[at], picks[at, 0], picks[at, 1] = keys[up], picks[up, 0], picks[up, 1]
            at = up
    else:
        at = 0
        while True:
            low = 2 * at + 1
            if low + 1 < held and keys[low + 1] > keys[low]:
                low += 1
            if low >= held or keys[low] <= key:
                break
            keys[at], picks[at, 0], picks[at, 1] = keys[low], picks[low, 0], picks[low, 1]
            at = low
    keys[at], picks[at, 0], picks[at, 1] = key, node, step
    return held


@lean
def grow(
    fronts: Ints, left: Counts, many: int, next_fronts: Ints, next_left: Counts, steps: Ints, parts: Ints,
    marks: Ints, rules: Floats, keys: Floats, picks: Ints, seen: Ints, out: Ints,
) -> int:  # fmt: skip
    """Place one part more in the best of `many` plans, in the best ways; return how many plans come of it.

    parts: length, width and ways of each. rules: length and width of the piece, most waste, the constant
    beside the share of waste, and how far chance (the marks) blurs the order. steps: (plan before, step) of
    each new plan.
    """
    length, width = int(rules[0]), int(rules[1])
    seen[:] = 0
    held = 0
    for node in range(many):
        front = fronts[node]
        any_fits = False
        for where in range(ON_TOP, -1, -1):
            if where == ON_PIECE and any_fits:
                break
            for k in range(len(parts)):
                if left[node, k] == 0:
                    continue
                for turned in range(2):
                    if not parts[k, 2] & (1 << turned):
                        continue
                    if not _advance(front, out, where, parts[k, turned], parts[k, 1 - turned], length, width):
                        continue
                    any_fits = True
                    taken = _taken(out, length, width)
                    waste = taken - out[AREA]
                    if waste > rules[2]:
                        continue
                    key = (waste / taken + rules[3]) / out[AREA]
                    if held == len(keys) and key >= keys[0]:
                        continue
                    out[PLACED] = (front[PLACED] + marks[k]) % PRIME
                    key *= 1.0 + rules[4] * out[PLACED] / PRIME
                    if _is_new(out, seen):
                        held = _keep(keys, picks, held, key, node, WAYS * k + 2 * where + turned)
    for n in range(held):
        node, step = picks[n, 0], picks[n, 1]
        k, where, turned = step // WAYS, step % WAYS // 2, step % 2
        _advance(fronts[node], next_fronts[n], where, parts[k, turned], parts[k, 1 - turned], length, width)
        next_fronts[n, PLACED] = (fronts[node, PLACED] + marks[k]) % PRIME
        for m in range(len(parts)):
            next_left[n, m] = left[node, m]
        next_left[n, k] -= 1
        steps[n, 0], steps[n, 1] = node, step
    return held
