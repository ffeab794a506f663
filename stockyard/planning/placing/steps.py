"""One step of the search on freely placed parts: ruin, recreate, and keep or undo."""

from __future__ import annotations

from stockyard.planning.compiled import lean
from stockyard.planning.placing.kernel import (
    AS_WRITTEN,
    BLINK,
    BUDGET,
    CLOSED,
    CORNERS,
    DEAR_FIRST,
    FILLED,
    HISTORY,
    KEPT,
    LARGE_FIRST,
    LONG_FIRST,
    MISSING,
    MONEY,
    NET,
    NEVER,
    NOISY,
    ORDER,
    OUT,
    RECORD,
    REFUSE,
    REMOVED,
    ROOM,
    STEP,
    TOUCHED,
    TURNED,
    WHOLE,
    WIDE_FIRST,
    Ground,
    State,
    chance,
    close,
    draw,
    judged,
    lay,
    lift,
    start,
    weigh,
)
from stockyard.planning.placing.room import X0, X1, Y0, Y1, Floats, Ints, copy_box

# Figures of a part in a record: which kind, where, and as how large.
FIGURES = 5
# A head of a record: row, how many parts, net in ticks².
HEAD = 3
# How often what costs nothing goes before what is paid for; and by how much it does (ticks²).
FREE_FIRST, PAID = 0.7, 1e30


@lean
def copy_piece(a: State, b: State, p: int) -> None:
    """Make piece `p` of `b` what it is in `a`."""
    b.stock[p], b.n[p], b.free_n[p] = a.stock[p], a.n[p], a.free_n[p]
    for i in range(3):
        b.worth[p, i] = a.worth[p, i]
    for i in range(a.n[p]):
        b.copy[p, i] = a.copy[p, i]
        copy_box(b.box[p, i], a.box[p, i])
    for i in range(a.free_n[p]):
        copy_box(b.free[p, i], a.free[p, i])


@lean
def copy_all(a: State, b: State) -> None:
    """Make all pieces of `b`, and what is out, what they are in `a`."""
    for p in range(len(a.stock)):
        copy_piece(a, b, p)
    for j in range(len(a.used)):
        b.used[j] = a.used[j]
    for i in range(a.regs[OUT]):
        b.out[i] = a.out[i]
    b.regs[OUT], b.regs[MONEY] = a.regs[OUT], a.regs[MONEY]


@lean
def touch(s: State, old: State, p: int) -> None:
    """Keep piece `p` as it is before the step changes it for the first time."""
    if s.dirty[p]:
        return
    s.dirty[p] = 1
    s.touched[s.regs[TOUCHED]] = p
    s.regs[TOUCHED] += 1
    copy_piece(s, old, p)


@lean
def undo(g: Ground, s: State, old: State) -> None:
    """Go back to where the step began."""
    for i in range(s.regs[TOUCHED]):
        p = s.touched[i]
        if s.stock[p] != CLOSED:
            s.used[s.stock[p]] -= 1
            s.regs[MONEY] -= g.stock[s.stock[p], 1]
        copy_piece(old, s, p)
        if s.stock[p] != CLOSED:
            s.used[s.stock[p]] += 1
            s.regs[MONEY] += g.stock[s.stock[p], 1]
    s.regs[OUT] = old.regs[OUT]
    for i in range(s.regs[OUT]):
        s.out[i] = old.out[i]


@lean
def _some_piece(s: State) -> int:
    """Return an open piece by chance, CLOSED when there is none."""
    n = 0
    for p in range(len(s.stock)):
        n += s.stock[p] != CLOSED
    if n == 0:
        return CLOSED
    at = draw(s.regs, n)
    for p in range(len(s.stock)):
        if s.stock[p] != CLOSED:
            if at == 0:
                return p
            at -= 1
    return CLOSED


@lean
def _ruin(g: Ground, s: State, old: State, rules: Floats) -> None:
    """Take parts out: whole pieces, or those about a point."""
    if chance(s.regs) < rules[WHOLE]:
        for _ in range(1 + draw(s.regs, 2)):
            p, q = _some_piece(s), _some_piece(s)
            if p == CLOSED:
                return
            if q != CLOSED and s.worth[q, 2] / g.area[s.stock[q]] < s.worth[p, 2] / g.area[s.stock[p]]:
                p = q
            touch(s, old, p)
            lift(g, s, p, 0.0, 0.0, s.n[p])
        return
    left = 1 + draw(s.regs, max(1, int(2 * rules[REMOVED]) - 1))
    for _ in range(3):
        p = _some_piece(s)
        if p == CLOSED or left <= 0:
            return
        count = min(left, s.n[p])
        b = s.box[p, draw(s.regs, s.n[p])]
        x = b[X0] + chance(s.regs) * (b[X1] - b[X0])
        y = b[Y0] + chance(s.regs) * (b[Y1] - b[Y0])
        touch(s, old, p)
        lift(g, s, p, x, y, count)
        left -= count if chance(s.regs) < 0.5 else left


