"""Single routed pieces at the prices of a pool: what a linear optimum asks for is found and lowers it."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.choosing.answer import judge
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.hunting.priced import Priced
from stockyard.planning.model import Model, shares
from stockyard.planning.placing.kernel import DEAR_FIRST
from stockyard.planning.placing.placer import Placer
from stockyard.planning.placing.spots import candidate
from stockyard.planning.problem import MONEY, Grain, Kind, Method, Part, Problem, Stock
from stockyard.planning.tree import Spot


def asked(*parts: tuple[int, int, int], side: int = 1000) -> Model:
    """Return a job of parts of length, width and count on square sheets."""
    sheet = Stock(
        id="sheet", kind=Kind.FULL, material="ply", length=side * MM, width=side * MM, count=None,
        cost=50 * MONEY,
    )  # fmt: skip
    wanted = tuple(
        Part(id=str(n), length=x * MM, width=y * MM, count=count, grain=Grain.ANY)
        for n, (x, y, count) in enumerate(parts)
    )
    (model,) = shares(Problem(stock=(sheet,), parts=wanted, method=Method.ROUTER))
    return model


def test_the_pinwheel_is_found_from_sheets_of_one_part_each() -> None:
    """Eight parts of 600 x 400: no straight cut through a sheet leaves four of them, laid freely four fit."""
    model = asked((600, 400, 8))
    part = model.parts[0]
    single = candidate(model, 0, [Spot(part.length, part.width, part.row, x=0, y=0)])
    plan, pool = judge(model, [single] * 8), Pool(model)
    pool.add(single)
    before = pool.relax(None)
    priced = Priced(model, pool, 1, 2)
    with ThreadPoolExecutor(2) as team:
        found = [
            priced.round(team, 2, None, plan.figures.money, plan.figures.net),
            priced.round(team, 2, plan.figures.money, plan.figures.money, plan.figures.net),
        ]
    after = pool.relax(None)
    assert any(found)
    assert before is not None
    assert after is not None
    assert 7.9 < before.cost < 8.1
    assert 1.9 < after.cost < 2.1
    assert max(n for c in pool.layouts for _, n in c.gives) == 4


def test_a_piece_takes_what_is_worth_most_not_what_is_largest() -> None:
    model = asked((900, 900, 1), (300, 300, 1))

    def held(worth: list[float]) -> list[tuple[tuple[int, int], ...]]:
        placer = Placer(model, 1, 1, 2)
        placer.set_rules(budget=model.stock[0].money, net=False, short=False, order=DEAR_FIRST)
        placer.price(np.array(worth))
        placer.load(())
        placer.run(50)
        return [c.gives for c in placer.answer()]

    area = float(model.stock[0].length) * model.stock[0].width
    assert held([0.1 * area, 0.9 * area]) == [((1, 1),)]
    assert held([0.9 * area, 0.1 * area]) == [((0, 1),)]


def test_a_full_piece_is_written_down_whatever_a_pull_costs() -> None:
    """How full a piece is goes by its face; the price per pull belongs to its net material alone."""
    model = asked((50, 50, 4), side=100)
    sheet = model.stock[0]
    assert sheet.area > 2 * sheet.length * sheet.width  # the price per pull
    placer = Placer(model, 1, 1, 4)
    placer.set_rules(budget=sheet.money, net=False, short=False, filled=0.9)
    placer.load(())
    placer.run(20)
    assert [c.gives for c in placer.recorded()] == [((0, 4),)]
