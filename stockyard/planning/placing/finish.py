"""The last hand on a routed plan: where each part lies on the real piece, and what remains of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from stockyard.planning.placing.closer import closer
from stockyard.planning.placing.remains import remains
from stockyard.planning.placing.spots import Box, clean, corner_of, is_free, spots
from stockyard.planning.plan import Bound, Layout, Leftover, Placement, Plan, Status, Unplaced
from stockyard.planning.problem import Problem, flaws_in
from stockyard.planning.sawing.aim import path_of, shapes_in
from stockyard.planning.sawing.cuts import Bench, in_order, uncut_edges
from stockyard.planning.sawing.finish import plain
from stockyard.planning.sawing.opened import opened
from stockyard.planning.tree import Pattern


def finish_routed(
    problem: Problem,
    patterns: Sequence[Pattern],
    *,
    bound: Bound,
    status: Status,
    unplaced: Sequence[Unplaced] = (),
) -> Plan:
    """Return the plan that routes `patterns`, one piece each, equal ones after each other, without cuts."""
    copies = Counter(p for p in patterns if p.parts())
    made = {p: routed_layout(problem, p) for p in copies}
    layouts = tuple(made[p] for p in copies.elements())
    return Plan(status=status, bound=bound, layouts=layouts, unplaced=tuple(unplaced))


def routed_layout(problem: Problem, pattern: Pattern) -> Layout:
    """Return one piece of a pattern, which may be a cut tree, with the worthiest remains."""
    piece = problem.stock[pattern.stock]
    if is_free(pattern.root):
        x, y = corner_of(piece)
        boxes = (
            Bench(s.x + x, s.y + y, s.length, s.width, s.part)
            for s in spots(problem, pattern)
            if s.part is not None
        )
        parts = tuple(
            Placement(problem.parts[b.part].id, b.x, b.y, b.dx, b.dy)
            for box in boxes
            for b in in_order(opened(problem, box))
            if b.part is not None
        )
        lay = Layout(stock=piece.id, parts=parts, cuts=(), leftovers=_remains(problem, pattern, parts))
        return moved_together(problem, pattern, lay)
    (sawn,) = plain(problem, [pattern]).layouts
    free = _remains(problem, pattern, sawn.parts)
    kept = tuple(f for f in sawn.leftovers if clean(piece, (f.x, f.y, f.dx, f.dy)))
    better = _worth(problem, free) > _worth(problem, kept)
    lay = Layout(stock=piece.id, parts=sawn.parts, cuts=(), leftovers=free if better else kept)
    return moved_together(problem, pattern, lay)


def moved_together(problem: Problem, pattern: Pattern, layout: Layout) -> Layout:
    """Return a layout with its parts moved together where one pass cuts two edges and that is worth it.

    A problem with sets stays as it is: their parts may not move apart.
    """
    if not (problem.one_pass and problem.effort.path) or problem.groups:
        return layout
    piece, boxes = problem.stock[pattern.stock], [(p.x, p.y, p.dx, p.dy) for p in layout.parts]

    def price(lay: Layout) -> int:
        return problem.effort_on(piece).path * path_of(problem, lay) - _worth(problem, lay.leftovers)

    best = layout
    for moved in closer(problem, piece, boxes, shapes_in(problem, layout)):
        parts = tuple(Placement(p.part, *box) for p, box in zip(layout.parts, moved, strict=True))
        found = replace(layout, parts=parts, leftovers=_remains(problem, pattern, parts))
        best = min(best, found, key=price)
    return best


def _remains(problem: Problem, pattern: Pattern, parts: Sequence[Placement]) -> tuple[Leftover, ...]:
    boxes: list[Box] = [(p.x, p.y, p.dx, p.dy) for p in parts]
    piece = problem.stock[pattern.stock]
    whole, trim = Bench(0, 0, piece.length, piece.width), piece.edge_trim
    return tuple(
        Leftover(*b, uncut_edges(whole, trim, Bench(*b)), flaws_in(piece.flaws, *b))
        for b in remains(problem, piece, boxes)
    )


def _worth(problem: Problem, leftovers: Sequence[Leftover]) -> int:
    return sum(problem.worth.clear(f.dx, f.dy, f.flaws) for f in leftovers)
