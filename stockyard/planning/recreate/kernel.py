"""Ruin and recreate on cut trees: take some parts out, put them back better, and so on.

Scheme: goal-driven ruin and recreate (Gardeyn and Wauters, EJOR 2022) with late acceptance
(Burke and Bykov, EJOR 2017). A step that makes the state worse than the one some steps ago is undone.
"""

from __future__ import annotations

from stockyard.planning.compiled import lean
from stockyard.planning.recreate.forest import (
    BEST,
    BLINK,
    BUDGET,
    BY_RANK,
    CHILD,
    COUNT,
    FILLED,
    FIRST_PART,
    GATE,
    GOAL,
    HEADER,
    HISTORY,
    KEEN,
    KIND,
    LENGTH,
    LOOK,
    MONEY,
    MOST_OPEN,
    NEXT,
    ORDER,
    OUT,
    PARTS,
    PRICE,
    REFUND,
    REGISTERS,
    REMOVED,
    REST,
    REST_NEXT,
    SLOT,
    SPLIT,
    STOCKS,
    STRETCH,
    TAG,
    WHOLE,
    WIDTH,
    Floats,
    Ints,
    begin,
    chance,
    draw,
    gain,
    open_piece,
    place,
    remove,
    rollback,
    value,
)
from stockyard.planning.recreate.record import record_changed
from stockyard.planning.recreate.stretch import best_strip, place_in_strip

NOWHERE = 1e300
# How far the cost of a new piece is blurred.
NOISE = 0.2
# Rows that placing one part can need: a piece, its root, two splits with their sides.
ROWS_FOR_ONE = 64
# Order in which parts left out are put back.
AS_DRAWN, LARGE_FIRST, LONG_FIRST, WIDE_FIRST, NOISY, DEAR_FIRST = range(6)


@lean
def best_way(rows: Ints, nums: Floats, t: int, ways: int, length: int, width: int) -> tuple[float, int]:
    """Return the greatest gain of the rests when part `t` is cut from such a rest, and how.

    How is 2 * turned + axis of the first cut, -1 when it does not fit.
    """
    best = -NOWHERE
    how = -1
    for turned in range(2):
        if not ways & (1 << turned):
            continue
        right = length - rows[t, LENGTH + turned]
        above = width - rows[t, WIDTH - turned]
        if right < 0 or above < 0:
            continue
        after = gain(nums, right, width) + gain(nums, length - right, above)
        if after > best:
            best = after
            how = 2 * turned
        after = gain(nums, length, above) + gain(nums, right, width - above)
        if after > best:
            best = after
            how = 2 * turned + 1
    return best, how


@lean
def best_rest(rows: Ints, nums: Floats, lies: Ints, t: int) -> tuple[float, int, int]:
    """Return the loss, the REST (0 for none) and the way of the best spot for part `t` on the open pieces."""
    best = NOWHERE
    where = 0
    how = 0
    blink = nums[BLINK]
    first_stock = FIRST_PART + rows[REGISTERS, PARTS]
    least = min(rows[t, LENGTH], rows[t, WIDTH])
    look = nums[LOOK]
    p = rows[HEADER, CHILD]
    while p and look > 0.0:
        look -= 1.0
        ways = lies[t - FIRST_PART, rows[p, TAG] - first_stock]
        if ways:
            r = rows[p, REST_NEXT]
            while r:
                length = rows[r, LENGTH]
                width = rows[r, WIDTH]
                if length >= least and width >= least:
                    after, way = best_way(rows, nums, t, ways, length, width)
                    if way >= 0:
                        loss = gain(nums, length, width) - after
                        if loss < best and (blink == 0.0 or chance(rows) >= blink):
                            best = loss
                            where = r
                            how = way
                r = rows[r, REST_NEXT]
        p = rows[p, NEXT]
    return best, where, how


