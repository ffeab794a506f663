"""The verifier passes what is right and names what is wrong."""

from __future__ import annotations

import re
from dataclasses import replace
from random import Random

import pytest

from stockyard.planning.plan import Status
from stockyard.planning.problem import Method
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
