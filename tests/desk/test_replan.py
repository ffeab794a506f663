"""A plan made again: what an upset does not touch stays to the tick, pieces at the saw too, and is named."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import count
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from stockyard import yard
from stockyard.desk import ask_planner, least_change
from stockyard.desk.ask_planner import Asked
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import Answer, plan_and_store
from stockyard.desk.planning import MEND_SECONDS, How
from stockyard.desk.replan import plan_again
from stockyard.desk.shop import set_settings
from stockyard.desk.summary import summary
from stockyard.measure import TICKS_PER_MM, Unit
from stockyard.planning.child import PlannerLost
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.problem import MONEY, Kind, Part, Problem, Stock
from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.jobs import add_job, job_by_id
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Job, JobPart, State, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, by_tag, shelve
from stockyard.yard.places import add_place
from stockyard.yard.planned import GivenPart, StoredLayout
from stockyard.yard.plans import standing_plan
from stockyard.yard.pulling import pull, report_gone
from stockyard.yard.spoiled import spoil
from tests.quick_plans import plan_here

MM = TICKS_PER_MM
QUICK = Asked(limits=Limits(seconds=None, work=5), compare=False)
PLY, BOARD = "birch ply 18 mm", "hardboard 3 mm"


@pytest.fixture(autouse=True)
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    plan_here(monkeypatch)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    with yard.new(tmp_path / "yard.db", Settings()) as y:
        add_place(y, "RACK", Storage.FLAT)
        for name, thick in (("birch ply", 18), ("hardboard", 3)):
            made = add_material(y, name, Form.SHEET, f"{thick} mm", thick * MM, grain=name == "birch ply")
            add_price(y, made.id, 2440 * MM, 1220 * MM, 40 * MONEY)
            lay(y, made.id, 5)
        yield y


def lay(
    y: Yard, material: int, count: int, size: tuple[int, int] = (2440, 1220), kind: Kind = Kind.FULL
) -> str:
    one = Arrival(
        material_id=material, kind=kind, length=size[0] * MM, width=size[1] * MM, place="RACK", count=count
    )
    return shelve(y, [one])[0].tag


def cabinet(y: Yard) -> Job:
    """Sides from two sheets of ply, a back from one of hardboard."""
    parts = [
        JobPart(name="side", count=6, length=1200 * MM, width=590 * MM, materials=(PLY,)),
        JobPart(name="back", count=2, length=1100 * MM, width=1100 * MM, materials=(BOARD,)),
    ]
    return add_job(y, "cabinet", "cabinet", parts)


def planned(y: Yard, job: Job) -> tuple[StoredLayout, ...]:
    plan_and_store(y, job, QUICK, plan_again)
    return stored(y, job)


def stored(y: Yard, job: Job) -> tuple[StoredLayout, ...]:
    plan = standing_plan(y, job.id)
    assert plan is not None
    return plan.layouts


def bare(layouts: tuple[StoredLayout, ...]) -> list[StoredLayout]:
    """Layouts without when they are sawn, which counts over a plan."""
    return [replace(x, cuts=tuple(replace(c, turn=None) for c in x.cuts)) for x in layouts]


def of(layouts: tuple[StoredLayout, ...], name: str) -> tuple[StoredLayout, ...]:
    return tuple(x for x in layouts if any(p.name == name for p in x.placed))


def test_what_an_upset_does_not_touch_stays_to_the_tick(shop: Yard) -> None:
    job = cabinet(shop)
    before = planned(shop, job)
    pull(shop, [x.tag for x in before if x.tag])
    (back,) = of(before, "back")
    report_gone(shop, back.tag or "", "dropped")
    answer, _ = plan_and_store(shop, job, QUICK, plan_again)
    after = stored(shop, job)
    assert bare(of(after, "side")) == bare(of(before, "side"))
    assert all(by_tag(shop, x.tag or "").state is State.PULLED for x in of(after, "side"))
    (new,) = of(after, "back")
    assert new.tag != back.tag and (new.number, new.placed) == (back.number, back.placed)
    assert answer.cards is not None and answer.cards.changed == (back.number,)
    assert not check_yard(shop).differences


def test_it_is_said_which_cards_stand_and_which_changed(shop: Yard) -> None:
    job = cabinet(shop)
    before = planned(shop, job)
    (back,) = of(before, "back")
    report_gone(shop, back.tag or "", "dropped")
    answer, _ = plan_and_store(shop, job, QUICK, plan_again)
    says = summary(answer, Unit.MM, "EUR", shop.settings.seconds)[0]
    others = " and ".join(str(x.number) for x in before if x.number != back.number)
    assert says == f"Card {back.number} changed; cards {others} stand."


def test_what_was_cut_keeps_the_numbers_of_the_other_cards(shop: Yard) -> None:
    job = cabinet(shop)
    before = planned(shop, job)
    (back,) = of(before, "back")
    first, other = of(before, "side")
    pull(shop, [first.tag or ""])
    confirm_cut(shop, first.tag or "")
    report_gone(shop, back.tag or "", "dropped")
    after = planned(shop, job)
    assert {x.number for x in after} == {back.number, other.number}
    assert [x.leftovers for x in of(after, "side")] == [other.leftovers]
    assert not check_yard(shop).differences


def test_a_part_spoiled_after_all_was_cut_is_planned_again(shop: Yard) -> None:
    part = JobPart(name="side", count=1, length=1200 * MM, width=590 * MM, materials=(PLY,))
    job = add_job(shop, "sides", "sides", [part])
    (only,) = planned(shop, job)
    pull(shop, [only.tag or ""])
    confirm_cut(shop, only.tag or "")
    bad = GivenPart(name="side", length=part.length, width=part.width)
    spoil(shop, only.tag or "", [bad], [])
    (again,) = planned(shop, job_by_id(shop, job.id))
    assert again.tag != only.tag and [p.name for p in again.placed] == ["side"]
    assert not check_yard(shop).differences


def test_a_new_plan_comes_only_where_it_saves_more_than_the_change_costs(shop: Yard) -> None:
    """An offcut just large enough for one side shows up: it spares cutting into a second sheet."""
    part = JobPart(name="side", count=1, length=1200 * MM, width=590 * MM, materials=(PLY,))
    job = add_job(shop, "one side", "one side", [part])
    before = planned(shop, job)
    offcut = lay(shop, before[0].material_id, 1, (1210, 600), Kind.OFFCUT)
    set_settings(shop, {"change_seconds": "36000"})
    assert [x.tag for x in planned(shop, job)] == [before[0].tag]
    set_settings(shop, {"change_seconds": "0"})
    assert [x.tag for x in planned(shop, job)] == [offcut]


@pytest.mark.parametrize("ready", (True, False))
def test_a_card_on_a_dear_sheet_goes_where_a_cheaper_one_saves_more_than_the_change(
    shop: Yard, ready: bool
) -> None:
    """A full piece on the rack costs what it would to buy it again, but nothing is bought to save that."""
    set_settings(shop, {"change_seconds": "36000"})
    oak = add_material(shop, "oak ply", Form.SHEET, "18 mm", 18 * MM, grain=True).id
    add_price(shop, oak, 3000 * MM, 1500 * MM, 60 * MONEY)
    dear = lay(shop, oak, 1, (3000, 1500))
    part = JobPart(name="side", count=1, length=1200 * MM, width=590 * MM, materials=("oak ply 18 mm",))
    job = add_job(shop, "one side", "one side", [part])
    assert [x.tag for x in planned(shop, job)] == [dear]
    add_price(shop, oak, 2440 * MM, 1220 * MM, 40 * MONEY)
    cheap = lay(shop, oak, 1) if ready else None
    pull(shop, [dear])
    assert [x.tag for x in planned(shop, job)] == [dear]
    set_settings(shop, {"change_seconds": "120"})
    assert [x.tag for x in planned(shop, job)] == [cheap or dear]


def test_a_sheet_to_buy_goes_where_one_like_it_came_to_the_rack(shop: Yard) -> None:
    oak = add_material(shop, "oak ply", Form.SHEET, "18 mm", 18 * MM, grain=True).id
    add_price(shop, oak, 2440 * MM, 1220 * MM, 40 * MONEY)
    part = JobPart(name="side", count=1, length=1200 * MM, width=590 * MM, materials=("oak ply 18 mm",))
    job = add_job(shop, "one side", "one side", [part])
    assert [x.tag for x in planned(shop, job)] == [None]
    came = lay(shop, oak, 1)
    assert [x.tag for x in planned(shop, job)] == [came]


def test_a_twin_nearer_by_does_not_replace_what_is_at_the_saw(shop: Yard) -> None:
    """Even where a change of card costs nothing: it would be carried both ways."""
    set_settings(shop, {"change_seconds": "0"})
    part = JobPart(name="side", count=2, length=1200 * MM, width=590 * MM, materials=(PLY,))
    job = add_job(shop, "sides", "sides", [part])
    (before,) = planned(shop, job)
    pull(shop, [before.tag or ""])
    anew = replace(QUICK, anew=True)
    plan_and_store(shop, job, anew, plan_again)
    assert [x.tag for x in stored(shop, job)] == [before.tag]


def test_a_plan_is_mended_in_less_time_than_it_is_made(shop: Yard) -> None:
    asked = How().asked(shop)
    assert asked.again is not None and asked.again.seconds == MEND_SECONDS < (asked.limits.seconds or 0)
    assert How(seconds=20).asked(shop).again is None


def test_a_layout_that_gives_more_than_is_wanted_is_planned_again(shop: Yard) -> None:
    job = cabinet(shop)
    before = planned(shop, job)
    parts = [replace(job.parts[0], count=3), job.parts[1]]
    fewer = replace(job, parts=tuple(parts))
    answer: Answer = plan_again(shop, fewer, QUICK)
    assert sum(p.part == "side" for x in answer.plan.layouts for p in x.parts) == 3
    (back,) = of(before, "back")
    assert of(answer.layouts, "back")[0].placed == tuple(replace(p, number=None) for p in back.placed)
    assert job_by_id(shop, job.id).parts == job.parts


def test_a_planner_that_is_lost_once_leaves_the_plan_that_can_be_made_without_it(
    shop: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = cabinet(shop)
    before = planned(shop, job)
    (back,) = of(before, "back")
    report_gone(shop, back.tag or "", "dropped")
    real, calls = ask_planner.plan_in_child, count()

    def lost_first(*given: object, **named: object) -> Plan:
        if next(calls) % 2 == 0:
            raise PlannerLost("the planner failed: there was no first plan in time")
        return real(*given, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(ask_planner, "plan_in_child", lost_first)
    assert len(planned(shop, job)) == len(before)
    more = replace(job, parts=(replace(job.parts[0], count=9), job.parts[1]))
    calls = count(0, 2)
    with pytest.raises(PlannerLost):
        plan_again(shop, more, QUICK)


def test_a_layout_stays_on_another_material_only_if_all_its_parts_take_it() -> None:
    """A back may be of birch or poplar, a side of birch alone, a lid of what there is."""
    sheets = [Stock(id=m, kind=Kind.FULL, material=m, length=100, width=100) for m in ("birch", "poplar")]
    parts = {
        name: Part(id=name, length=10, width=10, count=1, materials=wanted)
        for name, wanted in {"back": ("birch", "poplar"), "side": ("birch",), "lid": None}.items()
    }
    problem = Problem(stock=tuple(sheets), parts=tuple(parts.values()), kerf=0)
    for stock, gives, stays in (
        ("poplar", ["back", "lid"], True), ("poplar", ["back", "side"], False),
        ("poplar", ["side", "lid"], False), ("birch", ["back", "side", "lid"], True),
    ):  # fmt: skip
        assert least_change._accepted(problem, stock, gives, parts) is stays


def test_a_layout_goes_to_its_own_piece_or_to_a_spare_one_like_it_and_to_each_but_once() -> None:
    """What is gone goes to B at the saw, then to C; D is named, E flawed, F an offcut, G larger."""
    like = {"kind": Kind.FULL, "flaws": (), "state": State.RACKED, "depth": 0}
    size = {"material_id": 1, "length": 100, "width": 50}
    own = {
        "A": {}, "C": {}, "B": {"state": State.PULLED, "depth": 3}, "D": {}, "E": {"flaws": ("a knot",)},
        "F": {"kind": Kind.OFFCUT}, "G": {"width": 60},
    }  # fmt: skip
    pieces = [SimpleNamespace(tag=tag, **(like | size | what)) for tag, what in own.items()]
    question: Any = SimpleNamespace(pieces={1: pieces})
    problem: Any = SimpleNamespace(stock=[SimpleNamespace(id=name) for name in (*own, "to buy")])

    def layout(tag: str | None, stock: str = "", **other: int) -> Any:
        return SimpleNamespace(tag=tag, stock=stock, **(size | other))

    found = least_change._Pieces(question, problem, named={"A", "D", "gone"}, full={"gone", "A"})
    assert found.like(layout("A")) == "A"
    assert found.like(layout("A", width=60)) == "G", (
        "it measures otherwise now, and one like the layout is spare"
    )
    assert found.like(layout("offcut gone")) is None
    assert [found.like(layout("gone")) for _ in range(3)] == ["B", "C", None]
    assert (found.like(layout(None, "to buy")), found.like(layout(None, "not sold"))) == ("to buy", None)
