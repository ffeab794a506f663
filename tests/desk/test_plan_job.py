"""A job planned from the yard: what is on the racks before what must be bought, promises, made again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.desk import ask_planner
from stockyard.desk import plan_job as plan_jobs
from stockyard.desk.ask_planner import Asked
from stockyard.desk.plan_job import Answer, plan_and_store, plan_job
from stockyard.desk.planning import How
from stockyard.desk.questions import questions
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan, Status
from stockyard.planning.problem import MONEY, Kind, Problem, Trim
from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.jobs import add_job
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Job, JobPart, Material, State, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, by_tag, shelve
from stockyard.yard.places import add_place
from stockyard.yard.pulling import report_gone
from stockyard.yard.shop import change_settings

MM = TICKS_PER_MM
QUICK = Asked(limits=Limits(seconds=None, work=20), compare=False)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    with yard.new(tmp_path / "yard.db", Settings()) as opened:
        add_place(opened, "WALL", Storage.BRACKETS)
        yield opened


def pine(shop: Yard) -> Material:
    """Pine boards: 4 m on the wall at 30 each; 2.4 m on sale at 12."""
    made = add_material(shop, "pine", Form.BOARD, "27 mm", 27 * MM, grain=True)
    add_price(shop, made.id, 4000 * MM, 200 * MM, 30 * MONEY)
    add_price(shop, made.id, 2400 * MM, 150 * MM, 12 * MONEY)
    return made


def stand(shop: Yard, material: Material, count: int, kind: Kind = Kind.FULL, length: int = 4000) -> None:
    one = Arrival(
        material_id=material.id, kind=kind, length=length * MM, width=200 * MM, place="WALL", count=count
    )
    shelve(shop, [one])


def rails(shop: Yard, count: int = 2) -> Job:
    part = JobPart(name="rail", count=count, length=1000 * MM, width=100 * MM, materials=("pine 27 mm",))
    return add_job(shop, "rails", "rails", [part])


def tags(answer: Answer) -> list[str | None]:
    return [layout.tag for layout in answer.layouts]


def test_what_is_on_the_rack_comes_before_a_cheaper_size_in_town(shop: Yard) -> None:
    stand(shop, pine(shop), 3)
    answer = plan_job(shop, rails(shop), QUICK)
    assert len(answer.layouts) == 1 and None not in tags(answer)
    assert answer.facts.to_pay == 0


def test_an_offcut_comes_before_a_full_piece(shop: Yard) -> None:
    wood = pine(shop)
    stand(shop, wood, 3)
    stand(shop, wood, 1, Kind.OFFCUT, 1100)
    answer = plan_job(shop, rails(shop, 1), QUICK)
    assert answer.facts.offcuts == 1 and answer.facts.money == 0
    assert answer.plan.status is Status.PROVEN


def test_what_falls_short_is_bought_for_the_least_money(shop: Yard) -> None:
    pine(shop)
    answer = plan_job(shop, rails(shop), QUICK)
    assert tags(answer) == [None]
    assert answer.facts.to_pay == 12 * MONEY


def test_a_plan_promises_its_pieces_and_is_made_again_around_one_that_is_gone(shop: Yard) -> None:
    stand(shop, pine(shop), 2)
    job = rails(shop)
    first = tags(plan_and_store(shop, job, QUICK)[0])[0]
    assert first is not None and by_tag(shop, first).state is State.PROMISED
    report_gone(shop, first, "missing")
    second = tags(plan_and_store(shop, job, QUICK)[0])[0]
    assert second not in (None, first)


def test_paid_wood_is_used_up_before_any_is_bought(shop: Yard) -> None:
    """Three rails come from a board on the wall: 14 take all four boards, and two more from one bought."""
    stand(shop, pine(shop), 4)
    answer = plan_job(shop, rails(shop, 14), QUICK)
    assert [tag is None for tag in tags(answer)].count(True) == 1
    assert len(answer.layouts) == 5


def test_sheets_and_boards_never_get_the_same_piece(shop: Yard) -> None:
    """A part of any material is asked of the sheets, whose question then looks at the boards as well."""
    add_material(shop, "birch ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
    stand(shop, pine(shop), 1)
    batten = JobPart(name="batten", count=2, length=900 * MM, width=100 * MM)
    rail = JobPart(name="rail", count=1, length=1000 * MM, width=150 * MM, materials=("pine 27 mm",))
    answer, plan = plan_and_store(shop, add_job(shop, "mixed", "mixed", [batten, rail]), QUICK)
    pulled = [layout.tag for layout in answer.layouts if layout.tag]
    assert len(pulled) == len(set(pulled)) == 1
    assert not answer.plan.unplaced and plan.status == Status.FEASIBLE
    assert len({s.id for s in answer.problem.stock}) == len(answer.problem.stock)


def test_parts_already_cut_are_not_planned_again(shop: Yard) -> None:
    stand(shop, pine(shop), 4)
    job = rails(shop, 11)
    answer, _ = plan_and_store(shop, job, QUICK)
    pieces = tags(answer)
    assert len(pieces) == 4 and pieces[0] is not None
    done = confirm_cut(shop, pieces[0])
    again = plan_job(shop, job, QUICK)
    assert again.facts.parts == 11 - sum(part.count for part in done.parts)


def test_an_offcut_is_trimmed_where_it_was_never_cut(shop: Yard) -> None:
    """Two rails come off the low end of a board; what remains has the factory's other end still."""
    stand(shop, pine(shop), 1)
    answer, _ = plan_and_store(shop, rails(shop), QUICK)
    (layout,) = answer.plan.layouts
    far = [left for left in layout.leftovers if left.x + left.dx == 4000 * MM]
    assert far and all("x_high" in left.factory for left in far)
    done = confirm_cut(shop, answer.layouts[0].tag or "")
    offcut = next(p for p in done.offcuts if p.length == far[0].dx and p.width == far[0].dy)
    part = JobPart(name="post", count=1, length=1000 * MM, width=100 * MM, materials=("pine 27 mm",))
    (question,) = questions(shop, add_job(shop, "posts", "posts", [part]))
    row = next(s for s in question.problem.stock if s.id == offcut.tag)
    assert row.edge_trim == Trim(**{str(edge): Settings().board_end_trim for edge in far[0].factory})


