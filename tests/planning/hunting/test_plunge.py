"""Diving with steps back: whole plans, within the money and the stock, from the pool of a short search."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from stockyard.planning.choosing.choose import figures
from stockyard.planning.hunting.plunge import Plunge
from stockyard.planning.model import shares
from stockyard.planning.problem import MONEY
from stockyard.planning.tables.lines import beam_table
from stockyard.planning.tables.pricing import Pricer
from tests.bench.shop_jobs import job
from tests.planning.jobs import assert_true, quarters, started


def test_a_plan_without_waste_is_found() -> None:
    model = quarters(5)
    dive = Plunge(model, Pricer(model), started(model).layouts, 5 * MONEY, seed=1)
    found = dive.run(lambda: False)
    assert found is not None
    got = figures(model, found)
    assert not any(got.missing) and got.money == 5 * MONEY


def test_too_little_money_gives_nothing() -> None:
    model = quarters(3)
    assert Plunge(model, Pricer(model), started(model).layouts, 2 * MONEY, seed=1).run(lambda: False) is None


def test_counts_of_stock_are_kept() -> None:
    model = quarters(3)
    two = replace(model, stock=(replace(model.stock[0], count=2),))
    assert Plunge(two, Pricer(two), started(model).layouts, 9 * MONEY, seed=1).run(lambda: False) is None


def test_it_stops_when_told_to() -> None:
    model = quarters(3)
    dive = Plunge(model, Pricer(model), started(model).layouts, 3 * MONEY, seed=1)
    assert dive.run(lambda: True) is None


def test_a_solver_that_fails_ends_it(monkeypatch: pytest.MonkeyPatch) -> None:
    model = quarters(3)
    dive = Plunge(model, Pricer(model), started(model).layouts, 3 * MONEY, seed=1)
    monkeypatch.setattr(dive._rest, "solve", lambda: inf)
    assert dive.run(lambda: False) is None


@pytest.mark.parametrize("seed", range(3))
def test_the_same_seed_gives_the_same_dive(seed: int) -> None:
    model = quarters(4)
    runs = []
    for _ in range(2):
        dive = Plunge(model, Pricer(model), started(model).layouts, 4 * MONEY, seed)
        runs.append((dive.run(lambda: False), list(dive.near())))
    assert runs[0] == runs[1]


def test_sizes_that_make_too_large_a_table_are_dived_for_on_lines() -> None:
    """An invented shop job of a hundred odd sizes and offcuts: the dive saves a sheet of the first answer."""
    model = shares(job(18))[0]
    first = started(model).layouts
    pricer = Pricer(model, beam_table)
    assert all(g.table.by_lines for g in pricer.groups)
    money = figures(model, first).money - model.money_step
    found = Plunge(model, pricer, first, money, seed=1, share=0.2).run(lambda: False)
    assert found is not None
    got = figures(model, found)
    assert not any(got.missing) and got.money <= money
    assert_true(model, found)


def test_net_material_is_saved_within_the_money() -> None:
    """An invented shop job: a dive takes less net material than the first answer, for no more money."""
    model = shares(job(13))[0]
    first = started(model).layouts
    before = figures(model, first)
    dive = Plunge(
        model, Pricer(model, beam_table), first, before.money, seed=1, share=0.2, net=before.net * 95 // 100
    )
    found = dive.run(lambda: False)
    assert found is not None
    got = figures(model, found)
    assert not any(got.missing) and got.money <= before.money
    assert got.net <= before.net * 95 // 100
    assert_true(model, found)


def test_less_net_material_than_the_parts_take_can_not_be_had() -> None:
    model = shares(job(13))[0]
    first = started(model).layouts
    need = sum(p.length * p.width * p.demand for p in model.parts)
    dive = Plunge(
        model, Pricer(model, beam_table), first, figures(model, first).money, seed=1, net=need * 9 // 10
    )
    assert dive.run(lambda: False) is None
