"""Bounds by column generation and plans by diving, against published optima and planted plans."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from stockyard.planning.bounds.bound import bound_of, plan_bound
from stockyard.planning.bounds.columns import Generation
from stockyard.planning.bounds.dive import dive, ordered_costs
from stockyard.planning.choosing.choose import figures
from stockyard.planning.model import shares
from stockyard.planning.problem import MONEY, Method
from stockyard.planning.tables.pricing import Pricer
from tests.planning.jobs import assert_true, published, rack, sheets
from tests.planning.trees import job

FURNITURE = [c for c in published("macedo_furniture.json") if c.get("sheets")]


@pytest.mark.parametrize("case", FURNITURE, ids=lambda c: c["name"])
def test_furniture_orders(case: dict) -> None:
    """Macedo et al. 2010: the bound is no higher than the proven optimum, and a dive's plan no lower."""
    model = sheets(*case["stock"], case["items"])
    found = bound_of(model, seconds=30)
    assert found.money <= case["sheets"] * MONEY
    assert found.exact and found.possible
    if found.start:
        assert_true(model, found.start)
        assert figures(model, found.start).money >= case["sheets"] * MONEY
        assert found.money == case["sheets"] * MONEY


@pytest.mark.parametrize("seed", range(6))
def test_bounds_hold_for_known_plans(seed: int) -> None:
    """Invented jobs with kerf, trims, grain and mixed stock of which a plan is known."""
    problem, patterns = job(seed)
    money = area = 0
    for p in patterns:
        piece = problem.stock[p.stock]
        money += piece.cost if piece.kind == "full" else 0
        area += piece.area
    bounds = [bound_of(m, seconds=20, work=15) for m in shares(problem)]
    assert all(b.possible for b in bounds)
    assert sum(b.money for b in bounds) <= money
    assert sum(b.area for b in bounds) <= area
    net = area + problem.effort.pull * len(patterns)
    assert sum(b.net for b in bounds) <= net
    assert all(b.area <= b.area_at_money and b.bought <= b.money for b in bounds)
    router = [bound_of(m, seconds=5) for m in shares(replace(problem, method=Method.ROUTER))]
    assert sum(b.money for b in router) <= sum(b.money for b in bounds)


def test_candidates_are_true_and_dives_complete() -> None:
    """On a rack of offcuts the columns can be cut and a dive places everything."""
    model = rack(3, 40)
    generation = Generation(model, Pricer(model))
    layouts = dive(generation, ordered_costs(model), inf)
    assert_true(model, layouts)
    assert not any(figures(model, layouts).missing)
    assert_true(replace(model, stock=tuple(replace(s, count=-1) for s in model.stock)),
                bound_of(model, seconds=20).candidates)  # fmt: skip


def test_layouts_to_start_from_save_pricings_and_change_no_optimum() -> None:
    """Column generation begun from the layouts of its own optimum has less left to do."""
    model = rack(3, 40)
    costs, pricer = ordered_costs(model), Pricer(model)
    cold, warm = Generation(model, pricer), Generation(model, pricer)
    first = cold.run(costs, None, deadline=inf)
    for column, _ in first.taken:
        warm.master.add(pricer.candidate(column))
    warm.run(costs, None, deadline=inf)
    assert len(warm.cuts) < len(cold.cuts)
    layouts = dive(warm, costs, inf)
    assert_true(model, layouts)
    assert not any(figures(model, layouts).missing)
    start = [pricer.candidate(column) for column, _ in first.taken]
    told = bound_of(model, seconds=20), bound_of(model, seconds=20, start=start)
    assert told[0].money == told[1].money


def test_offcuts_lower_the_money() -> None:
    """The same job needs no less when the rack is taken away."""
    with_rack, without = rack(5, 60), rack(5, 0)
    assert bound_of(with_rack, seconds=20).money <= bound_of(without, seconds=20).money


def test_too_little_stock_is_proved() -> None:
    """Nine parts of half a sheet each, four sheets."""
    model = sheets(100, 100, [[100, 50, 9]])
    scarce = replace(model, stock=(replace(model.stock[0], count=4),))
    found = bound_of(scarce, seconds=5)
    assert not found.possible
    assert "not all parts" in plan_bound(model.problem, [found], 0).says


def test_parts_that_fit_side_by_side_need_one_sheet() -> None:
    """Five narrow strips; a table that held four of them would prove that two sheets are needed."""
    assert bound_of(sheets(2444, 1224, [[34, 1206, 5]], turn=True), seconds=5).money == MONEY


def test_what_the_bound_says() -> None:
    """Plain words, with the figure and the gap."""
    model = sheets(100, 100, [[51, 51, 1]])
    found = bound_of(model, seconds=5)
    assert plan_bound(model.problem, [found], MONEY).says == "one full piece is needed whatever you do"
    says = plan_bound(model.problem, [found], 2 * MONEY).says
    assert "spends 1.00 more" in says


def test_same_answer_twice() -> None:
    """The bound and its layouts do not depend on the run."""
    model = rack(7, 30)
    assert bound_of(model, seconds=60, work=20) == bound_of(model, seconds=60, work=20)
