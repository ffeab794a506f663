"""Ruin and recreate on cut trees: take some parts out, put them back better, and so on.

Scheme: goal-driven ruin and recreate (Gardeyn and Wauters, EJOR 2022) with late acceptance
(Burke and Bykov, EJOR 2017). A step that makes the state worse than the one some steps ago is undone.
"""

from __future__ import annotations

import numpy as np

from stockyard.planning.forest import (
    BLINK,
    BUDGET,
    BY_RANK,
    CHILD,
    COUNT,
    FILLED,
    GOAL,
    HISTORY,
    KEEN,
    KIND,
    LENGTH,
    MONEY,
    NEXT,
    ORDER,
    OUT,
    PART,
    REFUND,
    REMOVED,
    REST,
    REST_NEXT,
    SLOT,
    SPLIT,
    TAG,
    WHOLE,
    WIDTH,
    Forest,
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
from stockyard.planning.compiled import jit
from stockyard.planning.record import record_changed

NOWHERE = 1e300
# How far the cost of a new piece is blurred.
NOISE = 0.2
# Rows that placing one part can need: a piece, its root, two splits with their sides.
ROWS_FOR_ONE = 8
# Order in which parts left out are put back.
AS_DRAWN, LARGE_FIRST, LONG_FIRST, WIDE_FIRST, NOISY = range(5)


@jit
def lost(s: Forest, length: int, width: int, a: int, b: int, first: int) -> float:
    """Return what rests lose in value when a x b is cut from a rest with the first cut along `first`."""
    if first == 0:
        after = gain(s, length - a, width) + gain(s, a, width - b)
    else:
        after = gain(s, length, width - b) + gain(s, length - a, b)
    return gain(s, length, width) - after


@jit
def best_way(s: Forest, t: int, ways: int, length: int, width: int) -> tuple[float, int]:
    """Return the least loss of part `t` in a rest of this size and how: 2 * turned + first axis."""
    best = NOWHERE
    how = 0
    for turned in range(2):
        if ways & (1 << turned):
            a = s.parts[t, turned]
            b = s.parts[t, 1 - turned]
            if a <= length and b <= width:
                for first in range(2):
                    loss = lost(s, length, width, a, b, first)
                    if loss < best:
                        best = loss
                        how = 2 * turned + first
    return best, how


@jit
def best_rest(s: Forest, t: int) -> tuple[float, int, int]:
    """Return the loss, the REST and the way of the best spot for part `t` on the open pieces."""
    best = NOWHERE
    where = 0
    how = 0
    blink = s.rules[BLINK]
    p = s.rows[0, CHILD]
    while p:
        ways = s.lies[t, s.rows[p, TAG]]
        if ways:
            r = s.rows[p, REST_NEXT]
            while r:
                loss, way = best_way(s, t, ways, s.rows[r, LENGTH], s.rows[r, WIDTH])
                if loss < best and (blink == 0.0 or chance(s) >= blink):
                    best = loss
                    where = r
                    how = way
                r = s.rows[r, REST_NEXT]
        p = s.rows[p, NEXT]
    return best, where, how


@jit
def best_stock(s: Forest, t: int) -> tuple[float, int]:
    """Return the cost and the stock of the best new piece for part `t` that the budget allows, or -1."""
    best = NOWHERE
    which = -1
    blink = s.rules[BLINK]
    lines = 1 + s.parts.shape[0]
    for j in range(s.stock.shape[0]):
        ways = s.lies[t, j]
        if ways == 0 or s.rows[lines + j, COUNT] == 0 or s.ints[MONEY] + s.stock[j, 2] > s.rules[BUDGET]:
            continue
        area = float(s.stock[j, 0]) * float(s.stock[j, 1])
        free = 1.0 - float(s.parts[t, 0]) * float(s.parts[t, 1]) / area
        loss, _ = best_way(s, t, ways, s.stock[j, 0], s.stock[j, 1])
        after = gain(s, s.stock[j, 0], s.stock[j, 1]) - loss
        cost = s.cost[j] * (1.0 - s.rules[REFUND] * free) - after
        if blink > 0.0 and s.stock.shape[0] > 1:
            cost += s.cost[j] * NOISE * chance(s)
        if cost < best:
            best = cost
            which = j
    return best, which


@jit
def put_back(s: Forest, t: int) -> bool:
    """Place one part `t` at its best spot; return whether there was one."""
    if s.rows[0, TAG] + ROWS_FOR_ONE >= s.rows.shape[0]:
        return False
    loss, r, how = best_rest(s, t)
    if r == 0 or s.rules[KEEN] != 0.0:
        cost, j = best_stock(s, t)
        if j >= 0 and (r == 0 or cost < loss):
            r = open_piece(s, j)
            loss, how = best_way(s, t, s.lies[t, j], s.stock[j, 0], s.stock[j, 1])
    if r == 0:
        return False
    place(s, t, how // 2, r, how % 2)
    return True


@jit
def line_up(s: Forest) -> int:
    """Write the parts left out into `order`, first to place first; return how many rows there are."""
    n = 0
    order = int(s.rules[ORDER])
    for t in range(s.parts.shape[0]):
        if s.rows[1 + t, COUNT] == 0:
            continue
        a = float(s.parts[t, 0])
        b = float(s.parts[t, 1])
        if order == AS_DRAWN:
            key = chance(s)
        elif order == LARGE_FIRST:
            key = a * b
        elif order == LONG_FIRST:
            key = max(a, b) * 1e3 + min(a, b)
        elif order == WIDE_FIRST:
            key = min(a, b) * 1e3 + max(a, b)
        else:
            key = a * b * (0.5 + chance(s))
        s.keys[n] = -key - s.rules[BY_RANK] * s.parts[t, 2]
        s.order[n] = t
        n += 1
    if n > 40:
        ranked = np.argsort(s.keys[:n], kind="mergesort")
        s.order[:n] = s.order[:n][ranked]
        return n
    for i in range(1, n):
        key = s.keys[i]
        t = s.order[i]
        k = i - 1
        while k >= 0 and s.keys[k] > key:
            s.keys[k + 1] = s.keys[k]
            s.order[k + 1] = s.order[k]
            k -= 1
        s.keys[k + 1] = key
        s.order[k + 1] = t
    return n


@jit
def recreate(s: Forest) -> None:
    """Put back as many of the parts left out as possible."""
    n = line_up(s)
    for i in range(n):
        t = s.order[i]
        while s.rows[1 + t, COUNT] > 0:
            if not put_back(s, t):
                break


@jit
def pick_node(s: Forest, p: int) -> int:
    """Return a random part of open piece `p`, or now and then a whole split."""
    x = s.rows[p, CHILD]
    depth = 0
    while s.rows[x, KIND] == SPLIT:
        if depth > 0 and draw(s, 4) == 0:
            break
        n = 0
        c = s.rows[x, CHILD]
        while c:
            if s.rows[c, KIND] != REST:
                n += 1
            c = s.rows[c, NEXT]
        k = draw(s, n)
        c = s.rows[x, CHILD]
        while True:
            if s.rows[c, KIND] != REST:
                if k == 0:
                    break
                k -= 1
            c = s.rows[c, NEXT]
        x = c
        depth += 1
    return x


@jit
def list_open(s: Forest) -> int:
    """Write the open pieces into `opened`; return how many."""
    n = 0
    p = s.rows[0, CHILD]
    while p:
        s.opened[n] = p
        n += 1
        p = s.rows[p, NEXT]
    return n


@jit
def empty_piece(s: Forest, p: int) -> None:
    """Take everything off open piece `p` and close it."""
    remove(s, s.rows[p, CHILD])


@jit
def ruin(s: Forest) -> None:
    """Take some parts out: a few from a few pieces, or all from one piece."""
    n = list_open(s)
    if n == 0:
        return
    if n > 1 and chance(s) < s.rules[WHOLE]:
        p = s.opened[draw(s, n)]
        q = s.opened[draw(s, n)]
        empty_piece(s, p if s.rows[p, COUNT] <= s.rows[q, COUNT] else q)
        return
    todo = 1 + draw(s, int(2 * s.rules[REMOVED]) - 1)
    spread = min(n, 1 + draw(s, 4))
    for i in range(spread):
        k = i + draw(s, n - i)
        s.opened[i], s.opened[k] = s.opened[k], s.opened[i]
    while todo > 0 and spread > 0:
        i = draw(s, spread)
        p = s.opened[i]
        before = s.ints[OUT]
        last = s.rows[p, COUNT]
        x = pick_node(s, p)
        remove(s, x)
        gone = s.ints[OUT] - before
        todo -= gone
        if gone == last:
            spread -= 1
            s.opened[i] = s.opened[spread]


@jit
def keep_best(s: Forest, now: float) -> None:
    """Remember the state as the best of this run."""
    s.best_value[0] = now
    used = s.rows[0, TAG]
    s.best[:used] = s.rows[:used]


@jit
def search(s: Forest, steps: int) -> int:
    """Run up to `steps` steps from the state; return how many were taken.

    Stops early under a GOAL when no part is left out. The best state is in `best`.
    """
    length = int(s.rules[HISTORY])
    now = value(s)
    for i in range(steps):
        if s.rules[GOAL] != 0.0 and s.ints[OUT] == 0:
            return i
        begin(s)
        ruin(s)
        recreate(s)
        then = value(s)
        slot = s.ints[SLOT] % length
        s.ints[SLOT] = slot + 1
        if then <= now or then <= s.history[slot]:
            now = then
            if s.rules[FILLED] < 1.0:
                record_changed(s)
            if now < s.best_value[0] - 1e-9:
                keep_best(s, now)
        else:
            rollback(s)
        s.history[slot] = now
    return steps


@jit
def lower_money(s: Forest) -> None:
    """Empty the least filled pieces until the open ones cost no more than the budget."""
    while s.ints[MONEY] > s.rules[BUDGET]:
        least = 0
        p = s.rows[0, CHILD]
        while p:
            j = s.rows[p, TAG]
            if s.stock[j, 2] > 0 and (least == 0 or s.rows[p, COUNT] < s.rows[least, COUNT]):
                least = p
            p = s.rows[p, NEXT]
        empty_piece(s, least)


def compile_all() -> float:
    """Compile and cache every kernel by solving one small job; return the seconds that took."""
    from time import monotonic

    from stockyard.planning.problem import Kind, Part, Problem, Stock
    from stockyard.planning.solve import Limits, solve

    begun = monotonic()
    sheet = Stock(id="sheet", kind=Kind.FULL, material="any", length=1000, width=500, count=None, cost=1)
    offcut = Stock(id="offcut", kind=Kind.OFFCUT, material="any", length=600, width=400)
    parts = tuple(Part(id=str(n), length=200 + 7 * n, width=150 + 5 * n, count=2) for n in range(6))
    solve(Problem(stock=(sheet, offcut), parts=parts, kerf=3), limits=Limits(seconds=None, work=6))
    return monotonic() - begun