def test_sheets_are_trimmed_all_round_and_boards_at_their_ends(tmp_path: Path) -> None:
    """Boards come with dressed edges: the shop's trim of sheets is none of theirs."""
    settings = Settings(edge_trim=7 * MM, board_end_trim=25 * MM)
    with yard.new(tmp_path / "trimmed.db", settings) as y:
        add_place(y, "WALL", Storage.BRACKETS)
        ply = add_material(y, "birch ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
        add_price(y, ply.id, 2440 * MM, 1220 * MM, 58 * MONEY)
        stand(y, pine(y), 1)
        parts = [
            JobPart(name="side", count=1, length=700 * MM, width=500 * MM, materials=("birch ply 18 mm",)),
            JobPart(name="rail", count=1, length=1000 * MM, width=100 * MM, materials=("pine 27 mm",)),
        ]
        sheets, boards = questions(y, add_job(y, "both", "both", parts))
    assert {s.edge_trim for s in sheets.problem.stock} == {Trim.all_round(7 * MM)}
    assert {s.edge_trim for s in boards.problem.stock} == {Trim(x_low=25 * MM, x_high=25 * MM)}
    (on_rack,) = [s for s in boards.problem.stock if s.count == 1]
    assert on_rack.cost == 30 * MONEY, "today's price of its size, not what it once cost"


@pytest.mark.parametrize(
    ("wait_worth", "pull_seconds", "share"),
    [(200, 60, Fraction(1, 30)), (50, 30, Fraction(1, 60)), (0, 60, 0)],
)
def test_a_seconds_wait_is_worth_what_the_shop_says(
    shop: Yard, monkeypatch: pytest.MonkeyPatch, wait_worth: int, pull_seconds: int, share: Fraction
) -> None:
    """In the material that a fetched piece is worth to the planner, a share of it for each second."""
    asked_for: list[tuple[int, int]] = []

    def here(problem: Problem, limits: Limits, report: object, *, seed: int, stop: object) -> Plan:
        assert report is None and stop is None
        asked_for.append((limits.second, problem.effort.pull))
        return solve(problem, limits=limits, seed=seed)

    monkeypatch.setattr(ask_planner, "plan_in_child", here)
    stand(shop, pine(shop), 1)
    change_settings(shop, replace(shop.settings, wait_worth=wait_worth, pull_seconds=pull_seconds))
    plan_job(shop, rails(shop), How(work=5).asked(shop))
    (second, pull) = asked_for[0]
    assert pull > 0
    assert second == pytest.approx(pull * share, abs=1)


@pytest.mark.parametrize(("parts", "within"), [(299, False), (300, True)])
def test_a_large_job_and_what_it_is_compared_with_keep_within_the_limit_together(
    shop: Yard, monkeypatch: pytest.MonkeyPatch, parts: int, within: bool
) -> None:
    """A small job is compared in no time; both plans of a large one take all that they are given."""
    wood = pine(shop)
    stand(shop, wood, 1, Kind.OFFCUT, 1100)
    given: list[float] = []

    def at_once(problem: Problem, limits: Limits, _: object, *, seed: int, stop: object) -> Plan:
        assert stop is None
        given.append(limits.seconds or 0.0)
        return solve(problem, limits=Limits(seconds=None, work=0, money_alone=True), seed=seed)

    monkeypatch.setattr(ask_planner, "plan_in_child", at_once)
    monkeypatch.setattr(plan_jobs, "is_from_full", lambda *_: False)
    plan_job(shop, rails(shop, parts), Asked(limits=Limits(seconds=60.0)))
    assert len(given) == 2
    assert sum(given) == pytest.approx(60.0 if within else 72.0)


def test_few_parts_of_one_kind_get_time_beside_many_of_another(shop: Yard) -> None:
    """The two rails get a twentieth by their number, and with a half of what all get alike three times it."""
    pine(shop)
    add_material(shop, "birch ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
    panels = JobPart(name="panel", count=38, length=900 * MM, width=500 * MM, materials=("birch ply 18 mm",))
    rail = JobPart(name="rail", count=2, length=1000 * MM, width=100 * MM, materials=("pine 27 mm",))
    every = questions(shop, add_job(shop, "mixed", "mixed", [panels, rail]))
    shares = {q.title: ask_planner.share_of(q, every) for q in every}
    assert shares == pytest.approx({"sheets": 0.86, "boards": 0.14})
