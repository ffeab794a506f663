"""The verifier passes what is right and names what is wrong."""

from __future__ import annotations

import re
from dataclasses import replace
from random import Random

import pytest

from stockyard.planning.plan import Bound, Layout, Placement, Plan, Status
from stockyard.planning.problem import Kind, Method, Part, Problem, Stock
from stockyard.planning.verify import faults
from tests.planning.broken import KINDS, money
from tests.planning.trees import job, plan

PER_KIND = 25


def test_there_are_enough_kinds_and_plans() -> None:
    assert len(KINDS) >= 15
    assert len(KINDS) * PER_KIND >= 1000


@pytest.mark.parametrize("kind", KINDS)
def test_a_broken_plan_is_refused_with_its_fault_named(kind: str) -> None:
    words, breaker = KINDS[kind]
    broken, seed = 0, 0
    while broken < PER_KIND:
        rng = Random(f"{kind} {seed}")
        problem, patterns = job(seed, pieces=2, depth=3)
        seed += 1
        assert seed < 40 * PER_KIND, "this kind can hardly ever be made"
        good = plan(problem, patterns)
        spoiled = breaker(rng, problem, good)
        if spoiled is None:
            continue
        broken += 1
        found = faults(*spoiled)
        assert any(re.search(words, f) for f in found), (kind, seed, found)


def test_a_right_claim_passes() -> None:
    problem, patterns = job(3)
    good = plan(problem, patterns)
    proven = replace(good, status=Status.PROVEN, bound=replace(good.bound, full_cost=money(problem, good)))
    assert faults(problem, proven) == ()


def test_a_routed_plan_needs_gaps_but_no_cuts() -> None:
    for seed in range(40):
        problem, patterns = job(seed)
        problem = replace(problem, method=Method.ROUTER)
        routed = plan(problem, patterns)
        assert not any(layout.cuts for layout in routed.layouts)
        assert faults(problem, routed) == ()
        wider = replace(problem, kerf=problem.kerf + 1)
        crowded = any(len(layout.parts) + len(layout.leftovers) > 3 for layout in routed.layouts)
        if crowded:
            assert any("nearer than the kerf" in f for f in faults(wider, routed))


@pytest.mark.parametrize(
    ("dx", "dy", "fault"),
    [
        (10, 0, None),
        (0, 10, None),
        (-30, 10, None),
        (9, 0, "kerf"),
        (5, 0, "kerf"),
        (0, 5, "kerf"),
        (5, 5, "kerf"),
        (9, 9, "kerf"),
        (-30, 9, "kerf"),
        (-1, -1, "overlap"),
    ],
)
def test_two_routed_parts_lie_a_bit_apart(dx: int, dy: int, fault: str | None) -> None:
    """Two parts of 100 x 100, the second `dx` beyond the first along x (0: level with it), `dy` along y."""
    sheet = Stock(id="s", kind=Kind.FULL, material="ply", length=400, width=400)
    part = Part(id="p", length=100, width=100, count=2)
    problem = Problem(stock=(sheet,), parts=(part,), kerf=10, method=Method.ROUTER)
    first = Placement("p", 100, 100, 100, 100)
    second = Placement("p", 200 + dx if dx else 100, 200 + dy if dy else 100, 100, 100)
    layout = Layout(stock="s", parts=(first, second), cuts=(), leftovers=())
    routed = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, "none"), layouts=(layout,))
    found = faults(problem, routed)
    assert [fault in f for f in found] == [True] if fault else found == ()
