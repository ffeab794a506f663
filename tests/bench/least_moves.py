"""How often fence and stop must be set at least for a job whose every finished size comes from a setting.

Each finished size needs a setting of its own, unless pieces that have it as bought can give all the parts: a
width for the rip fence, a length for the stop. A part that may lie either way needs its two figures on one of
them. So no order of work moves less often than there are such sizes; with fewer moves some size would come
off as what remains.
"""

from __future__ import annotations

from stockyard.planning.problem import Part, Problem, Stock, turns
from stockyard.planning.sawing.operations import way_of
from stockyard.planning.tree import Axis

Needs = frozenset[tuple[object, int]]
"""What must be set: rip fence or stop, and its figure."""


def least_moves(problem: Problem) -> int:
    """Return how many settings any plan of the job takes that has no size as a rest."""
    fixed: set[tuple[object, int]] = set()
    either: set[int] = set()
    for part in problem.parts:
        ways = {_needs(problem, part, s, turned=turned) for s in problem.stock for turned in turns(part, s)}
        if len(ways) == 1:
            fixed |= ways.pop()
        elif ways:
            either |= set[int].intersection(*({figure for _, figure in needs} for needs in ways))
    return len(fixed) + len(either - {figure for _, figure in fixed})


def _needs(problem: Problem, part: Part, stock: Stock, *, turned: bool) -> Needs:
    """Return what is set for a part that lies so on pieces like this one."""
    dx, dy = _extents(part, turned=turned)
    return Needs(
        (way_of(stock, axis), size)
        for axis, size in zip(Axis, (dx, dy), strict=True)
        if _as_bought(problem, part, size) < part.count
    )


def _as_bought(problem: Problem, part: Part, size: int) -> float:
    """Return how many of a part all pieces give at most that are as long or as wide as this, uncut."""
    total = 0.0
    for s in problem.stock:
        for turned in turns(part, s):
            dx, dy = _extents(part, turned=turned)
            if (dx == s.length == size and dy <= s.width) or (dy == s.width == size and dx <= s.length):
                most = max((s.width + problem.kerf) // (dy + problem.kerf), 1) * max(
                    (s.length + problem.kerf) // (dx + problem.kerf), 1
                )
                total += most * (float("inf") if s.count is None else s.count)
    return total


def _extents(part: Part, *, turned: bool) -> tuple[int, int]:
    return (part.width, part.length) if turned else (part.length, part.width)
