"""Ruin and recreate on freely placed parts: take some out, put them back better, and so on.

The scheme is that of the search on cut trees (Gardeyn and Wauters, EJOR 2022; late acceptance of Burke
and Bykov, EJOR 2017); the state is, for each piece under way, where its parts lie and what room is left.
"""

from __future__ import annotations

from typing import NamedTuple

from stockyard.planning.compiled import lean
from stockyard.planning.placing.room import X0, X1, Y0, Y1, Floats, Ints, copy_box, occupy

AS_WRITTEN, TURNED = 1, 2
CLOSED = -1
# Registers of a state.
SEED_A, SEED_B, OUT, MONEY, STEP, KEPT, TOUCHED, RECORD, OVERFLOW = range(9)
# Rules of a search.
(
    BUDGET, MISSING, NET, ROOM, BLINK, REMOVED, HISTORY, WHOLE, CORNERS, ORDER, FILLED, SHORT, REFUSE,
) = range(13)  # fmt: skip
RULES = 13
# Orders in which parts that are out are put back.
LARGE_FIRST, LONG_FIRST, WIDE_FIRST, NOISY, DEAR_FIRST = range(5)
# How a place is judged.
SNUG_SHORT, SNUG_AREA, LOW, SNUG_LONG = range(4)
NEVER = 1e300


class Ground(NamedTuple):
    """What never changes: parts by kind, copies, stock rows, the room of each row as it begins."""

    size: Ints  # [kind, 2]: extents along x and y as written
    lies: Ints  # [kind, stock]: ways it may lie
    kind: Ints  # [copy]: which kind it is
    stock: Ints  # [stock, 2]: count (-1 any), money
    net: Floats  # [stock]: area with the price per pull
    area: Floats  # [stock]: what parts may cover of it, gap included
    begin: Ints  # [stock, rect, 4]
    begin_n: Ints  # [stock]
    mark: Ints  # [kind]: a random number that stands for it
    keep: Floats  # kerf, then of a leftover: short side, long side, area, whole area, floor


class State(NamedTuple):
    """What is under way: pieces, the copies that are out, and copies of all that a step has touched."""

    regs: Ints
    stock: Ints  # [piece]: stock row, CLOSED for none
    n: Ints  # [piece]: how many parts lie on it
    copy: Ints  # [piece, part]: which copy
    box: Ints  # [piece, part, 4]: where it lies, with the gap
    free: Ints  # [piece, rect, 4]
    free_n: Ints  # [piece]
    worth: Floats  # [piece, 3]: its net, its largest room, the area laid on it
    used: Ints  # [stock]: how many pieces of the row
    out: Ints  # [copy]: those that are out, the first regs[OUT]
    rank: Floats  # [copy]: place to sort them
    fresh: Ints  # [rect, 4]: place to work
    touched: Ints  # [piece]: which pieces the step has changed, the first regs[TOUCHED]
    dirty: Ints  # [piece]: whether it has
    past: Floats  # [history]


@lean
def draw(regs: Ints, n: int) -> int:
    """Return a whole number from 0 up to n, without n (L'Ecuyer 1988: two small generators combined)."""
    a = regs[SEED_A] * 40014 % 2147483563
    b = regs[SEED_B] * 40692 % 2147483399
    regs[SEED_A], regs[SEED_B] = a, b
    return int((a - b) % 2147483562 % n)


@lean
def chance(regs: Ints) -> float:
    """Return a number from 0 up to 1."""
    return draw(regs, 1 << 24) / 16777216.0


@lean
def worth_of(keep: Floats, dx: float, dy: float) -> float:
    """Return what a leftover is worth, as `Worth.of` says, near enough to search by."""
    dx, dy = dx - keep[0], dy - keep[0]
    area = dx * dy
    if min(dx, dy) < keep[1] or max(dx, dy) < keep[2] or area < keep[3]:
        return 0.0
    return float(area * (keep[5] + (1.0 - keep[5]) * min(1.0, area / keep[4])))


