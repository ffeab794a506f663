"""The last hand on a plan: part copies named, cuts and cards in an order that moves the fence seldom."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from stockyard.planning.cuts import Bench, Sawyer, layout
from stockyard.planning.plan import Bound, Layout, Plan, Status, Unplaced
from stockyard.planning.problem import Problem
from stockyard.planning.tree import Axis, Pattern

Saw = dict[Axis, int]
"""What is set on the saw now: the rip fence and the crosscut stop."""


def finish(
    problem: Problem,
    patterns: Sequence[Pattern],
    *,
    bound: Bound,
    status: Status,
    unplaced: Sequence[Unplaced] = (),
) -> Plan:
    """Return the plan that cuts `patterns`, one physical piece each."""
    sawyer = Sawyer(problem)
    copies: Counter[str] = Counter()
    saw: Saw = {}
    layouts = []
    for pattern in patterns:
        bench = sawyer.bench(pattern)
        order = sequence(bench, saw)
        layouts.append(layout(problem, problem.stock[pattern.stock].id, bench, order, copies))
    return Plan(status=status, bound=bound, layouts=tuple(layouts), unplaced=tuple(unplaced))


def sequence(bench: Bench, saw: Saw) -> list[Bench]:
    """Return the cuts of one piece in order: what the saw is set to first, then the biggest piece.

    `saw` is left as the last cut leaves it.
    """
    order: list[Bench] = []
    waiting = [bench] if bench.axis is not None else []
    last: Axis | None = None
    while waiting:
        b = min(
            waiting,
            key=lambda w: (
                w.axis is None or saw.get(w.axis) != w.fence,
                w.axis is not last,
                -w.dx * w.dy,
                -w.fence,
            ),
        )
        waiting.remove(b)
        order.append(b)
        assert b.axis is not None
        saw[b.axis] = b.fence
        last = b.axis
        waiting += [s for s in b.sides if s is not None and s.axis is not None]
    return order


def fence_moves(layouts: Sequence[Layout]) -> int:
    """Return how often fence or stop is set when the layouts are cut one after the other."""
    saw: Saw = {}
    moves = 0
    for lay in layouts:
        for cut in lay.cuts:
            moves += saw.get(cut.direction) != cut.fence
            saw[cut.direction] = cut.fence
    return moves
