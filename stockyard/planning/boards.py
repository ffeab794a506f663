"""One-dimensional cutting stock, with several stock lengths and limited counts, to proof where it can be had.

Column generation gives the bound (Gilmore and Gomory 1961), dives and CP-SAT over its columns the plan.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import monotonic

from stockyard.planning.bars import BarPricer, line_of
from stockyard.planning.bound import ModelBound, Prover
from stockyard.planning.choose import Figures, choose, figures, trimmed
from stockyard.planning.columns import Generation
from stockyard.planning.dive import dive, ordered_costs
from stockyard.planning.fills import by_chance, settle
from stockyard.planning.model import Candidate, Model
from stockyard.planning.problem import Method

# Deterministic seconds of CP-SAT after each dive, doubled from dive to dive.
CHOICE_WORK = 0.5
# Share of the time that the bound may take, and of what is left after it, and after a dive, for a search by
# chance.
BOUND_SHARE, FIRST_CHANCE, CHANCE = 0.5, 0.06, 0.25


@dataclass(frozen=True, slots=True)
class BoardsAnswer:
    """The best layouts found, the bound, and whether they meet at money with all parts placed."""

    candidates: tuple[Candidate, ...]
    bound: ModelBound
    proven: bool


def solve_boards(
    model: Model,
    *,
    seconds: float,
    seed: int,
    dives: int | None = None,
    tell: Callable[[ModelBound | BoardsAnswer], None] | None = None,
) -> BoardsAnswer | None:
    """Return a plan for a one-dimensional model, None when the model is not one.

    `tell` is given every better bound and plan on the way.
    `dives` limits the work so that the answer does not depend on the clock. With the money proved it
    still looks for less net material while there is time.
    """
    line = line_of(model) if model.problem.method is Method.SAW else None
    if line is None:
        return None
    deadline = monotonic() + seconds
    pricer = BarPricer(model, line)
    generation = Generation(model, pricer)
    bound = Prover(model, generation, monotonic() + seconds * BOUND_SHARE, tell=tell).bound()
    costs = ordered_costs(model)
    few, listed, n = dives is not None, True, 0
    best: tuple[Candidate, ...] = ()
    if bound.possible:
        seconds = FIRST_CHANCE * (deadline - monotonic())
        best = trimmed(
            model,
            by_chance(model, generation, pricer, bound.money, seed=seed, seconds=seconds, repeatable=few),
        )
    while monotonic() < deadline and (dives is None or n < dives):
        best = _better(model, best, dive(generation, costs, deadline, seed + n if n else 0))
        if tell:
            tell(BoardsAnswer(best, bound, _proven(figures(model, best), bound)))
        pool = [generation.pricer.candidate(c) for c in generation.master.columns]
        left = max(0.0, deadline - monotonic())
        chosen = choose(
            model, pool, best, seconds=left, seed=seed, work=CHOICE_WORK * 2**n, least_money=bound.money
        )
        best = best if chosen is None else chosen
        if tell:
            tell(BoardsAnswer(best, bound, _proven(figures(model, best), bound)))
        n += 1
        if _proven(figures(model, best), bound) and n > 1:
            break
        if not bound.possible or any(figures(model, best).missing) or _proven(figures(model, best), bound):
            continue
        left = deadline - monotonic()
        if n == 1:
            best, bound, listed = _settled(model, generation, pricer, best, bound, deadline, few)
        elif not listed:
            lucky = by_chance(
                model, generation, pricer, bound.money, seed=seed + n, seconds=CHANCE * left, repeatable=few
            )
            best = _better(model, best, trimmed(model, lucky)) if lucky else best
    return BoardsAnswer(best, bound, _proven(figures(model, best), bound))


def _settled(
    model: Model,
    generation: Generation,
    pricer: BarPricer,
    best: tuple[Candidate, ...],
    bound: ModelBound,
    deadline: float,
    repeatable: bool,
) -> tuple[tuple[Candidate, ...], ModelBound, bool]:
    """Close the gap in money between plan and bound from below, step by step, as long as verdicts come.

    Return the plan, the bound, and whether all fills could be listed.
    """
    step, listed = model.money_step, True
    while not _proven(figures(model, best), bound) and monotonic() < deadline:
        verdict = settle(
            model, generation, pricer, bound.money, seconds=deadline - monotonic(), repeatable=repeatable
        )
        listed = verdict.listed
        if verdict.candidates:
            best = _better(model, best, trimmed(model, verdict.candidates))
        if not verdict.refuted:
            break
        bound = replace(bound, money=(bound.money // step + 1) * step)
    return best, bound, listed


def _proven(found: Figures, bound: ModelBound) -> bool:
    return not any(found.missing) and found.money <= bound.money


def _better(model: Model, one: tuple[Candidate, ...], other: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    return min(one, other, key=lambda c: figures(model, c))