@lean
def _sort_out(g: Ground, s: State, miss: Floats, rules: Floats) -> None:
    """Bring the parts that are out into the order in which they are put back."""
    n, order = s.regs[OUT], int(rules[ORDER])
    for i in range(n):
        k = g.kind[s.out[i]]
        w, h = float(g.size[k, 0]), float(g.size[k, 1])
        rank = w * h
        if order == LONG_FIRST:
            rank = max(w, h)
        elif order == WIDE_FIRST:
            rank = w + h
        elif order == DEAR_FIRST:
            rank = miss[k]
        if order in (NOISY, DEAR_FIRST):
            rank *= 0.4 + chance(s.regs)
        elif order != LARGE_FIRST or s.regs[STEP] > 0:
            rank *= 0.95 + 0.1 * chance(s.regs)
        at, copy = i, s.out[i]
        while at > 0 and s.rank[at - 1] < rank:
            s.rank[at], s.out[at] = s.rank[at - 1], s.out[at - 1]
            at -= 1
        s.rank[at], s.out[at] = rank, copy


@lean
def _row_for(g: Ground, s: State, rules: Floats, k: int) -> int:
    """Return a row to take a new piece from for a part of kind `k`, CLOSED for none."""
    found, least = CLOSED, NEVER
    wild = chance(s.regs) if s.regs[STEP] > 0 else 0.0
    for j in range(len(g.net)):
        if not g.lies[k, j] or 0 <= g.stock[j, 0] <= s.used[j]:
            continue
        if s.regs[MONEY] + g.stock[j, 1] > rules[BUDGET]:
            continue
        cost = g.net[j] * (1.0 + 2.0 * wild * chance(s.regs))
        if g.stock[j, 1] > 0 and wild < FREE_FIRST:
            cost += PAID
        if cost < least:
            found, least = j, cost
    return found


@lean
def _put(g: Ground, s: State, old: State, rules: Floats, copy: int, how: int) -> bool:
    """Lay a copy where it suits best, on a new piece if it must be; return whether it found a place."""
    k = g.kind[copy]
    best, at, spot, way = NEVER, CLOSED, 0, 0
    for p in range(len(s.stock)):
        j = s.stock[p]
        if j == CLOSED or not g.lies[k, j]:
            continue
        for turned in range(2):
            if not g.lies[k, j] & (TURNED if turned else AS_WRITTEN):
                continue
            w, h = g.size[k, turned], g.size[k, 1 - turned]
            for i in range(s.free_n[p]):
                r = s.free[p, i]
                if r[X1] - r[X0] < w or r[Y1] - r[Y0] < h:
                    continue
                if rules[BLINK] > 0.0 and chance(s.regs) < rules[BLINK]:
                    continue
                cost = judged(r, w, h, how)
                if cost < best:
                    best, at, spot, way = cost, p, i, turned
    if at == CLOSED:
        return _open_for(g, s, old, rules, copy, how)
    touch(s, old, at)
    _lay_in(g, s, rules, at, spot, copy, way)
    return True


@lean
def _lay_in(g: Ground, s: State, rules: Floats, p: int, spot: int, copy: int, way: int) -> None:
    """Lay a copy into a corner of a free rectangle."""
    k = g.kind[copy]
    w, h = g.size[k, way], g.size[k, 1 - way]
    r = s.free[p, spot]
    x, y = r[X0], r[Y0]
    if rules[CORNERS] > 0.0 and chance(s.regs) < rules[CORNERS]:
        corner = draw(s.regs, 4)
        x = r[X1] - w if corner & 1 else x
        y = r[Y1] - h if corner & 2 else y
    lay(s, p, copy, x, y, w, h)


