"""A plan in plain words: nothing empty, no saving of nothing, and no proof beyond what is proved."""

from __future__ import annotations

from dataclasses import replace

from stockyard.desk.ask_planner import Asked
from stockyard.desk.joined_plan import joined
from stockyard.desk.plan_job import Answer
from stockyard.desk.stored_layouts import Answered
from stockyard.desk.summary import _work, layout_rows, summary
from stockyard.measure import TICKS_PER_MM, Unit
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Layout, Placement, Plan, Status, Unplaced
from stockyard.planning.problem import MONEY, Kind, Part, Problem, Stock
from stockyard.planning.sawing.report import facts
from stockyard.settings import Settings
from stockyard.yard.model import Job
from stockyard.yard.planned import PlannedPart, StoredLayout

MM = TICKS_PER_MM
PROBLEM = Problem(
    stock=(Stock(id="A", kind=Kind.OFFCUT, material="ply", length=700 * MM, width=500 * MM),),
    parts=(Part(id="p", length=600 * MM, width=400 * MM, count=1),), kerf=0,
)  # fmt: skip
CUT = Plan(
    status=Status.PROVEN, bound=Bound(0, 0, "no plan buys less"),
    layouts=(Layout(stock="A", parts=(Placement("p", 0, 0, 600 * MM, 400 * MM),), cuts=(), leftovers=()),),
)  # fmt: skip
EMPTY = Plan(
    status=Status.SHORT, bound=Bound(0, 0, ""), layouts=(), unplaced=(Unplaced("p", 1, "too large"),)
)  # fmt: skip


def told(plan: Plan, saved: int | None = None, at_saw: tuple[str, ...] = ()) -> str:
    own = facts(PROBLEM, plan)
    without = None if saved is None else replace(own, offcuts=0, drawn=1, money=own.money + saved)
    job = Job(id=1, name="j", text="", parts=(), created_at="")
    each = (Answered(PROBLEM, plan, {"ply": 1}),)
    answer = Answer(job, each, Asked(limits=Limits()), PROBLEM, plan, (), own, without)
    return " ".join(summary(answer, Unit.MM, "EUR", Settings().seconds, at_saw))


def test_an_empty_plan_claims_no_use_and_no_pull() -> None:
    text = told(EMPTY)
    assert "Nothing is cut." in text and "NOT PLACED: 1 × p" in text
    assert "%" not in text and "Pull" not in text


def test_what_the_plan_takes_is_said_in_one_line() -> None:
    """0.35 m², one piece fetched in a minute, nothing to saw."""
    saw = "about 1 minute at racks and saw (no cuts, no settings)"
    assert f"It takes 0.35 m² of material, {saw} and 1 piece to fetch." in told(CUT)
    assert "It takes" not in told(EMPTY)


def test_the_machines_that_a_plan_uses_are_named() -> None:
    """One part of 600 x 400 is routed; nothing is sawn."""
    own = replace(facts(PROBLEM, CUT), path=2000 * MM)
    assert _work(own, Unit.MM) == "racks and router (2.0 m of the router's path)"
    assert _work(replace(own, cuts=2), Unit.MM).startswith("racks, saw and router (2 cuts, no settings, ")


def test_what_is_at_the_saw_already_is_not_to_be_pulled() -> None:
    assert "Pull 1 offcut from the racks." in told(CUT)
    there = told(CUT, at_saw=("A",))
    assert "1 piece is at the saw already." in there and "Pull" not in there
    assert "about no minutes" in there and "no pieces to fetch" in there


def test_a_bound_that_tells_nothing_is_not_told_as_a_saving() -> None:
    full = Plan(
        status=Status.FEASIBLE, bound=Bound(1 * MONEY, 0, ""),
        layouts=(replace(CUT.layouts[0], stock="F"),),
    )  # fmt: skip
    sheet = replace(PROBLEM.stock[0], id="F", kind=Kind.FULL, cost=84 * MONEY)
    problem = replace(PROBLEM, stock=(sheet,))
    answer = Answer(
        Job(id=1, name="j", text="", parts=(), created_at=""), (), Asked(limits=Limits()), problem, full, (),
        facts(problem, full),
    )  # fmt: skip
    assert "Whether it can be done for less is not known." in summary(
        answer, Unit.MM, "EUR", Settings().seconds
    )
    near = replace(answer, plan=replace(full, bound=Bound(80 * MONEY, 0, "")))
    assert "save up to 4.00 EUR more" in " ".join(summary(near, Unit.MM, "EUR", Settings().seconds))
    met = replace(answer, plan=replace(full, bound=Bound(84 * MONEY, 0, "")))
    assert "save up to" not in " ".join(summary(met, Unit.MM, "EUR", Settings().seconds))


def test_what_saves_nothing_is_not_praised() -> None:
    assert "save" not in told(CUT, 0)
    assert "they save 12.00 EUR" in told(CUT, 12 * MONEY)
    assert "1 part uses" in told(CUT)


def test_what_is_proved_of_sheets_alone_is_said_of_sheets_alone() -> None:
    open_end = replace(CUT, status=Status.FEASIBLE, bound=Bound(0, 0, ""))
    titles = ["sheets", "boards"]
    assert joined([CUT, open_end], titles).bound.says == "sheets: no plan buys less"
    assert joined([open_end, CUT], titles).bound.says == "boards: no plan buys less"
    assert joined([CUT, CUT], titles).bound.says == "no plan buys less"
    assert joined([CUT], ["sheets"]).bound.says == "no plan buys less"


def test_a_plan_of_two_questions_is_as_good_as_the_worse_of_them() -> None:
    proven, feasible, short = (replace(CUT, status=s) for s in (Status.PROVEN, Status.FEASIBLE, Status.SHORT))
    for one, other, status in (
        (proven, proven, Status.PROVEN), (proven, feasible, Status.FEASIBLE),
        (feasible, proven, Status.FEASIBLE), (short, proven, Status.SHORT), (feasible, short, Status.SHORT),
    ):  # fmt: skip
        assert joined([one, other], ["sheets", "boards"]).status is status


def test_each_piece_is_a_row_with_its_place_and_what_it_gives() -> None:
    own = StoredLayout(
        number=1, tag="A", material_id=1, length=700 * MM, width=500 * MM,
        placed=(PlannedPart(name="p", length=600 * MM, width=400 * MM),),
    )  # fmt: skip
    bought = replace(own, tag=None, placed=own.placed * 2)
    job = Job(id=1, name="j", text="", parts=(), created_at="")
    each = (Answered(PROBLEM, CUT, {"ply": 1}),)

    def row(layout: StoredLayout, codes: dict[str, str], boards: tuple[str, ...] = ()) -> dict[str, object]:
        answer = Answer(job, each, Asked(limits=Limits()), PROBLEM, CUT, (layout,), facts(PROBLEM, CUT), None)
        (found,) = layout_rows(answer, codes, boards)
        return found

    assert row(own, {"A": "R2"}) == {
        "no": 1, "piece": "A", "place": "R2", "kind": "offcut", "material": "ply", "size": "700 mm × 500 mm",
        "gives": "p", "left over": 0,
    }  # fmt: skip
    assert row(bought, {}) | {"gives": "2 p"} == row(own, {}) | {"piece": "BUY", "gives": "2 p"}
    assert row(bought, {})["gives"] == "2 p"
    # A board is a board with its length, neither full nor ripped down.
    assert row(own, {"A": "R2"}, ("ply",))["kind"] == "board"
