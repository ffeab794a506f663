"""Layouts that are cut alike: sent once, written once and replayed once, and still the plan to the letter."""

from __future__ import annotations

import pickle
from dataclasses import replace

import pytest

from stockyard.planning.parcel import opened, packed
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.finish import finish
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_data, plan_text, write_json
from tests.planning.trees import job

COPIES = 4


def many(seed: int) -> tuple[Problem, Plan]:
    """Return a job in which each piece is wanted several times over, and its plan."""
    problem, patterns = job(seed, pieces=2, depth=3)
    parts = tuple(replace(p, count=p.count * COPIES) for p in problem.parts)
    stock = tuple(replace(s, count=None) for s in problem.stock)
    problem = replace(problem, stock=stock, parts=parts)
    return problem, finish(problem, patterns * COPIES, bound=Bound(0, 0, ""), status=Status.FEASIBLE)


@pytest.mark.parametrize("seed", range(12))
def test_what_is_sent_and_written_is_the_plan(seed: int) -> None:
    problem, plan = many(seed)
    assert faults(problem, plan) == ()
    sent = packed(plan)
    assert len(sent.kinds) < len(plan.layouts)
    assert opened(pickle.loads(pickle.dumps(sent))) == plan
    assert plan_text(problem, plan) == write_json(plan_data(problem, plan)) + "\n"


def test_any_name_can_be_written() -> None:
    problem, plan = many(3)
    named = replace(plan, layouts=tuple(replace(x, stock="\0") for x in plan.layouts))
    assert plan_text(problem, named) == write_json(plan_data(problem, named)) + "\n"


def test_of_layouts_that_are_alike_each_is_looked_at() -> None:
    problem, plan = many(3)
    alike = [x for x in plan.layouts if x.stock == plan.layouts[0].stock and x.parts == plan.layouts[0].parts]
    first, last = alike[0], alike[-1]
    assert first is not last and [c.alike for c in first.cuts] == [c.alike for c in last.cuts]

    def with_last(**changes: object) -> tuple[str, ...]:
        other = replace(last, **changes)  # type: ignore[arg-type]
        return faults(problem, replace(plan, layouts=tuple(other if x is last else x for x in plan.layouts)))

    assert any("is named 2 times" in f for f in with_last(cuts=first.cuts)), "the copies of another layout"
    moved = [replace(c, fence=c.fence + 1) if c.step == 1 else c for c in last.cuts]
    assert any("fence" in f for f in with_last(cuts=tuple(moved)))
    aside = [replace(p, x=p.x + 1) for p in last.parts]
    assert any("lie on the bench" in f or "reaches out" in f for f in with_last(parts=tuple(aside)))