@lean
def _open_for(g: Ground, s: State, old: State, rules: Floats, copy: int, how: int) -> bool:
    """Lay a copy on a new piece; return whether there is one."""
    k = g.kind[copy]
    j = _row_for(g, s, rules, k)
    if j == CLOSED:
        return False
    for p in range(len(s.stock)):
        if s.stock[p] != CLOSED:
            continue
        touch(s, old, p)
        start(g, s, p, j)
        best, spot, way = NEVER, -1, 0
        for turned in range(2):
            if not g.lies[k, j] & (TURNED if turned else AS_WRITTEN):
                continue
            w, h = g.size[k, turned], g.size[k, 1 - turned]
            for i in range(s.free_n[p]):
                r = s.free[p, i]
                if r[X1] - r[X0] >= w and r[Y1] - r[Y0] >= h and judged(r, w, h, how) < best:
                    best, spot, way = judged(r, w, h, how), i, turned
        if spot < 0:
            close(g, s, p)
            return False
        _lay_in(g, s, rules, p, spot, copy, way)
        return True
    return False


@lean
def recreate(g: Ground, s: State, old: State, miss: Floats, rules: Floats) -> None:
    """Put back what is out, as far as it goes."""
    _sort_out(g, s, miss, rules)
    how = draw(s.regs, 4)
    stay = 0
    for i in range(s.regs[OUT]):
        copy = s.out[i]
        refused = rules[REFUSE] > 0.0 and chance(s.regs) < rules[REFUSE]
        if refused or not _put(g, s, old, rules, copy, how):
            s.out[stay] = copy
            stay += 1
    s.regs[OUT] = stay
    for i in range(s.regs[TOUCHED]):
        if s.stock[s.touched[i]] != CLOSED:
            weigh(g, s, s.touched[i])


@lean
def cost_of(g: Ground, s: State, miss: Floats, rules: Floats) -> float:
    """Return what a state comes to."""
    cost = 0.0
    for i in range(s.regs[OUT]):
        cost += rules[MISSING] * miss[g.kind[s.out[i]]]
    for p in range(len(s.stock)):
        if s.stock[p] != CLOSED:
            cost += rules[NET] * s.worth[p, 0] - rules[ROOM] * s.worth[p, 1]
    return cost


@lean
def _record(g: Ground, s: State, rules: Floats, seen: Ints, rec: Ints, p: int) -> None:
    """Write piece `p` down unless it was before: row, number of parts, and the figures of each."""
    j, n, end = s.stock[p], s.n[p], s.regs[RECORD]
    if s.worth[p, 2] < rules[FILLED] * g.area[j] or end + HEAD + FIGURES * n > len(rec):
        return
    key = 7919 * (j + 1)
    if rules[NET] > 0.0:
        key += int(s.worth[p, 0] / 1e4) % 1000003 * 31
    for i in range(n):
        key = (key + g.mark[g.kind[s.copy[p, i]]]) % 4611686018427387847
    at = key % len(seen)
    if seen[at] == key:
        return
    seen[at] = key
    rec[end], rec[end + 1], rec[end + 2] = j, n, int(s.worth[p, 0])
    end += HEAD
    for i in range(n):
        b = s.box[p, i]
        rec[end] = g.kind[s.copy[p, i]]
        rec[end + 1], rec[end + 2] = b[X0], b[Y0]
        rec[end + 3], rec[end + 4] = b[X1] - b[X0], b[Y1] - b[Y0]
        end += FIGURES
    s.regs[RECORD] = end


@lean
def search(
    g: Ground,
    s: State,
    old: State,
    top: State,
    miss: Floats,
    rules: Floats,
    seen: Ints,
    rec: Ints,
    steps: int,
) -> None:
    """Take so many steps. The best state is kept in `top`, whose cost is `top.past[0]`."""
    history = int(rules[HISTORY])
    for _ in range(steps):
        s.regs[STEP] += 1
        s.regs[TOUCHED] = 0
        old.regs[OUT] = s.regs[OUT]
        for i in range(s.regs[OUT]):
            old.out[i] = s.out[i]
        _ruin(g, s, old, rules)
        recreate(g, s, old, miss, rules)
        cost = cost_of(g, s, miss, rules)
        at = s.regs[STEP] % history
        kept = cost <= s.past[at] or cost <= s.past[len(s.past) - 1]
        if kept:
            s.past[len(s.past) - 1] = cost
            s.regs[KEPT] += 1
            for i in range(s.regs[TOUCHED]):
                if s.stock[s.touched[i]] != CLOSED:
                    _record(g, s, rules, seen, rec, s.touched[i])
        else:
            undo(g, s, old)
        for i in range(s.regs[TOUCHED]):
            s.dirty[s.touched[i]] = 0
        s.past[at] = min(s.past[at], s.past[len(s.past) - 1])
        if cost < top.past[0] and kept:
            top.past[0] = cost
            copy_all(s, top)
            if rules[NET] == 0.0 and s.regs[OUT] == 0:
                return
