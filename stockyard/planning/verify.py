"""An independent check of a plan: every cut replayed in whole numbers, every claim recomputed.

Shares nothing with the search but the frozen values of problem and plan: what a part may do on a
piece, where the blade goes and what remains is worked out here again, from the contract alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from stockyard.planning.plan import Layout, Leftover, Placement, Plan
from stockyard.planning.problem import Part, Problem, Stock
from stockyard.planning.verify_batches import batch_faults
from stockyard.planning.verify_fit import flaws_on, left_out_faults, lies_of, refusal_of
from stockyard.planning.verify_sawing import Replay, part_of, work_faults
from stockyard.planning.verify_sets import set_faults


def faults(problem: Problem, plan: Plan) -> tuple[str, ...]:
    """Return what is wrong with `plan`, each fault in one line; nothing when it holds."""
    stock = {s.id: s for s in problem.stock}
    parts = {p.id: p for p in problem.parts}
    found: list[str] = []
    names: Counter[str] = Counter()
    whole: set[object] = set()  # layouts without a fault, but for the numbers of copies
    for number, layout in enumerate(plan.layouts, 1):
        where = f"layout {number} ({layout.stock})"
        piece = stock.get(layout.stock)
        if piece is None:
            found.append(f"{where}: no such stock")
            continue
        alike, copies = _unnumbered(layout, parts)
        if alike in whole:
            names.update(copies)
            continue
        before = len(found)
        checks: list[Iterable[str]] = [_parts(piece, layout, parts), _leftovers(problem, piece, layout)]
        checks.append(_gaps(problem.kerf, layout))
        if problem.method == "router":
            checks.append(_uncut(layout))
        else:
            checks.append(Replay(problem.kerf, piece, layout, parts, names).faults())
        found += [f"{where}: {fault}" for check in checks for fault in check]
        if len(found) == before:
            whole.add(alike)
    found += [f"the copy '{name}' is named {n} times" for name, n in names.items() if n > 1]
    found += _demand(problem, plan)
    found += _supply(problem, plan)
    found += _claims(problem, plan)
    found += left_out_faults(problem, plan)
    if all(layout.stock in stock for layout in plan.layouts):
        found += set_faults(problem, plan)
        found += batch_faults(problem, plan)
    found += work_faults(plan)
    return tuple(found)


def _unnumbered(layout: Layout, parts: dict[str, Part]) -> tuple[object, list[str]]:
    """Return all that a layout says, without the numbers of its copies; and the names that have one.

    Layouts that say the same are replayed once; that each copy is named once is counted over the plan.
    """
    given, copies = [], []
    for cut in layout.cuts:
        for name in cut.gives:
            part = None if name is None else part_of(name, parts)
            given.append((part,) if part else name)
            if name is not None and part:
                copies.append(name)
    cuts = tuple((c.step, c.piece, c.direction, c.at, c.fence, len(c.gives)) for c in layout.cuts)
    return (layout.stock, layout.parts, layout.leftovers, cuts, tuple(given)), copies


def _parts(piece: Stock, layout: Layout, parts: dict[str, Part]) -> Iterator[str]:
    if not layout.parts:
        yield "gives no part"
    for placed in layout.parts:
        part = parts.get(placed.part)
        if part is None:
            yield f"no such part '{placed.part}'"
            continue
        refusal = refusal_of(part, piece)
        if refusal:
            yield f"part '{placed.part}': {refusal}"
        extents = (placed.dx, placed.dy)
        if sorted(extents) != sorted((part.length, part.width)):
            yield f"part '{placed.part}' has the wrong size"
        elif extents not in lies_of(part, piece):
            yield f"part '{placed.part}' lies against its grain"
        if not _inside(placed, piece, (0, 0, 0, 0)):
            yield f"part '{placed.part}' reaches out of the piece"
        elif not _inside(placed, piece, piece.edge_trim):
            yield f"part '{placed.part}' lies within the edge trim"
        for x, y, dx, dy in flaws_on(piece, (placed.x, placed.y, placed.dx, placed.dy)):
            yield f"part '{placed.part}' lies on the flaw at {x}, {y} of {dx} by {dy} of it"


def _inside(box: Placement | Leftover, piece: Stock, margins: tuple[int, int, int, int]) -> bool:
    x_low, x_high, y_low, y_high = margins
    return (
        x_low <= box.x
        and y_low <= box.y
        and box.x + box.dx <= piece.length - x_high
        and box.y + box.dy <= piece.width - y_high
    )


def _leftovers(problem: Problem, piece: Stock, layout: Layout) -> Iterator[str]:
    for number, left in enumerate(layout.leftovers, 1):
        if left.dx <= 0 or left.dy <= 0:
            yield f"leftover {number} is nothing"
        elif not _inside(left, piece, (0, 0, 0, 0)):
            yield f"leftover {number} reaches out of the piece"
        elif set(left.factory) != _factory(piece, left) or len(set(left.factory)) != len(left.factory):
            yield f"leftover {number} says wrongly which of its edges still want a trim"
        own = {
            (x - left.x, y - left.y, dx, dy)
            for x, y, dx, dy in flaws_on(piece, (left.x, left.y, left.dx, left.dy))
        }
        if set(left.flaws) != own or len(left.flaws) != len(own):
            yield f"leftover {number} says wrongly which flaws it contains"
        short, long = sorted((left.dx, left.dy))
        keep = problem.worth
        if short < keep.keep_short_side or long < keep.keep_long_side or short * long < keep.keep_area:
            yield f"leftover {number} is smaller than the shop keeps"


def _factory(piece: Stock, left: Leftover) -> set[str]:
    """Return the edges of a leftover that lie in a stock edge which wants a trim."""
    x_low, x_high, y_low, y_high = piece.edge_trim
    uncut = {
        "x_low": x_low and left.x == 0,
        "x_high": x_high and left.x + left.dx == piece.length,
        "y_low": y_low and left.y == 0,
        "y_high": y_high and left.y + left.dy == piece.width,
    }
    return {name for name, is_uncut in uncut.items() if is_uncut}


def _gaps(kerf: int, layout: Layout) -> Iterator[str]:
    """Name each pair of parts and leftovers that overlap or lie nearer than a kerf (sweep along x)."""
    boxes = [(p.x, p.y, p.dx, p.dy, f"part '{p.part}'") for p in layout.parts]
    boxes += [(f.x, f.y, f.dx, f.dy, f"leftover {n}") for n, f in enumerate(layout.leftovers, 1)]
    boxes.sort()
    for i, (x, y, dx, dy, name) in enumerate(boxes):
        for ox, oy, odx, ody, other in boxes[i + 1 :]:
            if ox >= x + dx + kerf:
                break
            gap = max(ox - x - dx, x - ox - odx, oy - y - dy, y - oy - ody)
            if gap < 0:
                yield f"{name} and {other} overlap"
            elif gap < kerf:
                yield f"{name} and {other} are nearer than the kerf"


def _uncut(layout: Layout) -> Iterator[str]:
    if layout.cuts:
        yield "a routed piece has saw cuts"


def _demand(problem: Problem, plan: Plan) -> Iterator[str]:
    """Parts cut and parts left out add up to the parts wanted."""
    cut = Counter(p.part for layout in plan.layouts for p in layout.parts)
    missing: Counter[str] = Counter()
    known = {p.id for p in problem.parts}
    for left_out in plan.unplaced:
        missing[left_out.part] += left_out.count
        if left_out.part not in known:
            yield f"unplaced: no such part '{left_out.part}'"
        if left_out.count <= 0 or not left_out.reason.strip():
            yield f"unplaced: '{left_out.part}' needs a count and a reason"
    for part in problem.parts:
        found = cut[part.id] + missing[part.id]
        if found != part.count:
            cut_and_not = f"{cut[part.id]} cut and {missing[part.id]} unplaced"
            yield f"part '{part.id}': {part.count} wanted, but {cut_and_not}"


def _supply(problem: Problem, plan: Plan) -> Iterator[str]:
    used = Counter(layout.stock for layout in plan.layouts)
    for piece in problem.stock:
        if piece.count is not None and used[piece.id] > piece.count:
            yield f"stock '{piece.id}': {used[piece.id]} used, {piece.count} there"


def _claims(problem: Problem, plan: Plan) -> Iterator[str]:
    """Status and bound say no more than the plan shows."""
    stock = {s.id: s for s in problem.stock}
    used = [stock[layout.stock] for layout in plan.layouts if layout.stock in stock]
    money = sum(s.cost for s in used if s.kind == "full")
    area = sum(s.length * s.width for s in used)
    if plan.status not in ("proven", "feasible", "short"):
        yield f"status '{plan.status}' is none of proven, feasible, short"
    if (plan.status == "short") != bool(plan.unplaced):
        yield f"status '{plan.status}' does not go with {len(plan.unplaced)} unplaced parts"
    if plan.bound.full_cost < 0 or plan.bound.stock_area < 0:
        yield "the bound is less than nothing"
    if plan.status == "proven" and plan.bound.full_cost != money:
        yield f"proven, but the bound on money is {plan.bound.full_cost} and the plan costs {money}"
    if plan.status != "short" and plan.bound.full_cost > money:
        yield f"the bound on money, {plan.bound.full_cost}, is above the plan's {money}"
    if plan.status != "short" and plan.bound.stock_area > area:
        yield f"the bound on stock area, {plan.bound.stock_area}, is above the plan's {area}"
