"""The ordered aim: what makes one plan better than another. Smaller is better, level by level."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

from stockyard.planning.plan import Plan
from stockyard.planning.problem import Kind, Problem


class Score(NamedTuple):
    """A plan's figures in the order in which they decide.

    missing: parts not placed, by priority from the highest; money: for full pieces drawn, then for
    those that must be bought; net: stock used + price per pull - worth of leftovers (ticks²);
    handling: pieces pulled + pieces moved to reach them; settings: distinct fence settings; cuts.
    """

    missing: tuple[int, ...]
    money: int
    bought: int
    net: int
    handling: int
    settings: int
    cuts: int


def score(problem: Problem, plan: Plan) -> Score:
    """Return the figures of `plan`, all recomputed from the plan itself."""
    stock = {s.id: s for s in problem.stock}
    priority = {p.id: p.priority for p in problem.parts}
    levels = sorted(set(priority.values()), reverse=True)
    missing: Counter[int] = Counter()
    for u in plan.unplaced:
        missing[priority[u.part]] += u.count
    money = bought = area = worth = handling = cuts = 0
    fences: set[tuple[str, int]] = set()
    for layout in plan.layouts:
        piece = stock[layout.stock]
        if piece.kind is Kind.FULL:
            money += piece.cost
            bought += piece.cost if piece.count is None else 0
        area += piece.area + problem.effort.pull
        worth += sum(problem.worth.of(left.dx, left.dy) for left in layout.leftovers)
        handling += 1 + piece.dig
        cuts += len(layout.cuts)
        fences.update((c.direction, c.fence) for c in layout.cuts)
    return Score(
        tuple(missing[level] for level in levels),
        money,
        bought,
        area - worth,
        handling,
        len(fences),
        cuts,
    )
