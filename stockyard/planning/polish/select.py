"""Which layouts to saw: CP-SAT under one price for material, hands and saw, each setting paid once.

Settings are shared by the layouts that use them, so the choice gathers layouts that are cut at few figures.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockyard.planning.problem import Problem
from stockyard.planning.sawing.finish import Sawn
from stockyard.planning.solvers import constraint_solver

# Prices are coarsened to this many steps of the dearest, so that sums stay small.
_STEPS = 1 << 30


@dataclass(frozen=True, slots=True)
class Limits:
    """What the choice must keep to: parts placed, money for full pieces, money for those bought."""

    placed: Mapping[int, int]
    money: int
    bought: int


def choose(
    problem: Problem,
    pool: Sequence[Sawn],
    gives: Sequence[Mapping[int, int]],
    start: Sequence[int],
    limits: Limits,
    *,
    seconds: float,
    work: float | None,
    seed: int,
) -> list[int] | None:
    """Return how often each layout of the pool is sawn; `start` is such a choice. None: nothing found."""
    from ortools.sat.python import cp_model

    cp = cp_model.CpModel()
    stock = [problem.stock[s.pattern.stock] for s in pool]
    most = []
    for s, give in zip(stock, gives, strict=True):
        times = max(-(-limits.placed[i] // n) for i, n in give.items() if n) if give else 0
        most.append(times if s.count is None else min(times, s.count))
    x = [cp.new_int_var(0, n, "") for n in most]
    for part, n in limits.placed.items():
        cp.add(sum(g[part] * v for g, v in zip(gives, x, strict=True) if g.get(part)) >= n)
    rows: dict[int, list[int]] = {}
    for n, piece in enumerate(pool):
        rows.setdefault(piece.pattern.stock, []).append(n)
    for row, own in rows.items():
        count = problem.stock[row].count
        if count is not None:
            cp.add(sum(x[n] for n in own) <= count)
    cost = [s.cost if s.kind == "full" else 0 for s in stock]
    if any(cost):
        cp.add(sum(c * v for c, v in zip(cost, x, strict=True)) <= limits.money)
        bought = [c if s.count is None else 0 for c, s in zip(cost, stock, strict=True)]
        if any(bought):
            cp.add(sum(c * v for c, v in zip(bought, x, strict=True)) <= limits.bought)
    users: dict[object, list[int]] = {}
    for n, piece in enumerate(pool):
        for setting in sorted(piece.settings, key=repr):  # a set's order differs from process to process
            users.setdefault(setting, []).append(n)
    step = max(1, max([*(abs(s.price) for s in pool), problem.effort.fence]) // _STEPS)
    terms = [(s.price // step) * v for s, v in zip(pool, x, strict=True)]
    is_set = []
    for own in users.values():
        flag = cp.new_bool_var("")
        is_set.append((flag, own))
        for n in own:
            if most[n]:
                cp.add(x[n] <= most[n] * flag)
    terms += [(problem.effort.fence // step) * flag for flag, _ in is_set]
    cp.minimize(sum(terms))
    for v, n in zip(x, start, strict=True):
        cp.add_hint(v, n)
    for flag, own in is_set:
        cp.add_hint(flag, any(start[n] for n in own))
    solver = constraint_solver(1)
    solver.parameters.random_seed = seed
    solver.parameters.max_time_in_seconds = seconds
    if work is not None:
        solver.parameters.max_deterministic_time = work
    solver.parameters.linearization_level = 2
    if solver.solve(cp) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return [solver.value(v) for v in x]


def surplus(gives: Sequence[Mapping[int, int]], placed: Mapping[int, int]) -> Counter[int]:
    """Return what a choice of layouts gives beyond what is wanted."""
    total: Counter[int] = Counter()
    for give in gives:
        total.update(give)
    total.subtract(placed)
    return +total
