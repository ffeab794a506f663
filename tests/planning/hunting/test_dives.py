"""Dives from a pool: plans for less money, and plans that take less net material for no more money."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

from stockyard.planning.choosing.answer import Answer
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.hunting.dives import Diver
from stockyard.planning.hunting.refine import Refiner
from stockyard.planning.model import Candidate, Model, shares
from stockyard.planning.problem import MONEY
from tests.bench.shop_jobs import job
from tests.planning.jobs import assert_true, quarters, started


def begun(model: Model) -> tuple[Diver, Answer]:
    """Return a diver whose pool holds the layouts of a first answer, and that answer."""
    answer, pool = started(model), Pool(model)
    for c in answer.layouts:
        pool.add(c)
    return Diver(model, pool, Refiner(model, pool, 1), repeatable=True), answer


def saved_net(model: Model) -> list[tuple[Candidate, ...]]:
    diver, answer = begun(model)
    with ThreadPoolExecutor(2) as team:
        plans = diver.save_net(team, answer, 2, lambda: False)
    assert len(diver.pool) > len(answer.layouts), "the layouts met on the way are kept"
    return plans


def test_less_net_material_for_no_more_money() -> None:
    """An invented shop job of sheets and offcuts."""
    model = shares(job(6))[0]
    _, before = begun(model)
    plans = saved_net(model)
    assert plans
    for plan in plans:
        assert_true(model, plan)
        assert sum(c.money for c in plan) <= before.figures.money
        assert sum(c.net for c in plan) < before.figures.net


def test_the_same_seeds_give_the_same_plans() -> None:
    model = shares(job(6))[0]
    assert saved_net(model) == saved_net(model)


def test_less_money() -> None:
    model = quarters(5)
    diver, before = begun(model)
    with ThreadPoolExecutor(2) as team:
        plans = diver.save_money(team, before, 2, lambda: False)
    assert before.figures.money == 6 * MONEY
    assert [sum(c.money for c in plan) for plan in plans] == [5 * MONEY, 5 * MONEY]
