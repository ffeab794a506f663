"""The covering programme over layouts, and the pool's linear programme that leads to it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.planning.choosing.covering import cover
from stockyard.planning.choosing.pool import Pool, Prices
from stockyard.planning.model import Candidate, Model
from stockyard.planning.problem import MONEY
from stockyard.planning.tables.pricing import weighed
from stockyard.planning.tree import Axis, Node
from tests.planning.jobs import bars


def filled(model: Model, *parts: int) -> Candidate:
    """Return parts side by side along one board."""
    piece = model.stock[0]
    leaves = [Node(model.parts[k].length, piece.width, part=model.parts[k].row) for k in parts]
    rest = piece.length - sum(n.length for n in leaves)
    ends = [Node(rest, piece.width)] if rest else []
    return weighed(model, 0, Node(piece.length, piece.width, axis=Axis.CROSSCUT, children=(*leaves, *ends)))


def three() -> tuple[Model, list[Candidate]]:
    """Return three parts of which any two share a board: 1.5 boards by the linear programme, 2 whole ones."""
    model = bars(10, [[4, 1], [5, 1], [6, 1]])
    pairs = [filled(model, 0, 1), filled(model, 0, 2)]
    return model, [*pairs, filled(model, 1), filled(model, 2)]


def priced() -> tuple[Model, Pool, Prices]:
    """Return them pooled, and the prices at the least money."""
    model, layouts = three()
    pool = Pool(model)
    for c in layouts:
        pool.add(c)
    prices = pool.relax(None)
    assert prices is not None
    return model, pool, prices


def test_the_least_whole_choice_is_found() -> None:
    model, layouts = three()
    found, ended = cover(model, layouts, [1.0] * 4, seconds=10)
    assert ended and found is not None and len(found) == 2


def test_no_choice_within_the_money_is_proved() -> None:
    model, layouts = three()
    assert cover(model, layouts, [1.0] * 4, money_at_most=MONEY, seconds=10) == (None, True)


def test_a_part_that_no_layout_holds_can_not_be_covered() -> None:
    model, layouts = three()
    assert cover(model, layouts[:1], [1.0], seconds=10) == (None, True)


def test_counts_are_kept() -> None:
    """Only as many pieces as there are: with one board of the stock nothing covers all."""
    model, layouts = three()
    short = replace(model, stock=(replace(model.stock[0], count=1),))
    assert cover(short, layouts, [1.0] * 4, seconds=10) == (None, True)


def test_prices_are_a_dual_solution() -> None:
    """Strong duality (any textbook of linear programming): prices times demand and rents give the cost."""
    model, pool, prices = priced()
    worth = sum(y * p.demand for y, p in zip(prices.parts, model.parts, strict=True))
    assert worth == pytest.approx(prices.cost)
    assert min(prices.reduced) == pytest.approx(0.0, abs=1e-7)
    for c, reduced in zip(pool.layouts, prices.reduced, strict=True):
        held = sum(n * prices.parts[k] for k, n in c.gives)
        assert pool.cost(c.money, c.net, by_net=False) - held == pytest.approx(reduced, abs=1e-7)


def test_only_layouts_within_the_cost_are_hopeful() -> None:
    """What costs more beyond its parts' worth than the plan may lose is left out."""
    _, pool, prices = priced()
    tight = pool.within(prices, prices.cost)
    assert all(prices.reduced[pool.layouts.index(c)] <= 1e-6 for c in tight)
    assert len(pool.within(prices, prices.cost + 10)) == len(pool)
