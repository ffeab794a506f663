"""The verifier's look at what fits: how a part may lie on a piece, and whether one left out still would.

From the contract alone, as `verify.py`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from stockyard.planning.plan import Plan
from stockyard.planning.problem import Part, Problem, Stock
from stockyard.planning.verify_batches import measure_alike, pieces_by_batch
from stockyard.planning.verify_sets import comes_apart, cuts_freely, panel_size

Rect = tuple[int, int, int, int]
"""x, y, dx, dy."""


def lies_of(part: Part, piece: Stock) -> list[tuple[int, int]]:
    """Return the extents (dx, dy) in which `part` may lie on `piece`, by its grain alone."""
    straight, turned = (part.length, part.width), (part.width, part.length)
    if not piece.grain or part.grain == "any":
        return [straight, turned]
    return [straight] if part.grain == "along" else [turned]


def refusal_of(part: Part, piece: Stock) -> str | None:
    """Return why `part` may not be cut from `piece` whatever its size, None when it may."""
    if part.materials is not None and piece.material not in part.materials:
        return f"material {piece.material} is not accepted"
    if part.thickness is not None and part.thickness != piece.thickness:
        return "thickness is not the part's"
    measures = piece.thickness if piece.measured is None else piece.measured
    if part.least_thickness is not None and measures is not None and measures < part.least_thickness:
        return "it is too thin for what the part is planed to"
    return None


def flaws_on(piece: Stock, box: Rect) -> list[Rect]:
    """Return what of a piece's flaws lies in a rectangle of it."""
    x, y, dx, dy = box
    found = []
    for fx, fy, fdx, fdy in piece.flaws:
        left, right = max(x, fx), min(x + dx, fx + fdx)
        low, high = max(y, fy), min(y + dy, fy + fdy)
        if right > left and high > low:
            found.append((left, low, right - left, high - low))
    return found


def left_out_faults(problem: Problem, plan: Plan) -> Iterator[str]:
    """Yield each part, or set, that is left out while a whole unused piece could give it."""
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
            if not spare or any(refusal_of(p, piece) for p in together):
                continue
            if group and not comes_apart(problem, piece, group):
                continue
            if not all(measure_alike(problem, [*taken.get(p.batch, []), piece]) for p in together if p.batch):
                continue
            sizes = lies_of(part, piece) if group is None else [panel_size(problem, group)]
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
        not flaws_on(piece, (x, y, dx, dy))
        for x in starts_x
        for y in starts_y
        if x + dx <= piece.length - x_high and y + dy <= piece.width - y_high
    )


def _reached(problem: Problem, piece: Stock, dx: int, dy: int) -> bool:
    """Whether the shop's saws make both sizes in one order or the other, as far as they are not there yet."""
    saws, long, wide = problem.saws, piece.length, piece.width
    if wide > long and not piece.grain:
        dx, dy, long, wide = dy, dx, wide, long

    def to_length(across: int) -> bool:
        return dx == long or cuts_freely(problem, across, dx) or (dx <= across and dx <= saws.rip_width)

    def to_width(along: int) -> bool:
        return dy == wide or cuts_freely(problem, along, dy) or dy <= saws.rip_width

    return (to_width(long) and to_length(dy)) or (to_length(wide) and to_width(dx))
