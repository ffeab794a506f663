"""An independent check of a plan: every cut replayed in whole numbers, every claim recomputed.

Shares nothing with the search but the frozen values of problem and plan: what a part may do on a
piece, where the blade goes and what remains is worked out here again, from the contract alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from stockyard.planning.plan import Cut, Layout, Leftover, Placement, Plan
from stockyard.planning.problem import Part, Problem, Stock
from stockyard.planning.verify_batches import batch_faults, measure_alike, pieces_by_batch
from stockyard.planning.verify_sets import panel_size, set_faults

Rect = tuple[int, int, int, int]
"""x, y, dx, dy."""


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
            checks.append(_Replay(problem.kerf, piece, layout, parts, names).faults())
        found += [f"{where}: {fault}" for check in checks for fault in check]
        if len(found) == before:
            whole.add(alike)
    found += [f"the copy '{name}' is named {n} times" for name, n in names.items() if n > 1]
    found += _demand(problem, plan)
    found += _supply(problem, plan)
    found += _claims(problem, plan)
    found += _left_out(problem, plan)
    if all(layout.stock in stock for layout in plan.layouts):
        found += set_faults(problem, plan)
        found += batch_faults(problem, plan)
    found += _work(plan)
    return tuple(found)


def _unnumbered(layout: Layout, parts: dict[str, Part]) -> tuple[object, list[str]]:
    """Return all that a layout says, without the numbers of its copies; and the names that have one.

    Layouts that say the same are replayed once; that each copy is named once is counted over the plan.
    """
    given, copies = [], []
    for cut in layout.cuts:
        for name in cut.gives:
            part = None if name is None else _part_of(name, parts)
            given.append((part,) if part else name)
            if name is not None and part:
                copies.append(name)
    cuts = tuple((c.step, c.piece, c.direction, c.at, c.fence, len(c.gives)) for c in layout.cuts)
    return (layout.stock, layout.parts, layout.leftovers, cuts, tuple(given)), copies


def _part_of(name: str, parts: dict[str, Part]) -> str | None:
    """Return the part of which `name` is a copy ('side 2'), None when it is none."""
    part, _, copy = name.rpartition(" ")
    known = parts.get(part)
    return part if known and copy.isdecimal() and 1 <= int(copy) <= known.count else None


def _lies(part: Part, piece: Stock) -> list[tuple[int, int]]:
    """Return the extents (dx, dy) in which `part` may lie on `piece`, by its grain alone."""
    straight, turned = (part.length, part.width), (part.width, part.length)
    if not piece.grain or part.grain == "any":
        return [straight, turned]
    return [straight] if part.grain == "along" else [turned]


def _accepts(part: Part, piece: Stock) -> str | None:
    """Return why `part` may not be cut from `piece` whatever its size, None when it may."""
    if part.materials is not None and piece.material not in part.materials:
        return f"material {piece.material} is not accepted"
    if part.thickness is not None and part.thickness != piece.thickness:
        return "thickness is not the part's"
    measures = piece.thickness if piece.measured is None else piece.measured
    if part.least_thickness is not None and measures is not None and measures < part.least_thickness:
        return "it is too thin for what the part is planed to"
    return None


def _parts(piece: Stock, layout: Layout, parts: dict[str, Part]) -> Iterator[str]:
    if not layout.parts:
        yield "gives no part"
    for placed in layout.parts:
        part = parts.get(placed.part)
        if part is None:
            yield f"no such part '{placed.part}'"
            continue
        refusal = _accepts(part, piece)
        if refusal:
            yield f"part '{placed.part}': {refusal}"
        extents = (placed.dx, placed.dy)
        if sorted(extents) != sorted((part.length, part.width)):
            yield f"part '{placed.part}' has the wrong size"
        elif extents not in _lies(part, piece):
            yield f"part '{placed.part}' lies against its grain"
        if not _inside(placed, piece, (0, 0, 0, 0)):
            yield f"part '{placed.part}' reaches out of the piece"
        elif not _inside(placed, piece, piece.edge_trim):
            yield f"part '{placed.part}' lies within the edge trim"
        for x, y, dx, dy in _bad(piece, (placed.x, placed.y, placed.dx, placed.dy)):
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
            for x, y, dx, dy in _bad(piece, (left.x, left.y, left.dx, left.dy))
        }
        if set(left.flaws) != own or len(left.flaws) != len(own):
            yield f"leftover {number} says wrongly which flaws it contains"
        short, long = sorted((left.dx, left.dy))
        keep = problem.worth
        if short < keep.keep_short_side or long < keep.keep_long_side or short * long < keep.keep_area:
            yield f"leftover {number} is smaller than the shop keeps"


def _bad(piece: Stock, box: Rect) -> list[Rect]:
    """Return what of a piece's flaws lies in a rectangle of it."""
    x, y, dx, dy = box
    found = []
    for fx, fy, fdx, fdy in piece.flaws:
        left, right = max(x, fx), min(x + dx, fx + fdx)
        low, high = max(y, fy), min(y + dy, fy + fdy)
        if right > left and high > low:
            found.append((left, low, right - left, high - low))
    return found


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


