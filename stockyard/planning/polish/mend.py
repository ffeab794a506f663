"""A few layouts of a plan taken apart and their parts cut anew: one step of a local search over plans."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from random import Random

from stockyard.planning.polish.strips import Stripper, fullest
from stockyard.planning.problem import Problem
from stockyard.planning.tree import Pattern
from stockyard.saws import Setting

# How many layouts one step takes apart, and how many more pieces it fetches; tries at the layout of a piece;
# and the chance that a step leaves a piece on the rack.
TAKEN, FETCHED, TRIES, LEAVES = (1, 2, 2, 2, 3, 3), (0, 0, 0, 0, 1, 1, 2, 3), 4, 0.35
# The share of steps that take apart all layouts with one setting, where so many have it at most.
UNSET, USERS = 0.35, 4

Settings = Callable[[Pattern], frozenset[Setting]]
"""What is set for a layout."""


def mended(
    problem: Problem, stripper: Stripper, rng: Random, plan: Sequence[Pattern], settings: Settings
) -> list[Pattern] | None:
    """Return the plan with some layouts made anew in strips; None when their parts found no room.

    It may use other pieces of the stock: what they cost is for the caller to judge.
    """
    taken = _taken(problem, rng, plan, settings)
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


def _taken(problem: Problem, rng: Random, plan: Sequence[Pattern], settings: Settings) -> set[int]:
    """Return which layouts are taken apart: some of one material, or all that share a setting."""
    first = rng.randrange(len(plan))
    kinds = [_kind(problem, p.stock) for p in plan]
    own = settings(plan[first])
    if own and rng.random() < UNSET:
        setting = rng.choice(sorted(own, key=repr))
        users = [n for n, p in enumerate(plan) if kinds[n] == kinds[first] and setting in settings(p)]
        if len(users) <= USERS:
            return set(users)
    kin = [n for n, kind in enumerate(kinds) if n != first and kind == kinds[first]]
    return {first, *rng.sample(kin, min(len(kin), rng.choice(TAKEN) - 1))}


def _kind(problem: Problem, row: int) -> tuple[str, int | None]:
    stock = problem.stock[row]
    return stock.material, stock.thickness


def _pieces(problem: Problem, rng: Random, plan: Sequence[Pattern], taken: set[int]) -> list[int]:
    """Return the stock rows to cut from, in turn: those of the layouts taken apart, or some others."""
    own = [plan[n].stock for n in sorted(taken)]
    offcuts = [j for j in own if problem.stock[j].kind == "offcut"]
    if offcuts and rng.random() < LEAVES:
        own.remove(rng.choice(offcuts))
    more = rng.choice(FETCHED)
    if more:
        used = Counter(p.stock for p in plan)
        kind = _kind(problem, plan[min(taken)].stock)
        offcuts = [j for j, s in enumerate(problem.stock) if s.kind == "offcut"]
        free = [j for j in offcuts if _kind(problem, j) == kind and used[j] < (problem.stock[j].count or 0)]
        own += rng.sample(free, min(more, len(free)))
    rng.shuffle(own)
    return own
