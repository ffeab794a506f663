"""The last hand on a plan: pieces in the order of work, part copies named, cuts numbered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from stockyard.planning.plan import Bound, Layout, Plan, Status, Turn, Unplaced
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.cuts import TRIM_MOST, Sawyer, layout
from stockyard.planning.sawing.fences import Work, best_ways, in_order_of_work, moves, one_piece, works
from stockyard.planning.tree import Axis, Pattern

# Beyond this many different pieces a job is cut in the planner's order.
_MOST_ORDERED = 60


def finish(
    problem: Problem,
    patterns: Sequence[Pattern],
    *,
    bound: Bound,
    status: Status,
    unplaced: Sequence[Unplaced] = (),
) -> Plan:
    """Return the plan that cuts `patterns`, one physical piece each, with few fence moves over the job.

    Equal patterns follow each other; one that gives no part is left on the rack.
    """
    sawyer = Sawyer(problem)
    copies = Counter(p for p in patterns if p.parts())
    if len(copies) <= _MOST_ORDERED:
        work = _ordered(sawyer, copies)
    else:
        natural = {p: one_piece(sawyer.bench(p), {}) for p in copies}
        work = [(p, natural[p]) for p in copies.elements()]
    layouts = _layouts(problem, work)
    turns = tuple(Turn(n, cut.step) for n, lay in enumerate(layouts, 1) for cut in lay.cuts)
    return Plan(status=status, bound=bound, layouts=layouts, unplaced=tuple(unplaced), work=turns)


def _ordered(sawyer: Sawyer, copies: Counter[Pattern]) -> list[tuple[Pattern, Work]]:
    patterns = list(copies)
    ways = {p: works(sawyer, p) for p in patterns}
    runs = {p: [w.run for w in ways[p]] for p in patterns}
    order = in_order_of_work([runs[p] for p in patterns])
    queue = [patterns[i] for i in order for _ in range(copies[patterns[i]])]
    _, picked = best_ways([runs[p] for p in queue])
    return [(p, ways[p][way]) for p, way in zip(queue, picked, strict=True)]


def plain(problem: Problem, patterns: Sequence[Pattern]) -> tuple[Layout, ...]:
    """Return the planner's own trees cut in its own order, each piece by itself: the measure of `finish`."""
    sawyer = Sawyer(problem, tidied=False)
    return _layouts(problem, [(p, one_piece(sawyer.bench(p), {})) for p in patterns])


def _layouts(problem: Problem, work: Sequence[tuple[Pattern, Work]]) -> tuple[Layout, ...]:
    copies: Counter[str] = Counter()
    return tuple(layout(problem, problem.stock[p.stock], w.bench, w.order, copies) for p, w in work)


def fence_moves(layouts: Sequence[Layout]) -> int:
    """Return how often fence or stop is set when the layouts are cut one after the other."""
    settings = []
    for lay in layouts:
        clean = trims(lay)
        settings += [(c.direction, c.fence) for c in lay.cuts if c.step not in clean]
    return moves(settings, {})


def trims(layout: Layout) -> frozenset[int]:
    """Return the steps that only clean a low edge: how much they take decides no part's size."""
    cuts = {cut.piece: cut for cut in layout.cuts}
    parts = {placed.part for placed in layout.parts}

    def sizes(name: str | None, axis: Axis) -> bool:
        if name is None:
            return False
        if name not in cuts:
            return name.rpartition(" ")[0] in parts
        return cuts[name].direction is not axis and any(sizes(given, axis) for given in cuts[name].gives)

    return frozenset(
        cut.step
        for cut in layout.cuts
        if cut.gives[0] is None
        and cut.gives[1] is not None
        and cut.at <= TRIM_MOST
        and not sizes(cut.gives[1], cut.direction)
    )
