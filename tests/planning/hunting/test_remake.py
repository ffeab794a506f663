"""A few pieces of a routed plan made anew, and a routed plan beside the saw's."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.choosing.answer import judge
from stockyard.planning.hunting.remake import Remake
from stockyard.planning.hunting.routed import PLACING, SAVING
from stockyard.planning.hunting.solve import solve
from stockyard.planning.hunting.stopping import Gains
from stockyard.planning.limits import Limits
from stockyard.planning.model import Candidate, Model, shares
from stockyard.planning.placing.spots import candidate
from stockyard.planning.plan import Plan
from stockyard.planning.problem import MONEY, Grain, Kind, Method, Part, Problem, Stock
from stockyard.planning.tree import Spot
from stockyard.planning.verify import faults
from tests.bench import shop_jobs


def offcut(name: str, length: int, width: int) -> Stock:
    return Stock(id=name, kind=Kind.OFFCUT, material="ply", length=length * MM, width=width * MM)


def sheet(side: int) -> Stock:
    return Stock(
        id="sheet", kind=Kind.FULL, material="ply", length=side * MM, width=side * MM, count=None,
        cost=50 * MONEY,
    )  # fmt: skip


def asked(*stock: Stock) -> Model:
    part = Part(id="p", length=600 * MM, width=400 * MM, count=4, grain=Grain.ANY)
    (model,) = shares(Problem(stock=stock, parts=(part,), method=Method.ROUTER))
    return model


def one_on_each(model: Model, *rows: int) -> list[Candidate]:
    size = model.parts[0].length, model.parts[0].width
    return [candidate(model, j, [Spot(*size, model.parts[0].row, x=0, y=0)]) for j in rows]


def made_anew(model: Model, begin: list[Candidate], *, by_net: bool) -> list[Candidate]:
    """Return the best plan of thirty rounds, without a look at the clock."""
    best, remake = judge(model, begin), Remake(model, 1)
    with ThreadPoolExecutor(2) as team:
        for _ in range(30):
            for made in remake.round(team, 2, best, SAVING if by_net else PLACING, by_net=by_net):
                if made.layouts:
                    best = min(best, judge(model, made.layouts), key=lambda a: a.figures)
    assert best.complete
    return list(best.layouts)


def test_four_sheets_become_one_about_a_hole() -> None:
    """Four 600 x 400 on a sheet of 1000 x 1000 each: together they lie about a hole of 200 x 200."""
    model = asked(sheet(1000))
    found = made_anew(model, one_on_each(model, 0, 0, 0, 0), by_net=False)
    assert [dict(c.gives) for c in found] == [{0: 4}]


def test_large_offcuts_give_way_to_small_ones() -> None:
    """A part each on four offcuts of 1000 x 1000; four of 610 x 410 lie beside them and are less."""
    rows = [offcut(f"large {n}", 1000, 1000) for n in range(4)] + [offcut(f"{n}", 610, 410) for n in range(4)]
    model = asked(*(replace(s, grain=False) for s in rows))
    found = made_anew(model, one_on_each(model, 0, 1, 2, 3), by_net=True)
    taken = Counter(model.problem.stock[c.pattern.stock].id.split()[0] for c in found)
    assert sum(c.net for c in found) <= sum(model.stock[j].area for j in range(4, 8)), taken


def of_shop(number: int, method: Method) -> tuple[Problem, Plan]:
    job = shop_jobs.job(number)
    problem = replace(job, parts=job.parts[:12], stock=job.stock[:20], kerf=6 * MM, method=method)
    plan = solve(problem, limits=Limits(seconds=None, work=20))
    assert faults(problem, plan) == ()
    return problem, plan


@pytest.mark.slow
@pytest.mark.parametrize("number", range(6))
def test_no_routed_plan_takes_more_sheets_than_the_saw(number: int) -> None:
    sheets = []
    for method in Method:
        problem, plan = of_shop(number, method)
        full = {s.id for s in problem.stock if s.kind is Kind.FULL}
        sheets.append(sum(x.stock in full for x in plan.layouts))
    assert sheets[list(Method).index(Method.ROUTER)] <= sheets[list(Method).index(Method.SAW)]


def test_another_search_is_not_ended_by_what_the_one_before_had_not_found() -> None:
    """Ten seconds without a gain end a search; one that begins then has a window of its own."""
    at = [0.0]
    gains = Gains(1, now=lambda: at[0])
    gains.note(5, 100)
    at[0] = 10.0
    assert gains.per_second() == 0
    gains.begin_anew()
    assert gains.per_second() == float("inf")
    at[0] = 20.0
    assert gains.per_second() == 0
