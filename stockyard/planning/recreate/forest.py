"""Guillotine cut trees of many pieces in one flat table of whole numbers, with undo.

Row 0 of the table is the header, row 1 the registers, then come one row for each part, one for each
stock, then rows for open pieces and tree nodes, handed out and taken back as needed. The open pieces are
the children of the header. A tree node is a REST, a PART or a SPLIT. The children of a SPLIT lie side by
side along its axis (0 = along the length, 1 = along the width), in any order, and fill it exactly; axes
alternate by level; at most one child is a REST.

Every change is preceded by `touch`, which saves the row once, so that `rollback` is exact and cheap.
The arrays are passed one by one: compiled code is several times slower with them in a tuple.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stockyard.planning.compiled import lean

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

# Fields of a row. TOUCHED is the step in which the row was last saved; in the undo record, which row it was.
PARENT, CHILD, NEXT, PREV, KIND, LENGTH, WIDTH, TAG, PIECE, REST_NEXT, REST_PREV, COUNT, TOUCHED = range(13)
FIELDS = 13
# TAG: part row of a PART, axis of a SPLIT, stock row of an OPEN piece, rank by priority of a part row,
# money for a piece of a stock row, first never-used row in the header.
# COUNT: parts left out (part row), pieces to be had (stock row), parts on it (OPEN), open pieces (header).
FREE, REST, PART, SPLIT, OPEN = range(5)
# The REST among the children of a SPLIT, 0 for none.
OWN_REST = REST_NEXT
HEADER, REGISTERS = 0, 1
FIRST_PART = 2
# Fields of the header besides CHILD (first open piece), NEXT (first free row), TAG and COUNT.
MONEY, OUT = LENGTH, WIDTH
# Fields of the registers; they are not undone.
STEP, SAVED, SEED_A, SEED_B, SLOT, USED, PARTS, STOCKS = range(8)

# Numbers: sums that make up the value of a state, the same before the step, the settings of a run.
MISSING, COST, KEPT, ROOM = range(4)
SUMS = 4
BEST = 8
(
    BUDGET,  # money that open pieces may cost together
    SCALE,  # one over the reference area
    ROOM_WEIGHT,  # weight of one large rest against several small ones
    WORTH_WEIGHT,  # 1 when leftovers are worth something at this stage, else 0
    KERF,
    KEEP_SIDE,
    KEEP_LONG,
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
    LOOK,  # the most recently opened pieces that a part is tried on
    STRETCH,  # 1: widen strips for parts that have no spot
    BY_RANK,  # how much the rank of a part counts in the order (0 unless stock is short)
    GATE,  # states of a greater value are not recorded
    MOST_OPEN,  # pieces open at once
) = range(9, 35)
# From here on: the cost of leaving one of a part out, of opening a piece of a stock, by row.
PRICE = 35


class Forest(NamedTuple):
    """The table, its undo record, and scratch room (R rows, T parts, S stocks)."""

    rows: Ints  # R x FIELDS
    undo: Ints  # R x FIELDS
    nums: Floats
    lies: Ints  # T x S: 1 as written, 2 turned, 3 both
    history: Floats
    best: Ints  # R x FIELDS: the best state of this run
    order: Ints  # T
    keys: Floats  # T
    opened: Ints  # R
    layouts: Ints  # record of layouts seen, see record.py
    seen: Ints  # hash table of layouts seen


def begin_luck(registers: Ints, seed: int) -> None:
    """Set the two generators of `draw` to where `seed` begins."""
    registers[SEED_A] = 1 + (seed * 7919 + 104729) % 2147483561
    registers[SEED_B] = 1 + (seed * 15485863 + 32452843) % 2147483397


@lean
def draw(rows: Ints, n: int) -> int:
    """Return a whole number from 0 to n - 1 (two combined generators, L'Ecuyer 1988)."""
    a = rows[REGISTERS, SEED_A] * 40014 % 2147483563
    b = rows[REGISTERS, SEED_B] * 40692 % 2147483399
    rows[REGISTERS, SEED_A] = a
    rows[REGISTERS, SEED_B] = b
    return int((a - b) % 2147483562 % n)


@lean
def chance(rows: Ints) -> float:
    """Return a number from 0 up to 1."""
    return draw(rows, 1 << 24) / 16777216.0


@lean
def begin(rows: Ints, nums: Floats) -> None:
    """Start a step that may be undone."""
    rows[REGISTERS, STEP] += 1
    rows[REGISTERS, SAVED] = 0
    for i in range(SUMS):
        nums[SUMS + i] = nums[i]


@lean
def touch(rows: Ints, undo: Ints, r: int) -> None:
    """Save row `r` before its first change in this step."""
    step = rows[REGISTERS, STEP]
    if rows[r, TOUCHED] != step:
        n = rows[REGISTERS, SAVED]
        for i in range(TOUCHED):
            undo[n, i] = rows[r, i]
        undo[n, TOUCHED] = r
        rows[r, TOUCHED] = step
        rows[REGISTERS, SAVED] = n + 1


@lean
def rollback(rows: Ints, undo: Ints, nums: Floats) -> None:
    """Undo everything since `begin`."""
    for n in range(rows[REGISTERS, SAVED]):
        r = undo[n, TOUCHED]
        for i in range(TOUCHED):
            rows[r, i] = undo[n, i]
    for i in range(SUMS):
        nums[i] = nums[SUMS + i]


@lean
def take_row(rows: Ints, undo: Ints, kind: int) -> int:
    """Hand out an unused row. The caller has checked that there is room."""
    touch(rows, undo, HEADER)
    r = rows[HEADER, NEXT]
    if r:
        touch(rows, undo, r)
        rows[HEADER, NEXT] = rows[r, NEXT]
    else:
        r = rows[HEADER, TAG]
        touch(rows, undo, r)
        rows[HEADER, TAG] = r + 1
    for i in range(TOUCHED):
        rows[r, i] = 0
    rows[r, KIND] = kind
    return int(r)


@lean
def give_row(rows: Ints, undo: Ints, r: int) -> None:
    """Take row `r` back."""
    touch(rows, undo, HEADER)
    touch(rows, undo, r)
    rows[r, KIND] = FREE
    rows[r, NEXT] = rows[HEADER, NEXT]
    rows[HEADER, NEXT] = r


@lean
def room(nums: Floats, length: int, width: int) -> float:
    """Return how welcome a rest of this size is to the search: convex in its area, 0 if useless."""
    if length < nums[LEAST_SIDE] or width < nums[LEAST_SIDE]:
        return 0.0
    area = float(length) * float(width) * nums[SCALE]
    power = nums[POWER]
    if power == 0.0:
        return float(area * area)
    if power == 1.0:
        return float(area * np.sqrt(area))
    return float(area * area * area)


@lean
def worth(nums: Floats, length: int, width: int) -> float:
    """Return the worth of a rest in reference areas (worth.py gives the exact rule)."""
    if nums[WORTH_WEIGHT] == 0.0:
        return 0.0
    a = float(length) - nums[KERF]
    b = float(width) - nums[KERF]
    if min(a, b) < nums[KEEP_SIDE] or max(a, b) < nums[KEEP_LONG] or a * b < nums[KEEP_AREA]:
        return 0.0
    share = nums[FLOOR] + (1.0 - nums[FLOOR]) * min(1.0, a * b / nums[WHOLE_AREA])
    return float(a * b * share * nums[SCALE])


@lean
def gain(nums: Floats, length: int, width: int) -> float:
    """Return what a rest of this size takes off the value of a state."""
    return float(nums[ROOM_WEIGHT] * room(nums, length, width) + worth(nums, length, width))


@lean
def value(nums: Floats) -> float:
    """Return the value of the state: smaller is better."""
    return float(nums[MISSING] + nums[COST] - nums[KEPT] - nums[ROOM_WEIGHT] * nums[ROOM])


@lean
def own_rest(rows: Ints, undo: Ints, r: int, now: int) -> None:
    """Note in the SPLIT above REST `r` that `now` is its REST."""
    up = rows[r, PARENT]
    if rows[up, KIND] == SPLIT:
        touch(rows, undo, up)
        rows[up, OWN_REST] = now


@lean
def link_rest(rows: Ints, undo: Ints, nums: Floats, r: int) -> None:
    """Enter REST `r` in the list of its piece."""
    p = rows[r, PIECE]
    touch(rows, undo, p)
    touch(rows, undo, r)
    head = rows[p, REST_NEXT]
    rows[r, REST_NEXT] = head
    rows[r, REST_PREV] = p
    if head:
        touch(rows, undo, head)
        rows[head, REST_PREV] = r
    rows[p, REST_NEXT] = r
    own_rest(rows, undo, r, r)
    nums[ROOM] += room(nums, rows[r, LENGTH], rows[r, WIDTH])
    nums[KEPT] += worth(nums, rows[r, LENGTH], rows[r, WIDTH])


@lean
def unlink_rest(rows: Ints, undo: Ints, nums: Floats, r: int) -> None:
    """Take REST `r` off the list of its piece."""
    before = rows[r, REST_PREV]
    after = rows[r, REST_NEXT]
    touch(rows, undo, before)
    touch(rows, undo, r)
    rows[before, REST_NEXT] = after
    if after:
        touch(rows, undo, after)
        rows[after, REST_PREV] = before
    own_rest(rows, undo, r, 0)
    nums[ROOM] -= room(nums, rows[r, LENGTH], rows[r, WIDTH])
    nums[KEPT] -= worth(nums, rows[r, LENGTH], rows[r, WIDTH])


@lean
def add_child(rows: Ints, undo: Ints, p: int, c: int) -> None:
    """Put `c` first among the children of `p`."""
    touch(rows, undo, p)
    touch(rows, undo, c)
    head = rows[p, CHILD]
    rows[c, PARENT] = p
    rows[c, NEXT] = head
    rows[c, PREV] = 0
    if head:
        touch(rows, undo, head)
        rows[head, PREV] = c
    rows[p, CHILD] = c


@lean
def drop_child(rows: Ints, undo: Ints, c: int) -> None:
    """Take `c` out of its parent and give its row back."""
    before = rows[c, PREV]
    after = rows[c, NEXT]
    p = rows[c, PARENT]
    if before:
        touch(rows, undo, before)
        rows[before, NEXT] = after
    else:
        touch(rows, undo, p)
        rows[p, CHILD] = after
    if after:
        touch(rows, undo, after)
        rows[after, PREV] = before
    give_row(rows, undo, c)


@lean
def open_piece(rows: Ints, undo: Ints, nums: Floats, line: int) -> int:
    """Open a piece of stock row `line`; return its root, a REST."""
    touch(rows, undo, line)
    rows[line, COUNT] -= 1
    p = take_row(rows, undo, OPEN)
    r = take_row(rows, undo, REST)
    add_child(rows, undo, HEADER, p)
    rows[HEADER, COUNT] += 1
    rows[HEADER, MONEY] += rows[line, TAG]
    rows[p, TAG] = line
    rows[p, CHILD] = r
    rows[r, PARENT] = p
    rows[r, PIECE] = p
    rows[r, LENGTH] = rows[line, LENGTH]
    rows[r, WIDTH] = rows[line, WIDTH]
    nums[COST] += nums[PRICE + line]
    link_rest(rows, undo, nums, r)
    return r


@lean
def close_piece(rows: Ints, undo: Ints, nums: Floats, p: int) -> None:
    """Put an empty piece back."""
    r = rows[p, CHILD]
    unlink_rest(rows, undo, nums, r)
    give_row(rows, undo, r)
    line = rows[p, TAG]
    touch(rows, undo, line)
    rows[line, COUNT] += 1
    drop_child(rows, undo, p)
    rows[HEADER, COUNT] -= 1
    rows[HEADER, MONEY] -= rows[line, TAG]
    nums[COST] -= nums[PRICE + line]


@lean
def slice_rest(rows: Ints, undo: Ints, nums: Floats, r: int, axis: int, size: int) -> int:
    """Cut `size` off the unlisted REST `r` along `axis`; list what remains, return the piece cut off."""
    extent = LENGTH + axis
    if rows[r, extent] == size:
        return r
    touch(rows, undo, r)
    p = rows[r, PARENT]
    low = take_row(rows, undo, REST)
    rows[low, PIECE] = rows[r, PIECE]
    rows[low, LENGTH] = rows[r, LENGTH]
    rows[low, WIDTH] = rows[r, WIDTH]
    rows[low, extent] = size
    if rows[p, KIND] == SPLIT and rows[p, TAG] == axis:
        rows[r, extent] -= size
        add_child(rows, undo, p, low)
        link_rest(rows, undo, nums, r)
        return low
    high = take_row(rows, undo, REST)
    rows[high, PIECE] = rows[r, PIECE]
    rows[high, LENGTH] = rows[r, LENGTH]
    rows[high, WIDTH] = rows[r, WIDTH]
    rows[high, extent] = rows[r, extent] - size
    rows[r, KIND] = SPLIT
    rows[r, TAG] = axis
    rows[r, CHILD] = 0
    rows[r, OWN_REST] = 0
    add_child(rows, undo, r, high)
    add_child(rows, undo, r, low)
    link_rest(rows, undo, nums, high)
    return low


@lean
def place(rows: Ints, undo: Ints, nums: Floats, t: int, turned: int, r: int, first: int) -> None:
    """Cut one part of row `t` out of the listed REST `r`, the first cut along axis `first`."""
    unlink_rest(rows, undo, nums, r)
    cut_out(rows, undo, nums, t, turned, r, first)


@lean
def cut_out(rows: Ints, undo: Ints, nums: Floats, t: int, turned: int, r: int, first: int) -> None:
    """Cut one part of row `t` out of the unlisted REST `r`, the first cut along axis `first`."""
    p = rows[r, PIECE]
    side = first if turned == 0 else 1 - first
    r = slice_rest(rows, undo, nums, r, first, rows[t, LENGTH + side])
    r = slice_rest(rows, undo, nums, r, 1 - first, rows[t, WIDTH - side])
    touch(rows, undo, r)
    rows[r, KIND] = PART
    rows[r, TAG] = t
    touch(rows, undo, p)
    rows[p, COUNT] += 1
    touch(rows, undo, t)
    rows[t, COUNT] -= 1
    touch(rows, undo, HEADER)
    rows[HEADER, OUT] -= 1
    nums[MISSING] -= nums[PRICE + t]


@lean
def leave_out(rows: Ints, undo: Ints, nums: Floats, t: int, p: int) -> None:
    """Count one part of row `t`, taken from piece `p`, among those left out."""
    touch(rows, undo, t)
    rows[t, COUNT] += 1
    touch(rows, undo, p)
    rows[p, COUNT] -= 1
    touch(rows, undo, HEADER)
    rows[HEADER, OUT] += 1
    nums[MISSING] += nums[PRICE + t]


@lean
def clear(rows: Ints, undo: Ints, nums: Floats, x: int) -> None:
    """Empty the tree under node `x` (PART or SPLIT), which becomes an unlisted REST."""
    p = rows[x, PIECE]
    if rows[x, KIND] == PART:
        leave_out(rows, undo, nums, rows[x, TAG], p)
    while rows[x, KIND] == SPLIT and rows[x, CHILD]:
        c = rows[x, CHILD]
        while rows[c, KIND] == SPLIT and rows[c, CHILD]:
            c = rows[c, CHILD]
        if rows[c, KIND] == REST:
            unlink_rest(rows, undo, nums, c)
        elif rows[c, KIND] == PART:
            leave_out(rows, undo, nums, rows[c, TAG], p)
        drop_child(rows, undo, c)
    touch(rows, undo, x)
    rows[x, KIND] = REST
    rows[x, TAG] = 0


@lean
def settle(rows: Ints, undo: Ints, nums: Floats, x: int) -> None:
    """Join the unlisted REST `x` with a REST beside it, upwards while a split holds nothing else."""
    p = rows[x, PARENT]
    while rows[p, KIND] == SPLIT:
        c = rows[p, OWN_REST]
        if c:
            extent = LENGTH + rows[p, TAG]
            unlink_rest(rows, undo, nums, c)
            touch(rows, undo, x)
            rows[x, extent] += rows[c, extent]
            drop_child(rows, undo, c)
        if rows[p, CHILD] != x or rows[x, NEXT] != 0:
            break
        drop_child(rows, undo, x)
        touch(rows, undo, p)
        rows[p, KIND] = REST
        rows[p, TAG] = 0
        x = p
        p = rows[x, PARENT]
    link_rest(rows, undo, nums, x)
    if rows[p, KIND] == OPEN:
        close_piece(rows, undo, nums, p)


@lean
def remove(rows: Ints, undo: Ints, nums: Floats, x: int) -> None:
    """Take the part or the whole split `x` out of its tree; an emptied piece is closed."""
    clear(rows, undo, nums, x)
    settle(rows, undo, nums, x)
