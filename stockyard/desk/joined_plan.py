"""Questions that share no pieces and no parts, and their answers, told as one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from stockyard.planning.plan import Bound, Plan, Status, Turn
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.report import Facts, facts, path

T = TypeVar("T")


def joined_problem(problems: Sequence[Problem]) -> Problem:
    """Return several problems as one: rows of stock that are the same stand in it once."""
    return replace(
        problems[0],
        stock=tuple(dict.fromkeys(_all(p.stock for p in problems))),
        parts=_all(p.parts for p in problems),
        groups=_all(p.groups for p in problems),
    )


def joined(plans: Sequence[Plan], titles: Sequence[str]) -> Plan:
    """Return several plans, of questions that share no pieces and no parts, as one."""
    order = (Status.SHORT, Status.FEASIBLE, Status.PROVEN)
    told = [p.bound.says for p in plans]
    # What holds for one of them alone is said of it alone.
    named = (f"{title}: {text}" for title, text in zip(titles, told, strict=True) if text)
    return Plan(
        status=min((p.status for p in plans), key=order.index),
        bound=Bound(
            sum(p.bound.full_cost for p in plans),
            sum(p.bound.stock_area for p in plans),
            told[0] if len(set(told)) == 1 else "; ".join(named),
        ),
        layouts=_all(p.layouts for p in plans),
        unplaced=_all(p.unplaced for p in plans),
        work=tuple(_works(plans)),
    )


def _works(plans: Sequence[Plan]) -> Iterator[Turn]:
    """Yield the work of one plan after the other, its layouts numbered on; a hurried one piece by piece."""
    before = 0
    for plan in plans:
        own = plan.work or (Turn(n, cut.step) for n, x in enumerate(plan.layouts, 1) for cut in x.cuts)
        yield from (Turn(before + layout, step) for layout, step in own)
        before += len(plan.layouts)


def facts_of(problem: Problem, plan: Plan, each: Iterable[tuple[Problem, Plan]]) -> Facts:
    """Return the facts of questions told as one; each says itself how far the router runs."""
    return replace(facts(problem, plan), path=sum(path(*answer) for answer in each))


def _all(groups: Iterable[tuple[T, ...]]) -> tuple[T, ...]:
    return tuple(item for group in groups for item in group)
