"""Make room for a part by widening the strip beside a rest (after insertion by Fleszar, C&OR 2013).

In a split along axis a lie a REST and a strip, itself split across a, that has a REST of its own. The
strip takes over as much of the REST beside it as the part is too wide; all else in the strip gets a
REST of that width at its side.
"""

from __future__ import annotations

from stockyard.planning.compiled import lean
from stockyard.planning.recreate.forest import (
    CHILD,
    FIRST_PART,
    HEADER,
    KIND,
    LENGTH,
    LOOK,
    NEXT,
    OWN_REST,
    PARENT,
    PART,
    PARTS,
    PIECE,
    REGISTERS,
    REST,
    REST_NEXT,
    SPLIT,
    TAG,
    WIDTH,
    Floats,
    Ints,
    add_child,
    drop_child,
    gain,
    give_row,
    link_rest,
    place,
    settle,
    take_row,
    touch,
    unlink_rest,
)

NOWHERE = 1e300


@lean
def gain_along(nums: Floats, axis: int, extent: int, across: int) -> float:
    """Return the gain of a rest with `extent` along `axis`."""
    return gain(nums, extent, across) if axis == 0 else gain(nums, across, extent)


@lean
def best_strip(rows: Ints, nums: Floats, lies: Ints, t: int) -> tuple[float, int, int, int]:
    """Return the loss, the strip (0 for none), the REST beside it and the turn for part `t`."""
    best = NOWHERE
    strip, beside, turn = 0, 0, 0
    first_stock = FIRST_PART + rows[REGISTERS, PARTS]
    look = nums[LOOK]
    p = rows[HEADER, CHILD]
    while p and look > 0.0:
        look -= 1.0
        ways = lies[t - FIRST_PART, rows[p, TAG] - first_stock]
        r = rows[p, REST_NEXT] if ways else 0
        while r:
            split = rows[r, PARENT]
            x = rows[split, CHILD] if rows[split, KIND] == SPLIT else 0
            while x:
                q = rows[x, OWN_REST] if rows[x, KIND] == SPLIT else 0
                if q:
                    loss, turned = strip_loss(rows, nums, t, ways, rows[split, TAG], x, q, r)
                    if loss < best:
                        best = loss
                        strip, beside, turn = x, r, turned
                x = rows[x, NEXT]
            r = rows[r, REST_NEXT]
        p = rows[p, NEXT]
    return best, strip, beside, turn


@lean
def strip_loss(
    rows: Ints, nums: Floats, t: int, ways: int, axis: int, x: int, q: int, r: int
) -> tuple[float, int]:
    """Return the loss and the turn when strip `x` with REST `q` widens into REST `r` for part `t`."""
    best = NOWHERE
    turn = 0
    wide = rows[x, LENGTH + axis]
    spare = rows[r, LENGTH + axis]
    high = rows[q, WIDTH - axis]
    for turned in range(2):
        if not ways & (1 << turned):
            continue
        side = axis if turned == 0 else 1 - axis
        along = rows[t, LENGTH + side]
        across = rows[t, WIDTH - side]
        if wide < along <= wide + spare and across <= high:
            loss = (
                gain(nums, rows[r, LENGTH], rows[r, WIDTH])
                + gain(nums, rows[q, LENGTH], rows[q, WIDTH])
                - gain_along(nums, axis, wide + spare - along, rows[r, WIDTH - axis])
                - gain_along(nums, axis, along, high - across)
            )
            if loss < best:
                best = loss
                turn = turned
    return best, turn


@lean
def place_in_strip(rows: Ints, undo: Ints, nums: Floats, t: int, turned: int, x: int, r: int) -> None:
    """Widen strip `x` into the REST `r` beside it and cut part `t` out of the strip's own REST."""
    p = rows[x, PARENT]
    axis = rows[p, TAG]
    side = axis if turned == 0 else 1 - axis
    more = rows[t, LENGTH + side] - rows[x, LENGTH + axis]
    q = rows[x, OWN_REST]
    unlink_rest(rows, undo, nums, r)
    if rows[r, LENGTH + axis] == more:
        drop_child(rows, undo, r)
    else:
        rows[r, LENGTH + axis] -= more
        link_rest(rows, undo, nums, r)
    widen(rows, undo, nums, x, axis, more)
    place(rows, undo, nums, t, turned, q, 1 - axis)
    if rows[rows[p, CHILD], NEXT] == 0:
        merge_levels(rows, undo, nums, p)


@lean
def widen(rows: Ints, undo: Ints, nums: Floats, x: int, axis: int, more: int) -> None:
    """Make strip `x`, split across `axis`, wider by `more`; its children fill it with rests."""
    extent = LENGTH + axis
    touch(rows, undo, x)
    rows[x, extent] += more
    c = rows[x, CHILD]
    while c:
        touch(rows, undo, c)
        if rows[c, KIND] == REST:
            unlink_rest(rows, undo, nums, c)
            rows[c, extent] += more
            link_rest(rows, undo, nums, c)
        else:
            if rows[c, KIND] == PART:
                wrap(rows, undo, c, axis)
            rows[c, extent] += more
            own = rows[c, OWN_REST]
            if own:
                unlink_rest(rows, undo, nums, own)
                rows[own, extent] += more
            else:
                own = take_row(rows, undo, REST)
                rows[own, PIECE] = rows[c, PIECE]
                rows[own, LENGTH] = rows[c, LENGTH]
                rows[own, WIDTH] = rows[c, WIDTH]
                rows[own, extent] = more
                add_child(rows, undo, c, own)
            link_rest(rows, undo, nums, own)
        c = rows[c, NEXT]


@lean
def wrap(rows: Ints, undo: Ints, c: int, axis: int) -> None:
    """Turn PART `c`, already saved, into a SPLIT along `axis` that holds the part alone for the moment."""
    inner = take_row(rows, undo, PART)
    rows[inner, TAG] = rows[c, TAG]
    rows[inner, PIECE] = rows[c, PIECE]
    rows[inner, LENGTH] = rows[c, LENGTH]
    rows[inner, WIDTH] = rows[c, WIDTH]
    rows[c, KIND] = SPLIT
    rows[c, TAG] = axis
    rows[c, CHILD] = 0
    rows[c, OWN_REST] = 0
    add_child(rows, undo, c, inner)


@lean
def merge_levels(rows: Ints, undo: Ints, nums: Floats, p: int) -> None:
    """Do away with split `p`, whose only child is a split, and with that child: its children move up."""
    x = rows[p, CHILD]
    above = rows[p, PARENT]
    rest = rows[x, OWN_REST]
    if rest:
        unlink_rest(rows, undo, nums, rest)
    touch(rows, undo, p)
    home = above
    if rows[above, KIND] != SPLIT:
        home = p
        rows[p, TAG] = rows[x, TAG]
    rows[p, CHILD] = 0
    c = rows[x, CHILD]
    while c:
        after = rows[c, NEXT]
        add_child(rows, undo, home, c)
        c = after
    give_row(rows, undo, x)
    if home == above:
        drop_child(rows, undo, p)
    if rest:
        settle(rows, undo, nums, rest)