class _Replay:
    """Cuts one layout as its steps say and compares the bench with what the layout lists."""

    def __init__(
        self, kerf: int, piece: Stock, layout: Layout, parts: dict[str, Part], names: Counter[str]
    ) -> None:
        self._kerf = kerf
        self._layout = layout
        self._parts = parts
        self._names = names
        self._bench: dict[str, Rect] = {"stock": (0, 0, piece.length, piece.width)}
        self._given = {"stock"}

    def faults(self) -> list[str]:
        found: list[str] = []
        for number, cut in enumerate(self._layout.cuts, 1):
            if cut.step != number:
                found.append(f"step {cut.step} stands where step {number} belongs")
            found += [f"step {number}: {fault}" for fault in self._saw(cut)]
        return found + list(self._compare())

    def _saw(self, cut: Cut) -> Iterator[str]:
        box = self._bench.pop(cut.piece, None)
        if box is None:
            known = cut.piece in self._given
            yield f"'{cut.piece}' is cut already" if known else f"there is no piece '{cut.piece}'"
            return
        if cut.direction not in ("crosscut", "rip"):
            yield f"'{cut.direction}' is no direction"
            return
        if cut.piece != "stock" and (cut.piece in self._parts or _part_of(cut.piece, self._parts)):
            yield f"'{cut.piece}' is cut on but has the name of a part"
        x, y, dx, dy = box
        crosscut = cut.direction == "crosscut"
        size = dx if crosscut else dy
        if not -self._kerf < cut.at < size:
            yield f"the blade misses '{cut.piece}'"
        low, high, far = cut.at, size - cut.at - self._kerf, cut.at + self._kerf
        if cut.fence not in (low, high) or cut.fence <= 0:
            yield "the fence is set to the size of neither side"
        if len(cut.gives) != 2:
            yield "gives must name two sides"
            return
        yield from self._lay(cut.gives[0], (x, y, low, dy) if crosscut else (x, y, dx, low))
        yield from self._lay(cut.gives[1], (x + far, y, high, dy) if crosscut else (x, y + far, dx, high))

    def _lay(self, name: str | None, half: Rect) -> Iterator[str]:
        if name is None:
            return
        if name in self._given:
            yield f"the name '{name}' is used twice"
        elif half[2] <= 0 or half[3] <= 0:
            yield f"'{name}' is given but nothing is left on that side"
        else:
            self._given.add(name)
            self._bench[name] = half

    def _compare(self) -> Iterator[str]:
        """Every rectangle on the bench is one listed part or leftover, and the other way round."""
        parts = {(p.x, p.y, p.dx, p.dy): p.part for p in self._layout.parts}
        kept = {(f.x, f.y, f.dx, f.dy) for f in self._layout.leftovers}
        for name, box in self._bench.items():
            if box in parts:
                yield from self._copy(name, parts.pop(box))
            elif box in kept:
                kept.discard(box)
                if _part_of(name, self._parts):
                    yield f"the leftover '{name}' has the name of a part"
            else:
                yield f"'{name}' lies on the bench but is neither part nor leftover"
        for part in parts.values():
            yield f"part '{part}' does not lie on the bench after the last cut"
        if kept:
            yield f"{len(kept)} listed leftovers do not lie on the bench after the last cut"

    def _copy(self, name: str, part: str) -> Iterator[str]:
        """A part on the bench is called after itself; a piece that is a part uncut keeps its own name."""
        if name == "stock":
            return
        if _part_of(name, self._parts) != part:
            yield f"a part '{part}' is called '{name}'"
        self._names[name] += 1


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


