"""Large jobs: every part once, no more than the stock, close to what no plan can beat."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from math import inf
from random import Random
from time import monotonic

import pytest

from stockyard.planning.bounds.bound import bound_by_area
from stockyard.planning.bounds.piececuts import least
from stockyard.planning.hunting.alike import merge
from stockyard.planning.hunting.manner import Manner
from stockyard.planning.hunting.remainder import better, completed, rest_of
from stockyard.planning.hunting.solve import solve
from stockyard.planning.hunting.wholesale import Wholesale, wholesale
from stockyard.planning.limits import Limits
from stockyard.planning.model import Candidate, Model, shares
from stockyard.planning.verify import faults
from tests.bench.large_jobs import large


def never() -> bool:
    return False


@pytest.fixture(scope="module")
def model() -> Model:
    return merge(shares(large(400, 30, offcuts=20))[0]).model


@pytest.fixture(scope="module")
def plan(model: Model) -> list[Candidate]:
    with ThreadPoolExecutor(2) as team:
        return wholesale(model, team, 1, None, never).layouts


def check(model: Model, layouts: list[Candidate]) -> None:
    placed: Counter[int] = Counter()
    for c in layouts:
        placed.update(dict(c.gives))
    assert placed == {k: p.demand for k, p in enumerate(model.parts)}
    used = Counter(c.stock for c in layouts)
    assert all(s.count < 0 or used[j] <= s.count for j, s in enumerate(model.stock))


def test_all_parts_are_placed_for_less_than_one_by_one(model: Model, plan: list[Candidate]) -> None:
    """Not below what area alone proves, and nearer to it than parts put in from the largest down."""
    check(model, plan)
    least, money = bound_by_area(model).money, sum(c.money for c in plan)
    one_by_one = sum(c.money for c in completed(model, (), 1))
    assert least <= money < one_by_one
    assert money - least < (one_by_one - least) / 2


def test_it_depends_on_the_seed_alone(model: Model, plan: list[Candidate]) -> None:
    with ThreadPoolExecutor(2) as team:
        assert wholesale(model, team, 1, None, never).layouts == plan


def test_what_is_proved_comes_near_the_cost_where_offcuts_are_many() -> None:
    """Their small pieces are dear for their area: priced by those, parts would prove nothing."""
    many = merge(shares(large(60, 10, offcuts=150))[0]).model
    planner = Wholesale(many, 1, never)
    with ThreadPoolExecutor(2) as team:
        layouts = planner.plan(team, None)
    areas = [s.area for s in many.stock]
    proved = [least(many, [cut], areas, seconds=5.0) for cut in planner.cuts]
    cost = sum(areas[c.stock] for c in completed(many, layouts, 1))
    assert 0.9 * cost < max(proved) <= cost


def test_some_layouts_are_planned_again_and_the_others_stay(model: Model, plan: list[Candidate]) -> None:
    given: list[Model] = []

    def again(rest: Model, seed: int) -> list[Candidate]:
        given.append(rest)
        return completed(rest, (), seed)

    after = better(model, plan, Random(1), again)
    check(model, after)
    kept = (Counter(after) & Counter(plan)).total()
    assert 0 < kept < len(plan)
    assert sum(p.demand for p in given[0].parts) < 400


def test_the_rest_of_a_model_is_what_layouts_leave(model: Model, plan: list[Candidate]) -> None:
    assert rest_of(model, plan) is None
    rest = rest_of(model, plan[1:])
    assert rest is not None
    assert {p.row: p.demand for p in rest.parts} == {model.parts[k].row: n for k, n in plan[0].gives}


def test_being_told_to_stop_leaves_parts_that_are_put_in_after_all(model: Model) -> None:
    with ThreadPoolExecutor(2) as team:
        layouts = wholesale(model, team, 1, None, lambda: True).layouts
    check(model, completed(model, layouts, 1))


@pytest.mark.parametrize(
    ("parts", "kinds", "work"), [(310, 8, 1), pytest.param(350, 40, 3, marks=pytest.mark.slow)]
)
def test_a_plan_of_a_large_job_is_valid_and_repeatable(parts: int, kinds: int, work: int) -> None:
    problem = large(parts, kinds, seed=2)
    plans = [solve(problem, limits=Limits(seconds=None, work=work), seed=5) for _ in range(2)]
    assert plans[0] == plans[1]
    assert not faults(problem, plans[0])
    assert not plans[0].unplaced


@pytest.mark.parametrize(("offcuts", "most"), [(20, 1.0), (150, 0.2)])
def test_with_many_stock_rows_the_programme_gets_most_of_the_time(
    offcuts: int, most: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Which offcut is worth its pull only the programme knows; patterns one after the other do not."""
    shares_given: list[float] = []

    def greedy(_: Wholesale, __: ThreadPoolExecutor, until: float) -> list[Candidate]:
        shares_given.append((until - monotonic()) / 1e6)
        return []

    monkeypatch.setattr(Wholesale, "greedy", greedy)
    some = merge(shares(large(60, 10, offcuts=offcuts))[0]).model
    with ThreadPoolExecutor(2) as team:
        wholesale(some, team, 1, 1e6, lambda: True)
    assert most / 2 < shares_given[0] < most


def test_pricing_goes_on_until_its_bound_meets_its_cost() -> None:
    """Smoothed prices, and patterns within the demand alone, come to a stop 2 % before that."""
    small = merge(shares(large(60, 12))[0]).model
    planner, bounds = Wholesale(small, 1, never), [0.0]
    with ThreadPoolExecutor(2) as team:
        planner._generate(team, inf, 60)
    cost = planner._programme.solve()
    for cut in planner.cuts:
        bounds.append(cut.need / cut.holds[0] * planner._costs[0])
    assert max(bounds) <= cost <= 1.002 * max(bounds)


def test_pricing_ends_where_nothing_helps_at_prices_as_they_are() -> None:
    """Else the time of a large job went by over the same smoothed prices."""
    small = merge(shares(large(60, 12))[0]).model
    planner = Wholesale(small, 1, never, replace(Manner(), most_beyond=0))
    with ThreadPoolExecutor(2) as team:
        planner._generate(team, inf, 60)
    assert len(planner.cuts) < 60


def test_the_cuts_that_prove_most_come_last() -> None:
    """Who keeps but some of them keeps the last."""
    small = merge(shares(large(60, 12))[0]).model
    planner = Wholesale(small, 1, never)
    with ThreadPoolExecutor(2) as team:
        planner._generate(team, inf, 60)
    proved = [cut.need / cut.holds[0] for cut in planner.cuts]
    assert proved[-1] == max(proved)
    assert proved[0] < 0.9 * proved[-1]