@lean
def weigh(g: Ground, s: State, p: int) -> None:
    """Work out what piece `p` comes to."""
    j = s.stock[p]
    best = room = laid = 0.0
    for i in range(s.free_n[p]):
        r = s.free[p, i]
        dx, dy = float(r[X1] - r[X0]), float(r[Y1] - r[Y0])
        best = max(best, worth_of(g.keep, dx, dy))
        room = max(room, dx * dy)
    for i in range(s.n[p]):
        b = s.box[p, i]
        laid += float(b[X1] - b[X0]) * float(b[Y1] - b[Y0])
    s.worth[p, 0] = g.net[j] - best
    s.worth[p, 1] = room
    s.worth[p, 2] = laid


@lean
def clear(g: Ground, s: State, p: int) -> None:
    """Make all of piece `p` free; its parts are forgotten."""
    j = s.stock[p]
    s.n[p] = 0
    s.free_n[p] = g.begin_n[j]
    for i in range(g.begin_n[j]):
        copy_box(s.free[p, i], g.begin[j, i])


@lean
def close(g: Ground, s: State, p: int) -> None:
    """Put piece `p` back on its rack."""
    j = s.stock[p]
    s.used[j] -= 1
    s.regs[MONEY] -= g.stock[j, 1]
    s.stock[p] = CLOSED
    s.n[p] = s.free_n[p] = 0
    s.worth[p, 0] = s.worth[p, 1] = s.worth[p, 2] = 0.0


@lean
def start(g: Ground, s: State, p: int, j: int) -> None:
    """Take a piece of row `j` as piece `p`."""
    s.used[j] += 1
    s.regs[MONEY] += g.stock[j, 1]
    s.stock[p] = j
    clear(g, s, p)


@lean
def lay(s: State, p: int, copy: int, x: int, y: int, dx: int, dy: int) -> None:
    """Lay a copy on piece `p`."""
    n = s.n[p]
    s.copy[p, n] = copy
    b = s.box[p, n]
    b[X0], b[Y0], b[X1], b[Y1] = x, y, x + dx, y + dy
    s.n[p] = n + 1
    s.free_n[p] = occupy(s.free[p], s.free_n[p], s.fresh, x, y, x + dx, y + dy)


@lean
def lift(g: Ground, s: State, p: int, centre_x: float, centre_y: float, count: int) -> None:
    """Take the `count` parts of piece `p` out that lie nearest to a point; the room is found anew."""
    n = s.n[p]
    for _ in range(min(count, n)):
        nearest, at = NEVER, 0
        for i in range(n):
            b = s.box[p, i]
            dx = max(0.0, max(b[X0] - centre_x, centre_x - b[X1]))
            dy = max(0.0, max(b[Y0] - centre_y, centre_y - b[Y1]))
            if dx + dy < nearest:
                nearest, at = dx + dy, i
        s.out[s.regs[OUT]] = s.copy[p, at]
        s.regs[OUT] += 1
        n -= 1
        s.copy[p, at] = s.copy[p, n]
        copy_box(s.box[p, at], s.box[p, n])
    if n == 0:
        close(g, s, p)
        return
    clear(g, s, p)
    s.n[p] = n
    for i in range(n):
        b = s.box[p, i]
        s.free_n[p] = occupy(s.free[p], s.free_n[p], s.fresh, b[X0], b[Y0], b[X1], b[Y1])


@lean
def judged(r: Ints, w: int, h: int, how: int) -> float:
    """Return how badly a part of w x h suits a free rectangle; the least is taken."""
    dx, dy = float(r[X1] - r[X0] - w), float(r[Y1] - r[Y0] - h)
    if how == SNUG_SHORT:
        return min(dx, dy) + 1e-6 * max(dx, dy)
    if how == SNUG_AREA:
        return (dx + w) * (dy + h) - float(w) * float(h)
    if how == SNUG_LONG:
        return max(dx, dy)
    return float(r[Y0] + h) + 1e-6 * float(r[X0])
