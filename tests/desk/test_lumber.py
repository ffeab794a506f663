"""Lumber in random widths at the desk: priced by the board foot, in what a job and a month cost."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.desk import costs, racks, stock
from stockyard.desk.ask_planner import Asked
from stockyard.desk.job_list import Ways, understand
from stockyard.desk.papers import papers_of
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import plan_and_store
from stockyard.errors import BadInput
from stockyard.measure import MONEY
from stockyard.planning.limits import Limits
from stockyard.settings import inch_shop
from stockyard.yard import Yard
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.jobs import add_job
from stockyard.yard.model import Form, Job, Storage
from stockyard.yard.places import add_place
from stockyard.yard.plans import standing_plan
from stockyard.yard.pulling import pull, to_pull


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    with yard.new(tmp_path / "yard.db", inch_shop()) as y:
        add_place(y, "WALL", Storage.BRACKETS)
        stock.add_material(y, "red oak", "4/4", Form.BOARD, stock.MaterialFacts(measured="1"))
        stock.add_material(y, "birch ply", "3/4", Form.SHEET, stock.MaterialFacts())
        yield y


def planned(y: Yard, text: str) -> Job:
    job = add_job(y, "box", text, understand(y, text, Ways(first="along")).parts)
    plan_and_store(y, job, Asked(limits=Limits(seconds=None, work=1), compare=False))
    return job


def test_a_board_of_any_width_costs_its_tally(shop: Yard) -> None:
    line = stock.add_price(shop, "oak", "96 x 6", "9.50", "the mill", per="board foot")
    # By hand: 8 ft x 6 in / 12 = 4 board feet.
    assert (line.price, line.rate, line.board_feet) == (38 * MONEY, 9.5 * MONEY, 4)
    (board,) = racks.shelve(shop, racks.ToShelve(material="oak", place="WALL", size="10 ft x 9 1/2")).pieces
    # By hand: 10 x 9.5 / 12 = 7.9, tallied as 8.
    assert (board.cost, board.guessed, board.board_feet, board.lumber) == (
        76 * MONEY,
        False,
        8,
        "8 board feet",
    )
    (own,) = racks.shelve(
        shop, racks.ToShelve(material="oak", place="WALL", size="10 ft x 9", cost="50")
    ).pieces
    assert own.cost == 50 * MONEY
    assert racks.find(shop, "oak").fits[0].piece.board_feet == 8
    (part,) = racks.shelve(shop, racks.ToShelve(material="oak", place="WALL", offcut="32 x 4")).pieces
    assert part.lumber == "0.9 board feet"


@pytest.mark.parametrize(
    ("words", "per", "why"),
    [("birch", "board foot", "is sheets"), ("oak", "yard", "is not sold by the 'yard'")],
)
def test_what_is_not_sold_so_is_refused(shop: Yard, words: str, per: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        stock.add_price(shop, words, "96 x 6", "9.50", per=per)
    assert stock.list_prices(shop) == ()


def test_random_widths_want_a_size(shop: Yard) -> None:
    stock.add_price(shop, "oak", "96 x 6", "9.50", per="bf")
    with pytest.raises(BadInput, match="random widths"):
        racks.shelve(shop, racks.ToShelve(material="oak", place="WALL"))


def test_a_job_and_a_month_tell_the_cost_of_a_board_foot(shop: Yard) -> None:
    stock.add_price(shop, "oak", "96 x 6", "9.50", per="bf")
    racks.shelve(shop, racks.ToShelve(material="oak", place="WALL", size="96 x 6", count=2))
    job = planned(shop, "red oak 4/4\n2 sides 94 x 6")
    plan = standing_plan(shop, job.id)
    assert plan is not None
    pull(shop, [p.tag for p in to_pull(shop, job.id)], job.id)
    for layout in plan.layouts:
        assert layout.tag is not None
        confirm_cut(shop, layout.tag)
    (line,) = costs.lumber_of_job(shop, "box")
    # By hand: both boards went in whole, 2 x 4 board feet for 2 x 38.
    assert (line.count, line.money) == (8, 76 * MONEY)
    assert line.says == "red oak 4/4: 8 board feet, 9.50 USD a board foot"
    month = costs.month_costs(shop)[-1].month
    assert costs.lumber_notes(shop, month) == (
        f"Bought in {month}: red oak 4/4: 8 board feet, 9.50 USD a board foot.",
    )
    assert check_yard(shop).differences == ()


def test_what_is_bought_says_about_how_much_lumber_it_is(shop: Yard) -> None:
    stock.add_price(shop, "oak", "96 x 6", "9.50", "the mill", per="bf")
    job = planned(shop, "red oak 4/4\n2 sides 90 x 5")
    (line,) = papers_of(shop, job).pull_list.buy
    assert (line.count, line.price) == (2, "38.00 USD")
    assert line.supplier == "about 4 board feet at 9.50 USD a board foot, the mill"
