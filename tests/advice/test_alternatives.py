"""Alternatives: three aims, one table; a planner is stood in for by a list of ready plans."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.desk.alternatives import REASONS, Change, alternatives, figures
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.plan import Bound, Layout, Leftover, Placement, Plan, Status
from stockyard.planning.problem import MONEY, Kind, Part, Problem, Stock
from stockyard.planning.sawing.aim import score

MM = TICKS_PER_MM
SHEET = Stock(id="S", kind=Kind.FULL, material="ply", length=2000 * MM, width=1000 * MM, cost=50 * MONEY)
OFFCUTS = tuple(
    Stock(id=f"O{n}", kind=Kind.OFFCUT, material="ply", length=600 * MM, width=400 * MM, dig=n)
    for n in (1, 2)
)
PROBLEM = Problem(
    stock=(SHEET, *OFFCUTS), parts=(Part(id="p", length=600 * MM, width=400 * MM, count=2),), kerf=0
)
NO_BOUND = Bound(0, 0, "")


def part(x: int = 0) -> Placement:
    return Placement("p", x * MM, 0, 600 * MM, 400 * MM)


FROM_SHEET = Plan(
    status=Status.FEASIBLE, bound=NO_BOUND,
    layouts=(
        Layout(
            stock="S", parts=(part(), part(600)), cuts=(),
            leftovers=(
                Leftover(0, 400 * MM, 2000 * MM, 600 * MM), Leftover(1200 * MM, 0, 800 * MM, 400 * MM),
            ),
        ),
    ),
)  # fmt: skip
FROM_OFFCUTS = Plan(
    status=Status.FEASIBLE, bound=NO_BOUND,
    layouts=tuple(Layout(stock=f"O{n}", parts=(part(),), cuts=(), leftovers=()) for n in (1, 2)),
)  # fmt: skip


@dataclass(frozen=True)
class Answer:
    plan: Plan
    problem: Problem = PROBLEM


def planned(change: Change) -> Answer:
    """The better of the two plans by the changed aim: what the planner does."""
    return Answer(min((FROM_OFFCUTS, FROM_SHEET), key=lambda plan: score(change(PROBLEM), plan)))


def test_figures_are_the_shops_own() -> None:
    found = figures(PROBLEM, FROM_SHEET)
    assert (found.full_pieces, found.money, found.to_buy, found.pieces, found.moved) == (
        1,
        50 * MONEY,
        0,
        1,
        0,
    )
    assert found.largest == (2000 * MM, 600 * MM)
    assert found.kept_area == (2000 * 600 + 800 * 400) * MM**2
    assert figures(PROBLEM, FROM_OFFCUTS).moved == 3


def test_each_reason_brings_its_plan() -> None:
    found = {reason: a.answer.plan for a in alternatives(planned) for reason in a.reasons}
    assert set(found) == {r.name for r in REASONS}
    assert found["least new material"] is FROM_OFFCUTS
    assert found["fewest pieces to handle"] is FROM_SHEET


def test_equal_plans_are_shown_once_with_all_their_reasons() -> None:
    found = alternatives(lambda _change: Answer(FROM_SHEET))
    assert len(found) == 1
    assert len(found[0].reasons) == 3


def test_large_leftovers_are_worth_more_when_that_is_the_reason() -> None:
    change = {r.name: r.change for r in REASONS}["largest leftover kept"]
    worth = change(PROBLEM).worth
    one, half = worth.of(2000 * MM, 1000 * MM), worth.of(1000 * MM, 1000 * MM)
    assert one >= 3 * half


def test_a_plan_made_for_another_reason_may_win() -> None:
    """The planner stands in the wrong order: each aim brings the plan that the other one is for."""

    def swapped(change: Change) -> Answer:
        return Answer(max((FROM_OFFCUTS, FROM_SHEET), key=lambda plan: score(change(PROBLEM), plan)))

    found = {reason: a.answer.plan for a in alternatives(swapped) for reason in a.reasons}
    assert found["least new material"] is FROM_OFFCUTS
    assert found["fewest pieces to handle"] is FROM_SHEET
    assert found["largest leftover kept"] is FROM_SHEET
