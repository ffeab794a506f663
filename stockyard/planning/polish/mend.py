"""A few layouts of a plan taken apart and their parts cut anew: one step of a local search over plans."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from random import Random

from stockyard.planning.polish.strips import Stripper, fullest
from stockyard.planning.problem import Problem
from stockyard.planning.tree import Pattern

# How many layouts one step takes apart; tries at the layout of a piece; and the chances that a step leaves a
# piece on the rack, or fetches one more.
TAKEN, TRIES, LEAVES, FETCHES = (1, 2, 2, 2, 3, 3), 4, 0.35, 0.3


def mended(
    problem: Problem, stripper: Stripper, rng: Random, plan: Sequence[Pattern]
) -> list[Pattern] | None:
    """Return the plan with some layouts made anew in strips; None when their parts found no room.

    It may use other pieces of the stock: what they cost is for the caller to judge.
    """
    first = rng.randrange(len(plan))
    kinds = [_kind(problem, p.stock) for p in plan]
    kin = [n for n, kind in enumerate(kinds) if n != first and kind == kinds[first]]
    taken = {first, *rng.sample(kin, min(len(kin), rng.choice(TAKEN) - 1))}
    left: Counter[int] = Counter()
    for n in taken:
        left.update(plan[n].parts())
    pieces = _pieces(problem, rng, plan, taken)
    made = []
    for j in pieces:
        found = fullest(stripper, problem, rng, j, left, 1 + rng.randrange(TRIES))
        if found is not None:
            made.append(found)
            left.subtract(found.parts())
    if any(left.values()):
        return None
    return [p for n, p in enumerate(plan) if n not in taken] + made


def _kind(problem: Problem, row: int) -> tuple[str, int | None]:
    stock = problem.stock[row]
    return stock.material, stock.thickness


def _pieces(problem: Problem, rng: Random, plan: Sequence[Pattern], taken: set[int]) -> list[int]:
    """Return the stock rows to cut from, in turn: those of the layouts taken apart, or some others."""
    own = [plan[n].stock for n in sorted(taken)]
    offcuts = [j for j in own if problem.stock[j].kind == "offcut"]
    if offcuts and rng.random() < LEAVES:
        own.remove(rng.choice(offcuts))
    if rng.random() < FETCHES:
        used = Counter(p.stock for p in plan)
        kind = _kind(problem, plan[min(taken)].stock)
        offcuts = [j for j, s in enumerate(problem.stock) if s.kind == "offcut"]
        free = [j for j in offcuts if _kind(problem, j) == kind and used[j] < (problem.stock[j].count or 0)]
        if free:
            own.append(rng.choice(free))
    rng.shuffle(own)
    return own