@lean
def best_stock(rows: Ints, nums: Floats, lies: Ints, t: int) -> tuple[float, int]:
    """Return the cost and the stock row (0 for none) of the best new piece for part `t` within the budget."""
    best = NOWHERE
    which = 0
    first_stock = FIRST_PART + rows[REGISTERS, PARTS]
    several = rows[REGISTERS, STOCKS] > 1 and nums[BLINK] > 0.0
    part_area = float(rows[t, LENGTH]) * float(rows[t, WIDTH])
    for j in range(rows[REGISTERS, STOCKS]):
        line = first_stock + j
        ways = lies[t - FIRST_PART, j]
        if ways == 0 or rows[line, COUNT] == 0 or rows[HEADER, MONEY] + rows[line, TAG] > nums[BUDGET]:
            continue
        after, _ = best_way(rows, nums, t, ways, rows[line, LENGTH], rows[line, WIDTH])
        free = 1.0 - part_area / (float(rows[line, LENGTH]) * float(rows[line, WIDTH]))
        price = nums[PRICE + line]
        cost = price - max(after, nums[REFUND] * price * free)
        if several:
            cost += price * NOISE * chance(rows)
        if cost < best:
            best = cost
            which = line
    return best, which


@lean
def put_back(rows: Ints, undo: Ints, nums: Floats, lies: Ints, t: int) -> bool:
    """Place one part `t` at its best spot; return whether there was one."""
    if rows[HEADER, TAG] + ROWS_FOR_ONE >= rows.shape[0]:
        return False
    loss, r, how = best_rest(rows, nums, lies, t)
    if r == 0 and nums[STRETCH] > 0.0:
        _, x, beside, turned = best_strip(rows, nums, lies, t)
        if x:
            place_in_strip(rows, undo, nums, t, turned, x, beside)
            return True
    if (r == 0 or nums[KEEN] != 0.0) and rows[HEADER, COUNT] < nums[MOST_OPEN]:
        cost, line = best_stock(rows, nums, lies, t)
        if line and (r == 0 or cost < loss):
            ways = lies[t - FIRST_PART, line - FIRST_PART - rows[REGISTERS, PARTS]]
            _, how = best_way(rows, nums, t, ways, rows[line, LENGTH], rows[line, WIDTH])
            r = open_piece(rows, undo, nums, line)
    if r == 0:
        return False
    place(rows, undo, nums, t, how // 2, r, how % 2)
    return True


@lean
def rank_of(rows: Ints, nums: Floats, t: int) -> float:
    """Return the key by which part `t` waits for its turn: the greatest goes first."""
    a = float(rows[t, LENGTH])
    b = float(rows[t, WIDTH])
    order = nums[ORDER]
    if order == AS_DRAWN:
        key = chance(rows)
    elif order == LARGE_FIRST:
        key = a * b
    elif order == LONG_FIRST:
        key = max(a, b) * 1e3 + min(a, b)
    elif order == WIDE_FIRST:
        key = min(a, b) * 1e3 + max(a, b)
    elif order == DEAR_FIRST:
        key = nums[PRICE + t] * (0.5 + chance(rows))
    else:
        key = a * b * (0.5 + chance(rows))
    return float(key + nums[BY_RANK] * rows[t, TAG])


@lean
def line_up(rows: Ints, nums: Floats, order: Ints, keys: Floats) -> int:
    """Write the parts left out into `order`, first to place first; return how many rows there are."""
    n = 0
    for t in range(FIRST_PART, FIRST_PART + rows[REGISTERS, PARTS]):
        if rows[t, COUNT]:
            keys[n] = -rank_of(rows, nums, t)
            order[n] = t
            n += 1
    gap = 1
    while gap < n // 9:
        gap = 3 * gap + 1
    while gap > 0:  # Shell's sort makes no arrays; of equal keys the earlier row goes first
        for i in range(gap, n):
            key = keys[i]
            t = order[i]
            k = i - gap
            while k >= 0 and (keys[k] > key or (keys[k] == key and order[k] > t)):
                keys[k + gap] = keys[k]
                order[k + gap] = order[k]
                k -= gap
            keys[k + gap] = key
            order[k + gap] = t
        gap //= 3
    return n


@lean
def recreate(rows: Ints, undo: Ints, nums: Floats, lies: Ints, order: Ints, keys: Floats) -> None:
    """Put back as many of the parts left out as possible."""
    for i in range(line_up(rows, nums, order, keys)):
        t = order[i]
        while rows[t, COUNT] > 0 and put_back(rows, undo, nums, lies, t):
            pass


@lean
def pick_node(rows: Ints, p: int) -> int:
    """Return a random part of open piece `p`, or now and then a whole split."""
    x = rows[p, CHILD]
    depth = 0
    while rows[x, KIND] == SPLIT:
        if depth > 0 and draw(rows, 4) == 0:
            break
        n = 0
        c = rows[x, CHILD]
        while c:
            if rows[c, KIND] != REST:
                n += 1
            c = rows[c, NEXT]
        if n == 0:
            break
        k = draw(rows, n)
        c = rows[x, CHILD]
        while rows[c, KIND] == REST or k > 0:
            if rows[c, KIND] != REST:
                k -= 1
            c = rows[c, NEXT]
        x = c
        depth += 1
    return int(x)


@lean
def list_open(rows: Ints, opened: Ints) -> int:
    """Write the open pieces into `opened`; return how many."""
    n = 0
    p = rows[HEADER, CHILD]
    while p:
        opened[n] = p
        n += 1
        p = rows[p, NEXT]
    return n


@lean
def ruin(rows: Ints, undo: Ints, nums: Floats, opened: Ints) -> None:
    """Take some parts out: a few from a few pieces, or all from one piece."""
    n = list_open(rows, opened)
    if n == 0:
        return
    if n > 1 and chance(rows) < nums[WHOLE]:
        p = opened[draw(rows, n)]
        q = opened[draw(rows, n)]
        if rows[q, COUNT] < rows[p, COUNT]:
            p = q
        remove(rows, undo, nums, rows[p, CHILD])
        return
    todo = 1 + draw(rows, int(2 * nums[REMOVED]) - 1)
    spread = min(n, 1 + draw(rows, 4))
    for i in range(spread):
        k = i + draw(rows, n - i)
        p = opened[i]
        opened[i] = opened[k]
        opened[k] = p
    while todo > 0 and spread > 0:
        i = draw(rows, spread)
        p = opened[i]
        before = rows[HEADER, OUT]
        last = rows[p, COUNT]
        remove(rows, undo, nums, pick_node(rows, p))
        gone = rows[HEADER, OUT] - before
        todo -= gone
        if gone == last:
            spread -= 1
            opened[i] = opened[spread]


@lean
def keep_best(rows: Ints, nums: Floats, best: Ints) -> None:
    """Remember the state as the best of this run."""
    nums[BEST] = value(nums)
    used = rows[HEADER, TAG]
    for r in range(used):
        for i in range(rows.shape[1]):
            best[r, i] = rows[r, i]


@lean
def search(
    rows: Ints,
    undo: Ints,
    nums: Floats,
    lies: Ints,
    history: Floats,
    best: Ints,
    order: Ints,
    keys: Floats,
    opened: Ints,
    layouts: Ints,
    seen: Ints,
    steps: int,
) -> int:
    """Run up to `steps` steps from the state; return how many were taken.

    Stops early under a GOAL when no part is left out. The best state is in `best`.
    """
    length = int(nums[HISTORY])
    now = value(nums)
    for i in range(steps):
        if nums[GOAL] != 0.0 and rows[HEADER, OUT] == 0:
            return i
        begin(rows, nums)
        ruin(rows, undo, nums, opened)
        recreate(rows, undo, nums, lies, order, keys)
        then = value(nums)
        slot = rows[REGISTERS, SLOT] % length
        rows[REGISTERS, SLOT] = slot + 1
        if then <= now or then <= history[slot]:
            now = then
            if nums[FILLED] < 1.0 and now <= nums[GATE]:
                record_changed(rows, undo, nums, layouts, seen)
            if now < nums[BEST] - 1e-9:
                keep_best(rows, nums, best)
        else:
            rollback(rows, undo, nums)
        history[slot] = now
    return steps


@lean
def lower_money(rows: Ints, undo: Ints, nums: Floats) -> None:
    """Empty the least filled pieces until the open ones cost no more than the budget."""
    while rows[HEADER, MONEY] > nums[BUDGET]:
        least = 0
        p = rows[HEADER, CHILD]
        while p:
            if rows[rows[p, TAG], TAG] > 0 and (least == 0 or rows[p, COUNT] < rows[least, COUNT]):
                least = p
            p = rows[p, NEXT]
        if least == 0:
            return
        remove(rows, undo, nums, rows[least, CHILD])
