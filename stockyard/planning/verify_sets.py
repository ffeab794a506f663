"""The verifier's look at matched sets: what the members of each copy must be to each other, seen in the plan.

From the contract alone, as `verify.py`: one piece, side by side in order (or all turned by 180 degrees), one
kerf apart, flush, the same way up, and on a saw one panel until the cut that takes the set apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from stockyard.planning.plan import Layout, Placement, Plan
from stockyard.planning.problem import Group, Part, Problem, Stock

Rect = tuple[int, int, int, int]
"""x, y, dx, dy."""


def set_faults(problem: Problem, plan: Plan) -> Iterator[str]:
    """Yield what is wrong with the sets of a plan, each fault in one line."""
    parts = {p.id: p for p in problem.parts}
    missing: Counter[str] = Counter()
    for left_out in plan.unplaced:
        missing[left_out.part] += left_out.count
    for group in problem.groups:
        if any(m not in parts for m in group.members):
            yield f"set '{group.id}': a member is no part"
            continue
        whole = 0
        for number, layout in enumerate(plan.layouts, 1):
            copies, fault = copies_in(group, layout, problem.kerf)
            if fault:
                yield f"layout {number}: set '{group.id}': {fault}"
            whole += len(copies)
            for copy in copies:
                where = f"layout {number}: set '{group.id}'"
                yield from (f"{where}: {f}" for f in _copy_faults(copy, layout, parts, problem))
        yield from _left_out(group, missing, whole)


def copies_in(group: Group, layout: Layout, kerf: int) -> tuple[list[list[Placement]], str]:
    """Return the whole copies of a set in a layout, and what is wrong with those that are not whole."""
    across = group.run == "across"

    def key(p: Placement) -> tuple[int, int, int]:
        return (p.x, p.dx, p.y) if across else (p.y, p.dy, p.x)

    rows: list[list[Placement]] = []
    for p in sorted((p for p in layout.parts if p.part in group.members), key=key):
        if rows and key(rows[-1][-1])[:2] == key(p)[:2] and _end(rows[-1][-1], across) + kerf == key(p)[2]:
            rows[-1].append(p)
        else:
            rows.append([p])
    copies, size = [], len(group.members)
    fault = ""
    for row in rows:
        for i in range(0, len(row), size):
            names = tuple(p.part for p in row[i : i + size])
            if names in (group.members, group.members[::-1]):
                copies.append(row[i : i + size])
            else:
                fault = f"'{names[0]}' does not lie in its row, in order, flush and a kerf apart"
    return copies, fault


def _end(p: Placement, across: bool) -> int:
    return p.y + p.dy if across else p.x + p.dx


def _copy_faults(
    copy: list[Placement], layout: Layout, parts: dict[str, Part], problem: Problem
) -> Iterator[str]:
    for p in copy:
        part = parts[p.part]
        upright = (part.width, part.length) if part.grain == "across" else (part.length, part.width)
        if (p.dx, p.dy) != upright:
            yield f"'{p.part}' lies another way up than its set"
    if problem.method == "router" or len(copy) == 1:
        return
    x, y = min(p.x for p in copy), min(p.y for p in copy)
    panel = x, y, max(p.x + p.dx for p in copy) - x, max(p.y + p.dy for p in copy) - y
    others = [p for p in layout.parts if p not in copy]
    pieces = _pieces(layout, problem)
    alone = (_inside(panel, b) and not any(_inside(_rect(o), b) for o in others) for b in pieces)
    if not any(alone):
        yield "it is cut apart before it is alone on its panel"


def _rect(p: Placement) -> Rect:
    return p.x, p.y, p.dx, p.dy


def _inside(inner: Rect, outer: Rect) -> bool:
    x, y, dx, dy = inner
    ox, oy, odx, ody = outer
    return ox <= x and oy <= y and x + dx <= ox + odx and y + dy <= oy + ody


def _pieces(layout: Layout, problem: Problem) -> Iterator[Rect]:
    """Yield every rectangle that lies on the bench at some time; what cannot be sawn is told elsewhere."""
    stock = next(s for s in problem.stock if s.id == layout.stock)
    bench: dict[str, Rect] = {"stock": (0, 0, stock.length, stock.width)}
    yield bench["stock"]
    for cut in layout.cuts:
        box = bench.get(cut.piece)
        if box is None:
            continue
        x, y, dx, dy = box
        far = cut.at + problem.kerf
        low: Rect = (x, y, cut.at, dy) if cut.direction == "crosscut" else (x, y, dx, cut.at)
        high: Rect = (x + far, y, dx - far, dy) if cut.direction == "crosscut" else (x, y + far, dx, dy - far)
        for name, half in zip(cut.gives, (low, high), strict=False):
            if name is not None:
                bench[name] = half
                yield half


def _left_out(group: Group, missing: Counter[str], whole: int) -> Iterator[str]:
    out = {missing[m] / group.members.count(m) for m in group.members}
    if len(out) > 1 or out.pop() != group.count - whole:
        yield f"set '{group.id}': {whole} of {group.count} cut whole, the rest not left out in whole sets"


def comes_apart(problem: Problem, piece: Stock, group: Group) -> bool:
    """Whether the shop's saws cut a panel of this piece open into the members of a set."""
    if problem.method == "router":
        return True
    saws, (length, width) = problem.saws, panel_size(problem, group)
    parts = {p.id: p for p in problem.parts}
    rips = (group.run == "across") is not (piece.width > piece.length and not piece.grain)
    run = length if group.run == "across" else width
    for member in group.members[:-1]:
        p = parts[member]
        size = p.length if (p.grain == "across") == (group.run == "across") else p.width
        at_fence = size <= saws.rip_width and (rips or size <= run)
        if not (at_fence or cuts_freely(problem, run, size)):
            return False
    return True


def cuts_freely(problem: Problem, run: int, size: int) -> bool:
    """Whether gauge or guided saw make a cut as long as `run` that leaves `size`, whatever it is called."""
    saws = problem.saws
    at_gauge = run <= saws.stop_reach and (saws.stop_length == 0 or size <= saws.stop_length)
    return at_gauge or run <= saws.guide_length


def panel_size(problem: Problem, group: Group) -> tuple[int, int]:
    """Return length and width of the piece that one copy takes."""
    parts = {p.id: p for p in problem.parts}
    boxes = [
        (p.width, p.length) if p.grain == "across" else (p.length, p.width)
        for p in (parts[m] for m in group.members)
    ]
    blades = (len(boxes) - 1) * problem.kerf
    if group.run == "across":
        return max(dx for dx, _ in boxes), sum(dy for _, dy in boxes) + blades
    return sum(dx for dx, _ in boxes) + blades, max(dy for _, dy in boxes)
