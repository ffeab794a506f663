"""One cut in piece counts asked alone: as much as the linear programme says (GLOP), rounded up."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, gcd, inf
from random import Random

import pytest
from ortools.linear_solver import pywraplp

from stockyard.planning.bounds import piececuts
from stockyard.planning.bounds.piececuts import PieceCut, least, least_alone
from stockyard.planning.model import Model
from tests.planning.jobs import rack


def by_glop(model: Model, cut: PieceCut, costs: list[int], money: int | None) -> float:
    """Return the least cost of piece counts, not whole, that obey a cut; infinity when none do."""
    solver = pywraplp.Solver.CreateSolver("GLOP")
    counts = [
        solver.NumVar(0, solver.infinity() if s.count < 0 else s.count, "")
        if money is None or s.money <= money
        else solver.NumVar(0, 0, "")
        for s in model.stock
    ]
    solver.Add(sum(h * n for h, n in zip(cut.holds, counts, strict=True)) >= cut.need)
    solver.Minimize(sum(c * n for c, n in zip(costs, counts, strict=True)))
    return solver.Objective().Value() if solver.Solve() == pywraplp.Solver.OPTIMAL else inf


@pytest.mark.parametrize("seed", range(30))
def test_a_cut_alone_says_what_the_linear_programme_says(seed: int) -> None:
    random = Random(seed)
    model = rack(seed, 12)
    if seed % 3 == 0:
        model = rack_without_sheets(model)
    costs = [random.randint(1, 500) for _ in model.stock]
    cut = PieceCut(random.randint(1, 4000), tuple(random.randint(0, 400) for _ in model.stock))
    for money in (None, 0):
        found, right = least_alone(model, cut, costs, money), by_glop(model, cut, costs, money)
        assert found == right == inf or found == ceil(right - 1e-6), (found, right)


def rack_without_sheets(model: Model) -> Model:
    """Return a model of its offcuts alone."""
    kept = [j for j, s in enumerate(model.stock) if s.count >= 0]
    parts = tuple(replace(p, lies=tuple(p.lies[j] for j in kept)) for p in model.parts)
    return replace(model, stock=tuple(model.stock[j] for j in kept), parts=parts)


def test_with_many_rows_no_more_is_said_than_with_few(monkeypatch: pytest.MonkeyPatch) -> None:
    more = 0
    for seed in range(12):
        random, model = Random(seed), rack(seed, 12)
        costs = [s.money or 0 for s in model.stock]
        cuts = [
            PieceCut(random.randint(400, 9000), tuple(random.randint(50, 400) for _ in model.stock))
            for _ in range(3)
        ]
        whole = least(model, cuts, costs)
        with monkeypatch.context() as patch:
            patch.setattr(piececuts, "MANY_ROWS", 0)
            alone = least(model, cuts, costs)
        assert alone <= whole and alone % (gcd(*costs) or 1) == 0
        more += alone > 0
    assert more > 3
