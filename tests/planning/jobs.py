"""Small jobs for tests of the planner: published instances as problems, and invented racks."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.choosing.answer import Answer
from stockyard.planning.hunting.rebuilder import MANY, Rebuilder, Stage
from stockyard.planning.model import Candidate, Model, shares
from stockyard.planning.problem import MONEY, Grain, Kind, Part, Problem, Stock, Trim

DATA = Path(__file__).parent.parent / "data"


def published(name: str) -> list[dict[str, Any]]:
    """Return the instances of one file of tests/data."""
    loaded: list[dict[str, Any]] = json.loads((DATA / name).read_text("utf-8"))["instances"]
    return loaded


def one(problem: Problem) -> Model:
    """Return the only share of a problem."""
    (model,) = shares(problem)
    return model


def sheets(length: int, width: int, items: list[list[int]], *, turn: bool = False) -> Model:
    """Return the model of items [length, width, count] from one size of sheet that costs 1, kerf 0."""
    stock = Stock(
        id="sheet", kind=Kind.FULL, material="m", length=length, width=width, count=None, cost=MONEY,
        grain=not turn,
    )  # fmt: skip
    grain = Grain.ANY if turn else Grain.ALONG
    parts = tuple(
        Part(id=f"p{k}", length=a, width=b, count=n, grain=grain) for k, (a, b, n) in enumerate(items)
    )
    return one(Problem(stock=(stock,), parts=parts))


def bars(length: int, items: list[list[int]]) -> Model:
    """Return the model of items [length, count] from one length of board that costs 1, kerf 0."""
    return sheets(length, 100, [[a, 100, n] for a, n in items])


def rack(seed: int, offcuts: int, parts: int = 20) -> Model:
    """Return an invented job: kerf 3 mm, one-off offcuts of all sizes, full sheets on the rack and to buy."""
    rng = Random(seed)
    to_buy = Stock(
        id="buy", kind=Kind.FULL, material="ply", length=2440 * MM, width=1220 * MM, count=None,
        cost=58 * MONEY, grain=True, edge_trim=Trim.all_round(5 * MM),
    )  # fmt: skip
    stock = [to_buy, replace(to_buy, id="rack", count=2)]
    for k in range(offcuts):
        length, width = int(rng.triangular(250, 1800, 700)), int(rng.triangular(150, 1200, 400))
        stock.append(
            Stock(id=f"o{k}", kind=Kind.OFFCUT, material="ply", length=length * MM, width=width * MM,
                  grain=True, dig=rng.randint(0, 4))
        )  # fmt: skip
    wanted = [
        Part(id=f"p{k}", length=rng.randint(200, 1100) * MM, width=rng.randint(80, 500) * MM,
             count=rng.randint(1, 3), grain=rng.choice([Grain.ALONG, Grain.ANY]))
        for k in range(parts)
    ]  # fmt: skip
    return one(Problem(stock=tuple(stock), parts=tuple(wanted), kerf=3 * MM))


def assert_true(model: Model, layouts: tuple[Candidate, ...]) -> None:
    """Every layout gives what it says, within the counts of the stock."""
    rows = [p.row for p in model.parts]
    for c in layouts:
        assert {rows[k]: n for k, n in c.gives} == c.pattern.parts()
        assert c.pattern.stock == model.stock[c.stock].row
    for j, s in enumerate(model.stock):
        assert s.count < 0 or sum(c.stock == j for c in layouts) <= s.count


def started(model: Model) -> Answer:
    """Return a first answer."""
    rebuilder = Rebuilder(model, 1)
    rebuilder.set_rules(Stage.PLACE, budget=MANY)
    rebuilder.load(())
    rebuilder.construct()
    return rebuilder.answer()


def quarters(sheets_wanted: int) -> Model:
    """Return four parts for each sheet that fill it in one way only, of one size for each sheet."""
    sizes = [[30 + n, 20 + n] for n in range(sheets_wanted)]
    items = [
        [*size, 1]
        for a, b in sizes
        for size in ([a, b], [100 - a, b], [a, 60 - b], [100 - a, 60 - b])
    ]  # fmt: skip
    return sheets(100, 60, items)
