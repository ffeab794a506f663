"""The ordered aim: what makes one plan better than another. Smaller is better, level by level."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

from stockyard.planning.path import Shapes, path_length
from stockyard.planning.plan import Layout, Plan
from stockyard.planning.problem import Kind, Method, Problem
from stockyard.planning.sawing.finish import effort_but_moves, fence_moves
from stockyard.planning.sawing.operations import studied


class Score(NamedTuple):
    """A plan's figures in the order in which they decide.

    missing: parts not placed, by priority from the highest; money: for full pieces drawn, then for
    those that must be bought; price: material, hands and saw in one (ticks² of good material).
    """

    missing: tuple[int, ...]
    money: int
    bought: int
    price: int


def score(problem: Problem, plan: Plan) -> Score:
    """Return the figures of `plan`, all recomputed from the plan itself."""
    stock = {s.id: s for s in problem.stock}
    priority = {p.id: p.priority for p in problem.parts}
    levels = sorted(set(priority.values()), reverse=True)
    missing: Counter[int] = Counter()
    for u in plan.unplaced:
        missing[priority[u.part]] += u.count
    full = [s for s in (stock[layout.stock] for layout in plan.layouts) if s.kind is Kind.FULL]
    return Score(
        tuple(missing[level] for level in levels),
        sum(s.cost for s in full),
        sum(s.cost for s in full if s.count is None),
        price(problem, plan),
    )


def path_of(problem: Problem, layout: Layout) -> int:
    """Return how long the router's path round the parts of a layout is (ticks)."""
    boxes = [(p.x, p.y, p.dx, p.dy) for p in layout.parts]
    return path_length(boxes, problem.kerf, one_pass=problem.one_pass, shapes=shapes_in(problem, layout))


def shapes_in(problem: Problem, layout: Layout) -> Shapes:
    """Return the shapes of the parts of a layout as they lie, nothing where all are rectangles."""
    if not any(p.shape for p in problem.parts):
        return ()
    parts = {p.id: p for p in problem.parts}
    return [parts[p.part].lying(p.dx, p.dy) for p in layout.parts]


def price(problem: Problem, plan: Plan) -> int:
    """Return what a plan takes: stock less the worth of leftovers, pieces fetched, work at saw or router."""
    stock = {s.id: s for s in problem.stock}
    total = problem.effort.fence * fence_moves(problem, plan)
    for layout in plan.layouts:
        piece = stock[layout.stock]
        every, left = studied(piece, layout, problem.kerf, problem.saws)
        rests = len(left) if layout.cuts else 0
        kept = sum(problem.worth.clear(o.dx, o.dy, o.flaws) for o in layout.leftovers)
        total += piece.counts(piece.area - kept)
        total += effort_but_moves(problem.effort, piece.dig, every, rests)
        if problem.method is Method.ROUTER:
            total += problem.effort.path * path_of(problem, layout)
    return total
