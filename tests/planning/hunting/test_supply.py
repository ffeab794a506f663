"""Patterns drawn for what is wanted, and the cuts in piece counts that their tables prove."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.alike import merge
from stockyard.planning.hunting.supply import Coarsening, Supply, roomy
from stockyard.planning.model import Model, shares
from stockyard.planning.tables.dp import Item, exact_steps
from tests.bench.large_jobs import large


@pytest.fixture(scope="module")
def model() -> Model:
    return merge(shares(large(60, 12, offcuts=2))[0]).model


def never() -> bool:
    return False


def area(model: Model) -> list[float]:
    return [float(p.length * p.width) for p in model.parts]


def test_the_cut_at_the_areas_says_no_more_than_a_piece_can_hold(model: Model) -> None:
    """Every part worth its area: a piece holds at most its own area, and all parts are needed."""
    drawn = Supply(model, never).draw(area(model), {}, 0.01, 1)
    assert drawn.cut is not None
    whole = sum(a * p.demand for a, p in zip(area(model), model.parts, strict=True))
    assert drawn.cut.need == pytest.approx(whole * drawn.scale, rel=1e-4)
    for held, s in zip(drawn.cut.holds, model.stock, strict=True):
        assert held <= s.length * s.width * drawn.scale


def test_only_what_is_still_wanted_is_drawn_and_proves_nothing_of_the_whole(model: Model) -> None:
    made = Supply(model, never)
    demand = [1 if k in (0, 3) else 0 for k in range(len(model.parts))]
    made.ask(demand, [s.count for s in model.stock])
    drawn = made.draw(area(model), {len(model.stock) - 1: 50}, 0.1, 1)
    assert drawn.cut is None
    assert drawn.columns
    for worth, column in drawn.columns:
        assert set(dict(column.gives)) <= {0, 3}
        assert all(n == 1 for _, n in column.gives)
        assert worth == sum(area(model)[k] * n for k, n in column.gives)
        assert made.candidate(column).gives == column.gives


def test_too_fine_a_table_is_made_on_a_grid_whose_patterns_can_be_cut() -> None:
    items = [Item(1003 + 7 * n, 601 + 11 * n, 5, n) for n in range(6)]
    sheets = [(9000, 5000)]
    few = Coarsening(most_steps=exact_steps(items, sheets) / 50)
    made = roomy(items, sheets, few)
    assert made.steps() <= few.most_steps
    assert made.items == tuple(items)
    for n, it in enumerate(items):
        assert made.xs[made.first_x[n]] >= it.length
        assert made.ys[made.first_y[n]] >= it.width


def test_stock_that_is_used_up_gives_nothing(model: Model) -> None:
    made = Supply(model, never)
    made.ask([p.demand for p in model.parts], [0] * len(model.stock))
    assert not made.draw(area(model), dict.fromkeys(range(len(model.stock)), 5), 0.1, 1).columns


def test_a_told_supply_stops(model: Model) -> None:
    drawn = replace(Supply(model, lambda: True).draw(area(model), {0: 5}, 0.1, 1), scale=1.0)
    assert drawn.columns == []
    assert drawn.cut is None


def test_the_best_of_a_table_is_drawn_with_more_of_a_part_than_is_wanted() -> None:
    """It is what the table prices, however many parts it holds."""
    problem = large(60, 12, offcuts=2)
    tiny = replace(problem.parts[0], length=90 * MM, width=50 * MM, count=3)
    model = merge(shares(replace(problem, parts=(tiny, *problem.parts[1:])))[0]).model
    worth = [
        a if p.length == 90 * MM + problem.kerf else 0.0
        for a, p in zip(area(model), model.parts, strict=True)
    ]
    drawn = Supply(model, never).draw(worth, {}, 0.01, 1, beyond=True)
    assert drawn.cut is not None
    held = {column.stock: value * drawn.scale for value, column in drawn.columns}
    assert held == pytest.approx(dict(enumerate(drawn.cut.holds)), rel=1e-4)
    assert max(n for _, column in drawn.columns for _, n in column.gives) > 400
