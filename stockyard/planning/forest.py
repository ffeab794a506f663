"""Guillotine cut trees of many pieces in one flat table of whole numbers, with undo.

Row 0 is the header, then come one row for each part, one for each stock, then rows for open pieces
and tree nodes, handed out and taken back as needed. A tree node is a REST, a PART or a SPLIT. The
children of a SPLIT lie side by side along its axis (0 = along the length, 1 = along the width), in
any order, and fill it exactly; axes alternate by level; at most one child is a REST.

Every change is preceded by `touch`, which saves the row once, so that `rollback` is exact and cheap.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stockyard.planning.compiled import jit

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

# Fields of a row.
PARENT, CHILD, NEXT, PREV, KIND, LENGTH, WIDTH, TAG, PIECE, REST_NEXT, REST_PREV, COUNT = range(12)
FIELDS = 12
# TAG: part of a PART, axis of a SPLIT, stock of an OPEN piece, first never-used row in the header.
# COUNT: parts left out (part rows), pieces to be had (stock rows), parts on it (OPEN), open pieces (header).
FREE, REST, PART, SPLIT, OPEN = range(5)
# Whole-number registers.
STAMP, SAVED, SEED_A, SEED_B, MONEY, OUT, MONEY_SAVED, OUT_SAVED, SLOT, USED = range(10)
REGISTERS = 10
# Sums that make up the value of a state.
MISSING, COST, KEPT, ROOM = range(4)
# Settings of a run.
(
    BUDGET,  # money that open pieces may cost together
    SCALE,  # one over the reference area
    ROOM_WEIGHT,  # weight of one large rest against several small ones
    WORTH_WEIGHT,  # 1 when leftovers are worth something at this stage, else 0
    KERF,
    KEEP_SIDE,
    KEEP_AREA,
    WHOLE_AREA,
    FLOOR,
    LEAST_SIDE,  # no part is narrower
    POWER,  # 0: area², 1: area^1.5, 2: area³
    ORDER,  # how parts left out are sorted
    BLINK,  # chance to overlook a spot
    REFUND,  # share of the empty area of a new piece that is not counted against it
    REMOVED,  # parts taken out in one step, on average
    WHOLE,  # chance to take out whole pieces
    HISTORY,  # length of the late-acceptance list
    GOAL,  # 1: stop as soon as no part is left out
    KEEN,  # 1: weigh a new piece against the spots on open ones, 0: only when there is none
    FILLED,  # least filled share of a layout worth recording
    BY_RANK,  # how much the rank of a part counts in the order (0 unless stock is short)
) = range(21)
SETTINGS = 21


class Forest(NamedTuple):
    """The table, its undo record, and the question in arrays (shapes: R rows, T parts, S stocks)."""

    rows: Ints  # R x FIELDS
    saved: Ints  # R x (FIELDS + 1)
    stamp: Ints  # R
    ints: Ints
    sums: Floats
    sums_saved: Floats
    rules: Floats  # SETTINGS
    parts: Ints  # T x 3: length, width with kerf, rank by priority
    lies: Ints  # T x S: 1 as written, 2 turned, 3 both
    penalty: Floats  # T: cost of leaving one out
    stock: Ints  # S x 3: length, width with kerf, money
    cost: Floats  # S: cost of opening one, in reference areas
    history: Floats
    best: Ints  # R x FIELDS: the best state of this run
    best_value: Floats  # 1
    order: Ints  # T scratch: part rows in the order of insertion
    keys: Floats  # T scratch
    opened: Ints  # R scratch: open pieces
    layouts: Ints  # record of layouts seen, see record.py
    seen: Ints  # hash table of layouts seen


@jit
def draw(s: Forest, n: int) -> int:
    """Return a whole number from 0 to n - 1 (two combined generators, L'Ecuyer 1988)."""
    a = s.ints[SEED_A] * 40014 % 2147483563
    b = s.ints[SEED_B] * 40692 % 2147483399
    s.ints[SEED_A] = a
    s.ints[SEED_B] = b
    return (a - b) % 2147483562 % n


@jit
def chance(s: Forest) -> float:
    """Return a number from 0 up to 1."""
    return draw(s, 1 << 24) / 16777216.0


@jit
def begin(s: Forest) -> None:
    """Start a step that may be undone."""
    s.ints[STAMP] += 1
    s.ints[SAVED] = 0
    for i in range(4):
        s.sums_saved[i] = s.sums[i]
    s.ints[MONEY_SAVED] = s.ints[MONEY]
    s.ints[OUT_SAVED] = s.ints[OUT]


@jit
def touch(s: Forest, r: int) -> None:
    """Save row `r` before its first change in this step."""
    if s.stamp[r] != s.ints[STAMP]:
        s.stamp[r] = s.ints[STAMP]
        n = s.ints[SAVED]
        for f in range(FIELDS):
            s.saved[n, f] = s.rows[r, f]
        s.saved[n, FIELDS] = r
        s.ints[SAVED] = n + 1


@jit
def rollback(s: Forest) -> None:
    """Undo everything since `begin`."""
    for i in range(s.ints[SAVED]):
        r = s.saved[i, FIELDS]
        for f in range(FIELDS):
            s.rows[r, f] = s.saved[i, f]
    for i in range(4):
        s.sums[i] = s.sums_saved[i]
    s.ints[MONEY] = s.ints[MONEY_SAVED]
    s.ints[OUT] = s.ints[OUT_SAVED]


@jit
def take_row(s: Forest, kind: int) -> int:
    """Hand out an unused row. The caller has checked that there is room."""
    touch(s, 0)
    r = s.rows[0, NEXT]
    if r:
        touch(s, r)
        s.rows[0, NEXT] = s.rows[r, NEXT]
    else:
        r = s.rows[0, TAG]
        touch(s, r)
        s.rows[0, TAG] = r + 1
    for f in range(FIELDS):
        s.rows[r, f] = 0
    s.rows[r, KIND] = kind
    return r


@jit
def give_row(s: Forest, r: int) -> None:
    """Take row `r` back."""
    touch(s, 0)
    touch(s, r)
    s.rows[r, KIND] = FREE
    s.rows[r, NEXT] = s.rows[0, NEXT]
    s.rows[0, NEXT] = r


@jit
def room(s: Forest, length: int, width: int) -> float:
    """Return how welcome a rest of this size is to the search: convex in its area, 0 if useless."""
    if length < s.rules[LEAST_SIDE] or width < s.rules[LEAST_SIDE]:
        return 0.0
    area = float(length) * float(width) * s.rules[SCALE]
    power = s.rules[POWER]
    if power == 0.0:
        return area * area
    if power == 1.0:
        return area * np.sqrt(area)
    return area * area * area


@jit
def worth(s: Forest, length: int, width: int) -> float:
    """Return the worth of a rest in reference areas (worth.py gives the exact rule)."""
    if s.rules[WORTH_WEIGHT] == 0.0:
        return 0.0
    a = float(length) - s.rules[KERF]
    b = float(width) - s.rules[KERF]
    if a < s.rules[KEEP_SIDE] or b < s.rules[KEEP_SIDE] or a * b < s.rules[KEEP_AREA]:
        return 0.0
    share = s.rules[FLOOR] + (1.0 - s.rules[FLOOR]) * min(1.0, a * b / s.rules[WHOLE_AREA])
    return a * b * share * s.rules[SCALE]


@jit
def gain(s: Forest, length: int, width: int) -> float:
    """Return what a rest of this size takes off the value of a state."""
    return s.rules[ROOM_WEIGHT] * room(s, length, width) + s.rules[WORTH_WEIGHT] * worth(s, length, width)


@jit
def value(s: Forest) -> float:
    """Return the value of the state: smaller is better."""
    return s.sums[MISSING] + s.sums[COST] - s.sums[KEPT] - s.rules[ROOM_WEIGHT] * s.sums[ROOM]


@jit
def link_rest(s: Forest, r: int) -> None:
    """Enter REST `r` in the list of its piece."""
    p = s.rows[r, PIECE]
    touch(s, p)
    touch(s, r)
    head = s.rows[p, REST_NEXT]
    s.rows[r, REST_NEXT] = head
    s.rows[r, REST_PREV] = p
    if head:
        touch(s, head)
        s.rows[head, REST_PREV] = r
    s.rows[p, REST_NEXT] = r
    s.sums[ROOM] += room(s, s.rows[r, LENGTH], s.rows[r, WIDTH])
    s.sums[KEPT] += worth(s, s.rows[r, LENGTH], s.rows[r, WIDTH])


@jit
def unlink_rest(s: Forest, r: int) -> None:
    """Take REST `r` off the list of its piece."""
    before = s.rows[r, REST_PREV]
    after = s.rows[r, REST_NEXT]
    touch(s, before)
    touch(s, r)
    s.rows[before, REST_NEXT] = after
    if after:
        touch(s, after)
        s.rows[after, REST_PREV] = before
    s.sums[ROOM] -= room(s, s.rows[r, LENGTH], s.rows[r, WIDTH])
    s.sums[KEPT] -= worth(s, s.rows[r, LENGTH], s.rows[r, WIDTH])


@jit
def add_child(s: Forest, p: int, c: int) -> None:
    """Put `c` first among the children of `p`."""
    touch(s, p)
    touch(s, c)
    head = s.rows[p, CHILD]
    s.rows[c, PARENT] = p
    s.rows[c, NEXT] = head
    s.rows[c, PREV] = 0
    if head:
        touch(s, head)
        s.rows[head, PREV] = c
    s.rows[p, CHILD] = c


@jit
def drop_child(s: Forest, c: int) -> None:
    """Take `c` out of its parent and give its row back."""
    before = s.rows[c, PREV]
    after = s.rows[c, NEXT]
    p = s.rows[c, PARENT]
    if before:
        touch(s, before)
        s.rows[before, NEXT] = after
    else:
        touch(s, p)
        s.rows[p, CHILD] = after
    if after:
        touch(s, after)
        s.rows[after, PREV] = before
    give_row(s, c)


@jit
def open_piece(s: Forest, j: int) -> int:
    """Open a piece of stock `j`; return its root, a REST."""
    line = 1 + s.parts.shape[0] + j
    touch(s, line)
    s.rows[line, COUNT] -= 1
    p = take_row(s, OPEN)
    r = take_row(s, REST)
    head = s.rows[0, CHILD]
    s.rows[p, NEXT] = head
    if head:
        touch(s, head)
        s.rows[head, PREV] = p
    s.rows[0, CHILD] = p
    s.rows[0, COUNT] += 1
    s.rows[p, TAG] = j
    s.rows[p, CHILD] = r
    s.rows[r, PARENT] = p
    s.rows[r, PIECE] = p
    s.rows[r, LENGTH] = s.stock[j, 0]
    s.rows[r, WIDTH] = s.stock[j, 1]
    s.ints[MONEY] += s.stock[j, 2]
    s.sums[COST] += s.cost[j]
    link_rest(s, r)
    return r


@jit
def close_piece(s: Forest, p: int) -> None:
    """Put an empty piece back."""
    r = s.rows[p, CHILD]
    unlink_rest(s, r)
    give_row(s, r)
    j = s.rows[p, TAG]
    line = 1 + s.parts.shape[0] + j
    touch(s, line)
    s.rows[line, COUNT] += 1
    before = s.rows[p, PREV]
    after = s.rows[p, NEXT]
    touch(s, 0)
    if before:
        touch(s, before)
        s.rows[before, NEXT] = after
    else:
        s.rows[0, CHILD] = after
    if after:
        touch(s, after)
        s.rows[after, PREV] = before
    s.rows[0, COUNT] -= 1
    s.ints[MONEY] -= s.stock[j, 2]
    s.sums[COST] -= s.cost[j]
    give_row(s, p)


@jit
def slice_rest(s: Forest, r: int, axis: int, size: int) -> int:
    """Cut `size` off the unlisted REST `r` along `axis`; list what remains, return the piece cut off."""
    extent = LENGTH + axis
    if s.rows[r, extent] == size:
        return r
    touch(s, r)
    p = s.rows[r, PARENT]
    low = take_row(s, REST)
    s.rows[low, PIECE] = s.rows[r, PIECE]
    s.rows[low, LENGTH] = s.rows[r, LENGTH]
    s.rows[low, WIDTH] = s.rows[r, WIDTH]
    s.rows[low, extent] = size
    if s.rows[p, KIND] == SPLIT and s.rows[p, TAG] == axis:
        s.rows[r, extent] -= size
        add_child(s, p, low)
        link_rest(s, r)
        return low
    high = take_row(s, REST)
    s.rows[high, PIECE] = s.rows[r, PIECE]
    s.rows[high, LENGTH] = s.rows[r, LENGTH]
    s.rows[high, WIDTH] = s.rows[r, WIDTH]
    s.rows[high, extent] = s.rows[r, extent] - size
    s.rows[r, KIND] = SPLIT
    s.rows[r, TAG] = axis
    s.rows[r, CHILD] = 0
    add_child(s, r, high)
    add_child(s, r, low)
    link_rest(s, high)
    return low


@jit
def place(s: Forest, t: int, turned: int, r: int, first: int) -> None:
    """Cut one part `t` out of REST `r`, the first cut along axis `first`."""
    p = s.rows[r, PIECE]
    unlink_rest(s, r)
    extent = first if turned == 0 else 1 - first
    r = slice_rest(s, r, first, s.parts[t, extent])
    r = slice_rest(s, r, 1 - first, s.parts[t, 1 - extent])
    touch(s, r)
    s.rows[r, KIND] = PART
    s.rows[r, TAG] = t
    touch(s, p)
    s.rows[p, COUNT] += 1
    touch(s, 1 + t)
    s.rows[1 + t, COUNT] -= 1
    s.ints[OUT] -= 1
    s.sums[MISSING] -= s.penalty[t]


@jit
def leave_out(s: Forest, t: int, p: int) -> None:
    """Count one part `t` of piece `p` among those left out."""
    touch(s, 1 + t)
    s.rows[1 + t, COUNT] += 1
    touch(s, p)
    s.rows[p, COUNT] -= 1
    s.ints[OUT] += 1
    s.sums[MISSING] += s.penalty[t]


@jit
def clear(s: Forest, x: int) -> None:
    """Empty the tree under node `x` (PART or SPLIT), which becomes an unlisted REST."""
    p = s.rows[x, PIECE]
    c = x
    if s.rows[x, KIND] == SPLIT:
        while s.rows[x, CHILD]:
            c = s.rows[x, CHILD]
            while s.rows[c, KIND] == SPLIT and s.rows[c, CHILD]:
                c = s.rows[c, CHILD]
            if s.rows[c, KIND] == REST:
                unlink_rest(s, c)
            elif s.rows[c, KIND] == PART:
                leave_out(s, s.rows[c, TAG], p)
            drop_child(s, c)
    else:
        leave_out(s, s.rows[x, TAG], p)
    touch(s, x)
    s.rows[x, KIND] = REST
    s.rows[x, TAG] = 0
    s.rows[x, CHILD] = 0


@jit
def settle(s: Forest, x: int) -> None:
    """Join the unlisted REST `x` with a REST beside it, upwards while a split holds nothing else."""
    p = s.rows[x, PARENT]
    while s.rows[p, KIND] == SPLIT:
        extent = LENGTH + s.rows[p, TAG]
        c = s.rows[p, CHILD]
        while c:
            after = s.rows[c, NEXT]
            if c != x and s.rows[c, KIND] == REST:
                unlink_rest(s, c)
                touch(s, x)
                s.rows[x, extent] += s.rows[c, extent]
                drop_child(s, c)
                break
            c = after
        if s.rows[p, CHILD] != x or s.rows[x, NEXT] != 0:
            break
        drop_child(s, x)
        touch(s, p)
        s.rows[p, KIND] = REST
        s.rows[p, TAG] = 0
        s.rows[p, CHILD] = 0
        x = p
        p = s.rows[x, PARENT]
    link_rest(s, x)
    if s.rows[p, KIND] == OPEN:
        close_piece(s, p)


@jit
def remove(s: Forest, x: int) -> None:
    """Take the part or the whole split `x` out of its tree; an emptied piece is closed."""
    clear(s, x)
    settle(s, x)
