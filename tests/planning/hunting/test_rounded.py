"""The linear optimum of the pool rounded: most of a plan for less money as it has it, the rest laid anew."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.choosing.answer import judge
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.hunting.hunt import Hunt
from stockyard.planning.hunting.remake import Made
from stockyard.planning.hunting.rounded import Rounded, Rounding
from stockyard.planning.hunting.routed import PLACING, RoutedRhythm, Routing
from stockyard.planning.model import Candidate, Model
from stockyard.planning.placing.spots import candidate
from stockyard.planning.problem import MONEY
from stockyard.planning.tree import Spot
from tests.planning.hunting.test_priced import asked

KNOWN = [(600 + 10 * n, 400 - 10 * n, 4) for n in range(4)]
"""Four of each go round a hole on a sheet of 1000 x 1000, which no straight cut through the sheet allows."""
OTHERS = [(650, 350, 1)] * 8
"""And so do four of these, each of which is a part of its own."""
SIX = 6 * 50 * MONEY


def pinwheel(model: Model, kind: int) -> Candidate:
    """Return a sheet of four parts of a kind about a hole."""
    row, (a, b) = model.parts[kind].row, KNOWN[kind][:2]
    boxes = [(0, 0, a, b), (a, 0, b, a), (b, a, a, b), (0, b, b, a)]
    laid = [Spot(dx * MM, dy * MM, row, x=x * MM, y=y * MM) for x, y, dx, dy in boxes]
    return candidate(model, 0, laid)


def single(model: Model, kind: int) -> Candidate:
    """Return a sheet of one part."""
    p = model.parts[kind]
    return candidate(model, 0, [Spot(p.length, p.width, p.row, x=0, y=0)])


def rounded(manner: Rounding) -> tuple[Pool, list[Made]]:
    """Return a pool of four pinwheels and eight sheets of one part, a plan as well, and what a round for six
    sheets made."""
    model = asked(*KNOWN, *OTHERS)
    pool = Pool(model)
    for k in range(len(model.parts)):
        pool.add(pinwheel(model, k) if k < len(KNOWN) else single(model, k))
    best = judge(model, pool.layouts)
    assert best.complete
    rules = [r | {"filled": 0.4} for r in PLACING]
    with ThreadPoolExecutor(2) as team:
        return pool, Rounded(model, pool, 1, manner).round(team, 2, SIX, best.figures.net, rules)


def test_what_the_optimum_takes_stays_and_the_rest_is_laid_on_what_is_left() -> None:
    """The optimum is twelve sheets; the eight parts that lie alone go on two about their holes."""
    pool, made = rounded(Rounding(fewest=2, most=2, blur=0.0))
    plans = [m.layouts for m in made if m.layouts]
    assert plans
    for plan in plans:
        assert judge(pool.model, plan).complete
        assert len(plan) == 6
        assert {id(c) for c in pool.layouts[: len(KNOWN)]} <= {id(c) for c in plan}


def test_what_is_noted_lowers_the_optimum_and_nothing_else_is_noted() -> None:
    """A part of those that lie alone is worth a sheet, one of a pinwheel a quarter: two are no help."""
    pool, made = rounded(Rounding(work=4000))
    before = pool.relax(None)
    assert before is not None
    met = [c for m in made for c in m.met]
    assert met
    assert all(pool.reduced_cost(c.stock, c.gives, c.net, before) <= Rounding().cost for c in met)
    for c in met:
        pool.add(c)
    after = pool.relax(None)
    assert after is not None
    assert after.cost < before.cost - 1


@pytest.mark.parametrize(("proven", "rounds"), [(False, True), (True, False)])
def test_it_is_done_while_less_money_may_be_had(
    proven: bool, rounds: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    hunt = Hunt(asked((900, 900, 3)), 0, repeatable=True)
    hunt.start()
    routing = Routing(hunt, 0, repeatable=True, tell=lambda: None)
    monkeypatch.setattr(Routing, "proven", proven)
    asked_for: list[int] = []
    monkeypatch.setattr(Rounded, "round", lambda _, __, ___, money, *____: asked_for.append(money) or [])
    with ThreadPoolExecutor(2) as team:
        for _ in range(RoutedRhythm().aimed_first + 8):
            routing.rounds += 1
            routing._search(team, 5.0)
    hunt.end()
    assert bool(asked_for) is rounds
    assert set(asked_for) <= {2 * 50 * MONEY}
