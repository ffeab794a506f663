"""Hands and saw become area by each material's own price: a minute is little oak ply and much hardboard."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.desk.ask_planner import Asked
from stockyard.desk.plan_job import plan_job
from stockyard.desk.questions import questions
from stockyard.kinds import Grain
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.limits import Limits
from stockyard.planning.problem import MONEY, Kind
from stockyard.planning.sawing.aim import price
from stockyard.planning.sawing.report import facts
from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.jobs import add_job
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Job, JobPart, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, shelve
from stockyard.yard.places import add_place
from stockyard.yard.shop import change_settings

MM = TICKS_PER_MM
PRICES = {"oak ply": 120, "hardboard": 20}
"""For a sheet of 2 m²; a whole offcut of each lies on the rack too, and a material without a price."""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Yard]:
    with yard.new(tmp_path / "yard.db", Settings()) as opened:
        add_place(opened, "RACK", Storage.BRACKETS)
        for title in (*PRICES, "old board"):
            made = add_material(opened, title, Form.SHEET, "18 mm", 18 * MM, grain=False)
            if title in PRICES:
                add_price(opened, made.id, 2000 * MM, 1000 * MM, PRICES[title] * MONEY)
            one = Arrival(
                material_id=made.id, kind=Kind.OFFCUT, length=600 * MM, width=500 * MM, place="RACK"
            )
            shelve(opened, [one])
        yield opened


def job_of(shop: Yard, *titles: str, name: str = "cabinet") -> Job:
    parts = [
        JobPart(
            name=t,
            count=2 + 3 * n,
            length=700 * MM,
            width=400 * MM,
            materials=(f"{t} 18 mm",),
            grain=Grain.ANY,
        )
        for n, t in enumerate(titles)
    ]
    return add_job(shop, name, name, parts)


@pytest.mark.parametrize("hour", [20, 90])
def test_a_minute_is_worth_the_same_money_in_every_material(shop: Yard, hour: int) -> None:
    change_settings(shop, replace(shop.settings, hour_worth=hour))
    (question,) = questions(shop, job_of(shop, *PRICES))
    minute = Fraction(hour * MONEY, 60)
    seen = set()
    for row in question.problem.stock:
        own = Fraction(PRICES[row.material.removesuffix(" 18 mm")] * MONEY, 2_000_000 * MM * MM)
        assert question.problem.effort_on(row).fence * own == pytest.approx(float(minute), rel=0.002)
        seen.add((row.material, row.kind))
    assert len(seen) == 4, "full pieces and offcuts of both"


def test_the_price_of_a_plan_is_what_its_material_and_minutes_cost(shop: Yard) -> None:
    """The one price, as money: each material at its own price, and the seconds at what an hour is worth."""
    answer = plan_job(shop, job_of(shop, *PRICES), Asked(limits=Limits(seconds=None, work=2), compare=False))
    problem, plan = answer.problem, answer.plan
    stock = {s.id: s for s in problem.stock}
    money = Fraction(0)
    for layout in plan.layouts:
        row = stock[layout.stock]
        kept = sum(problem.worth.of(left.dx, left.dy) for left in layout.leftovers)
        a_tick2 = Fraction(PRICES[row.material.removesuffix(" 18 mm")] * MONEY, 2_000_000 * MM * MM)
        money += (row.area - kept) * a_tick2
    second = Fraction(shop.settings.hour_worth * MONEY, 3600)
    hands = facts(problem, plan).seconds(shop.settings.seconds) * second
    mean = Fraction(sum(PRICES.values()) * MONEY, len(PRICES) * 2_000_000 * MM * MM)
    assert float(price(problem, plan) * mean) == pytest.approx(float(money + hands), rel=0.01)


def test_a_material_without_a_price_counts_as_the_others_do(shop: Yard) -> None:
    (question,) = questions(shop, job_of(shop, "oak ply", "old board"))
    fence = {s.material: question.problem.effort_on(s).fence for s in question.problem.stock}
    assert len(set(fence.values())) == 1
    (alone,) = questions(shop, job_of(shop, "old board", name="shelf"))
    assert question.problem.effort.fence < alone.problem.effort.fence, "no price at all: the usual areas"
