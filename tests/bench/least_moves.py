"""How often fence and stop must be set at least for a job whose every finished size comes from a setting.

Each finished size that no piece has as bought needs a setting of its own: a width for the rip fence, a length
for the stop. A part that may lie either way needs its two figures on one of them. So no order of work moves
less often than there are such sizes; with fewer moves some size would come off as what remains.
"""

from __future__ import annotations

from stockyard.planning.problem import Part, Problem, turns
from stockyard.planning.sawing.operations import way_of
from stockyard.planning.tree import Axis


def least_moves(problem: Problem) -> int:
    """Return how many settings any plan of the job takes that has no size as a rest."""
    fixed: set[tuple[object, int]] = set()
    either: set[int] = set()
    for part in problem.parts:
        needs = _needs(problem, part)
        if len(needs) == 1:
            fixed |= needs.pop()
        elif needs:
            either |= {figure for _, figure in frozenset[tuple[object, int]]().union(*needs)}
    return len(fixed) + len(either - {figure for _, figure in fixed})


def _needs(problem: Problem, part: Part) -> set[frozenset[tuple[object, int]]]:
    """Return what is set for a part, for each way in which it may lie on some piece."""
    lies = [(s, turned) for s in problem.stock for turned in turns(part, s)]
    bought = {
        (way_of(s, axis), size) for s, _ in lies for axis, size in zip(Axis, (s.length, s.width), strict=True)
    }
    found = set()
    for stock, turned in lies:
        dx, dy = (part.width, part.length) if turned else (part.length, part.width)
        wanted = {(way_of(stock, Axis.CROSSCUT), dx), (way_of(stock, Axis.RIP), dy)}
        found.add(frozenset[tuple[object, int]](wanted - bought))
    return found