def _left_out(problem: Problem, plan: Plan) -> Iterator[str]:
    """A part, or a set, is not left out while a whole unused piece could give it."""
    used = Counter(layout.stock for layout in plan.layouts)
    parts = {p.id: p for p in problem.parts}
    taken = pieces_by_batch(problem, plan)
    group_of = {m: group for group in problem.groups for m in group.members}
    for left_out in plan.unplaced:
        part = parts.get(left_out.part)
        if part is None:
            continue
        for piece in problem.stock:
            spare = piece.count is None or used[piece.id] < piece.count
            group = group_of.get(part.id)
            together = [parts[m] for m in group.members if m in parts] if group else [part]
            if not spare or any(_accepts(p, piece) for p in together):
                continue
            if not all(measure_alike(problem, [*taken.get(p.batch, []), piece]) for p in together if p.batch):
                continue
            sizes = _lies(part, piece) if group is None else [panel_size(problem, group)]
            if _goes_on(problem, sizes, piece):
                yield f"unplaced: '{part.id}' could still be cut from '{piece.id}'"
                break


def _goes_on(problem: Problem, sizes: list[tuple[int, int]], piece: Stock) -> bool:
    x_low, x_high, y_low, y_high = piece.edge_trim
    length, width = piece.length - x_low - x_high, piece.width - y_low - y_high
    return any(
        dx <= length
        and dy <= width
        and (problem.method == "router" or _reached(problem, piece, dx, dy))
        and _is_free(piece, dx, dy)
        for dx, dy in sizes
    )


def _is_free(piece: Stock, dx: int, dy: int) -> bool:
    """Whether a part has a place on an uncut piece: if it has one at all, then one pushed low both ways."""
    x_low, x_high, y_low, y_high = piece.edge_trim
    starts_x = [x_low] + [x + w for x, _, w, _ in piece.flaws if x + w >= x_low]
    starts_y = [y_low] + [y + h for _, y, _, h in piece.flaws if y + h >= y_low]
    return any(
        not _bad(piece, (x, y, dx, dy))
        for x in starts_x
        for y in starts_y
        if x + dx <= piece.length - x_high and y + dy <= piece.width - y_high
    )


def _reached(problem: Problem, piece: Stock, dx: int, dy: int) -> bool:
    """Whether stop, fence or guided saw make both sizes, as far as the piece does not have them already."""
    saws = problem.saws
    at_stop = dx <= saws.stop_length and dy <= saws.stop_reach
    across = at_stop or dy <= saws.guide_length or dx <= min(dy, saws.rip_width) or dx == piece.length
    return across and (dy <= saws.rip_width or dx <= saws.guide_length or dy == piece.width)


def _work(plan: Plan) -> Iterator[str]:
    """The order of sawing has every cut once, each after the cut that made its piece.

    A plan without one is cut layout after layout, in the order of the steps.
    """
    if not plan.work:
        return
    cuts = {(number, cut.step): cut for number, lay in enumerate(plan.layouts, 1) for cut in lay.cuts}
    sawn: set[tuple[int, int]] = set()
    there = {(number, "stock") for number in range(1, len(plan.layouts) + 1)}
    for turn in plan.work:
        where = f"work: layout {turn.layout}, step {turn.step}"
        cut = cuts.get((turn.layout, turn.step))
        if cut is None or (turn.layout, turn.step) in sawn:
            yield f"{where}: " + ("there is no such cut" if cut is None else "is sawn twice")
            continue
        sawn.add((turn.layout, turn.step))
        if (turn.layout, cut.piece) not in there:
            yield f"{where}: '{cut.piece}' is not there yet"
        there.update((turn.layout, name) for name in cut.gives if name is not None)
    for number, step in sorted(cuts.keys() - sawn):
        yield f"work: layout {number}, step {step}: is never sawn"
