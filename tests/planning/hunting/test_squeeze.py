"""A plan with a piece less: what is left out never grows, and a plan is whole and valid when it is given."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import pytest

from stockyard.planning.hunting.alike import merge
from stockyard.planning.hunting.remainder import completed
from stockyard.planning.hunting.squeeze import Squeeze, Squeezing
from stockyard.planning.model import Candidate, Model, shares
from stockyard.planning.plan import Bound, Status
from stockyard.planning.sawing.finish import finish
from stockyard.planning.verify import faults
from tests.bench.large_jobs import large

QUICK = Squeezing(layouts=4, steps=200, looks=4)


@pytest.fixture(scope="module")
def model() -> Model:
    return merge(shares(large(120, 12))[0]).model


@pytest.fixture(scope="module")
def wasteful(model: Model) -> list[Candidate]:
    """A plan of parts put in one after the other, which takes a sheet too many."""
    return completed(model, (), 1)


def area(model: Model, parts: Counter[int]) -> int:
    return sum(n * model.parts[k].length * model.parts[k].width for k, n in parts.items())


def placed(layouts: list[Candidate]) -> Counter[int]:
    every: Counter[int] = Counter()
    for c in layouts:
        every.update(dict(c.gives))
    return every


def run(model: Model, plan: list[Candidate], seed: int, rounds: int) -> tuple[list[Candidate], list[int]]:
    squeeze, left = Squeeze(model, seed, lambda: False, QUICK), []
    with ThreadPoolExecutor(2) as team:
        for _ in range(rounds):
            found = squeeze.round(team, 2, plan)
            if found:
                return found, left
            left.append(area(model, squeeze.out))
    return [], left


def test_a_plan_with_a_piece_less_is_whole_and_can_be_cut(model: Model, wasteful: list[Candidate]) -> None:
    found, left = run(model, wasteful, 1, 60)
    assert left, "nothing was left out on the way"
    assert left == sorted(left, reverse=True), "what is left out never grows"
    assert found, f"{left[-1:]} left out"
    assert sum(c.money for c in found) < sum(c.money for c in wasteful)
    assert placed(found) == {k: p.demand for k, p in enumerate(model.parts)}
    patterns = merge(shares(model.problem)[0]).back(c.pattern for c in found)
    made = finish(model.problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)
    assert faults(model.problem, made) == ()


def test_it_depends_on_the_seed_alone(model: Model, wasteful: list[Candidate]) -> None:
    assert run(model, wasteful, 1, 60) == run(model, wasteful, 1, 60)


def test_told_to_stop_it_leaves_out_no_more_than_before(model: Model, wasteful: list[Candidate]) -> None:
    squeeze = Squeeze(model, 1, lambda: True, QUICK)
    with ThreadPoolExecutor(2) as team:
        assert not squeeze.round(team, 2, wasteful)
    least = min(area(model, Counter(dict(c.gives))) for c in wasteful)
    assert area(model, squeeze.out) <= least


def test_one_piece_can_not_be_spared(model: Model, wasteful: list[Candidate]) -> None:
    with ThreadPoolExecutor(2) as team:
        assert not Squeeze(model, 1, lambda: False, QUICK).round(team, 2, wasteful[:1])
