"""What cut cards in hand show stays true: numbers of parts and settings, and which cards to print again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.desk import paperwork
from stockyard.desk.ask_planner import Asked
from stockyard.desk.papers import changed_cards
from stockyard.desk.paperwork import OnPaper
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import plan_and_store
from stockyard.desk.replan import plan_again
from stockyard.errors import Refused
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.limits import Limits
from stockyard.planning.problem import MONEY, Kind
from stockyard.printing.papers import CutCard
from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.jobs import add_job, job_by_id
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Job, JobPart, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, shelve
from stockyard.yard.places import add_place
from stockyard.yard.plans import standing_plan
from stockyard.yard.pulling import pull, report_gone
from stockyard.yard.undo import last_deed, undo
from tests.quick_plans import plan_here

QUICK = Asked(limits=Limits(seconds=None, work=3), compare=False)
PLY = "birch ply 18 mm"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Yard]:
    """Six sheets, and a job that takes three: two sides from each, and rails from one of them."""
    plan_here(monkeypatch)
    with yard.new(tmp_path / "yard.db", Settings()) as y:
        add_place(y, "RACK", Storage.FLAT)
        made = add_material(y, "birch ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
        add_price(y, made.id, 2440 * MM, 1220 * MM, 60 * MONEY)
        full = Arrival(
            material_id=made.id, kind=Kind.FULL, length=2440 * MM, width=1220 * MM, place="RACK", count=6
        )
        shelve(y, [full])
        side = JobPart(name="side", count=6, length=1800 * MM, width=590 * MM, materials=(PLY,))
        rail = JobPart(name="rail", count=5, length=560 * MM, width=90 * MM, materials=(PLY,))
        add_job(y, "hall", "hall", [side, rail])
        yield y
        assert check_yard(y).differences == ()


def planned(y: Yard) -> dict[int, CutCard]:
    plan_and_store(y, hall(y), QUICK, plan_again)
    return cards(y)


def hall(y: Yard) -> Job:
    return job_by_id(y, 1)


def cards(y: Yard) -> dict[int, CutCard]:
    return {card.number: card for card in paperwork.cards(y, "hall")}


def numbers(card: CutCard) -> list[tuple[str, int, int, int]]:
    return sorted((p.line, p.x, p.y, p.number) for p in card.parts)


def settings(card: CutCard) -> list[tuple[int, int]]:
    return [(step.number, step.setting) for step in card.steps]


def lose(y: Yard, number: int) -> None:
    report_gone(y, cards(y)[number].tag, "warped")


def test_an_earlier_card_that_changes_leaves_the_numbers_on_the_others(shop: Yard) -> None:
    before = planned(shop)
    assert sorted(n for card in before.values() for n in numbers(card) if n[0] == "side")[0][0] == "side"
    lose(shop, 1)
    after = planned(shop)
    for n in (2, 3):
        assert numbers(after[n]) == numbers(before[n]) and settings(after[n]) == settings(before[n])
    for line, count in (("side", 6), ("rail", 5)):
        got = sorted(p.number for card in after.values() for p in card.parts if p.line == line)
        assert got == list(range(1, count + 1))


def test_a_new_card_takes_settings_that_no_standing_card_has_for_another_figure(shop: Yard) -> None:
    planned(shop)
    lose(shop, 1)
    after = planned(shop)
    figures: dict[tuple[str, int], set[int]] = {}
    for card in after.values():
        for step in card.steps:
            if step.setting:
                figures.setdefault((step.way, step.setting), set()).add(step.fence)
    assert figures and all(len(found) == 1 for found in figures.values())


def test_the_numbers_go_on_from_those_of_pieces_that_are_cut(shop: Yard) -> None:
    before = planned(shop)
    pull(shop, [before[1].tag])
    confirm_cut(shop, before[1].tag)
    cut = {(p.line, p.number) for p in before[1].parts}
    lose(shop, 2)
    after = planned(shop)
    assert numbers(after[3]) == numbers(before[3])
    left = [(p.line, p.number) for card in after.values() for p in card.parts]
    assert not cut & set(left) and len(left) == len(set(left)) == 11 - len(cut)


def test_what_changed_is_measured_against_what_was_printed_last(shop: Yard) -> None:
    planned(shop)
    plan = standing_plan(shop, 1)
    assert plan is not None and changed_cards(shop, hall(shop), plan) == {1, 2, 3}, "none is in hand"
    paperwork.printed(shop, "hall")
    with pytest.raises(Refused, match="still hold"):
        paperwork.papers(shop, "hall", changed=True)
    lose(shop, 1)
    planned(shop)
    lose(shop, 3)
    planned(shop)
    plan = standing_plan(shop, 1)
    assert plan is not None and changed_cards(shop, hall(shop), plan) == {1, 3}, "both of them"
    assert paperwork.on_paper(shop, "hall") is OnPaper.BEFORE
    paperwork.printed(shop, "hall")
    assert paperwork.on_paper(shop, "hall") is OnPaper.NOW


def test_printing_is_no_deed_that_undo_meets_or_that_is_in_its_way(shop: Yard) -> None:
    planned(shop)
    paperwork.printed(shop, "hall")
    assert last_deed(shop).what == "plan"
    undo(shop, last_deed(shop).id)
    assert standing_plan(shop, 1) is None
