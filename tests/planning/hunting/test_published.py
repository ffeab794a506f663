"""Plans against published optima and worked figures."""

from __future__ import annotations

from typing import Any

import pytest

from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Improvement, Limits
from stockyard.planning.plan import Plan, Status
from stockyard.planning.problem import MONEY, Grain, Kind, Part, Problem, Stock
from stockyard.planning.verify import faults
from tests.planning.jobs import published

# Macedo, Alves, Valério de Carvalho 2010: real furniture orders, optima proven by H. Becker.
INSTANCES = {i["name"]: i for i in published("macedo_furniture.json")}
# One of 339 parts is left to the slow tests.
LONG = {"A15"}
# Far more than the optimum takes on an idle machine; a search ends where it is reached.
SECONDS = 60.0


def sheets(instance: dict[str, Any], grain: Grain, optimum: int) -> Plan:
    """Solve a one-size instance, kerf 0, every sheet costs 1; stop as soon as the optimum is reached."""
    reached: list[Improvement] = []
    length, width = instance["stock"]
    problem = Problem(
        stock=(
            Stock(
                id="sheet", kind=Kind.FULL, material="panel", length=length * MM, width=width * MM,
                count=None, cost=MONEY, grain=True,
            ),
        ),
        parts=tuple(
            Part(id=f"p{n}", length=w * MM, width=h * MM, count=demand, grain=grain)
            for n, (w, h, demand) in enumerate(instance["items"])
        ),
    )  # fmt: skip
    plan = solve(
        problem,
        limits=Limits(seconds=SECONDS),
        report=reached.append,
        stop=lambda: reached[-1].missing == 0 and reached[-1].money <= optimum * MONEY,
    )
    assert faults(problem, plan) == ()
    assert plan.bound.full_cost <= optimum * MONEY
    return plan


def test_there_are_ten_published_instances() -> None:
    assert len(INSTANCES) >= 10


@pytest.mark.parametrize("name", [n for n in INSTANCES if n not in LONG])
def test_published_furniture_orders_need_no_more_than_the_optimum(name: str) -> None:
    optimum = INSTANCES[name]["sheets"]
    assert len(sheets(INSTANCES[name], Grain.ALONG, optimum).layouts) == optimum


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(LONG))
def test_long_published_furniture_orders_need_no_more_than_the_optimum(name: str) -> None:
    optimum = INSTANCES[name]["sheets"]
    assert len(sheets(INSTANCES[name], Grain.ALONG, optimum).layouts) == optimum


@pytest.mark.parametrize("name", [n for n, i in INSTANCES.items() if i["turned"]])
def test_published_furniture_orders_that_may_turn_need_no_more_than_the_optimum(name: str) -> None:
    optimum = INSTANCES[name]["turned"]
    assert len(sheets(INSTANCES[name], Grain.ANY, optimum).layouts) == optimum


def boards(length: float, width: float, parts: list[tuple[float, float, int]], kerf: float = 0.125) -> Plan:
    """Cut parts (length, width, count) in inches from one board."""
    problem = Problem(
        stock=(
            Stock(
                id="board", kind=Kind.FULL, material="fir", length=round(length * INCH),
                width=round(width * INCH), cost=MONEY, grain=True,
            ),
        ),
        parts=tuple(
            Part(id=f"p{n}", length=round(a * INCH), width=round(b * INCH), count=c)
            for n, (a, b, c) in enumerate(parts)
        ),
        kerf=round(kerf * INCH),
    )  # fmt: skip
    plan = solve(problem, limits=Limits(seconds=None, work=2))
    assert faults(problem, plan) == ()
    return plan


def placed(plan: Plan) -> int:
    return sum(len(layout.parts) for layout in plan.layouts)


# PS 20-20 Table 3: a nominal 2x4 is 1-1/2 x 3-1/2 in dry, a 2x12 is 11-1/4 in wide.
TWO_BY_FOUR, TWO_BY_TWELVE = 3.5, 11.25


def test_two_two_by_twos_come_from_a_two_by_four_and_three_eighths_are_left() -> None:
    plan = boards(96, TWO_BY_FOUR, [(96, 1.5, 3)])
    assert placed(plan) == 2
    assert plan.status is Status.SHORT
    last = max(p.y + p.dy for p in plan.layouts[0].parts)
    assert TWO_BY_FOUR * INCH - last == 3 * INCH / 8


def test_the_largest_equal_pair_from_a_two_by_four() -> None:
    assert placed(boards(96, TWO_BY_FOUR, [(96, 1.6875, 2)])) == 2
    assert placed(boards(96, TWO_BY_FOUR, [(96, 1.6875 + 1 / 64, 2)])) == 1


def test_three_two_by_fours_come_from_a_two_by_twelve_and_half_an_inch_is_left() -> None:
    plan = boards(96, TWO_BY_TWELVE, [(96, 3.5, 3)])
    assert placed(plan) == 3
    assert TWO_BY_TWELVE * INCH - max(p.y + p.dy for p in plan.layouts[0].parts) == INCH / 2


# Kerf traps: plain arithmetic with a 1/8 in kerf.
@pytest.mark.parametrize(
    ("board", "part", "wanted", "fit"),
    [(96, 24, 4, 3), (192, 48, 4, 3), (192, 38, 5, 5), (48, 11.90625, 4, 4), (48, 11.921875, 4, 3)],
)
def test_kerf_decides_how_many_parts_a_board_gives(board: float, part: float, wanted: int, fit: int) -> None:
    plan = boards(board, TWO_BY_FOUR, [(part, TWO_BY_FOUR, wanted)])
    assert placed(plan) == fit
    assert sum(u.count for u in plan.unplaced) == wanted - fit


def test_four_parts_of_a_panel_in_millimetres() -> None:
    """1220 mm in four with a 3.2 mm kerf: 302.6 mm each, no more."""
    for part, fit in ((302.6, 4), (302.7, 3)):
        assert placed(boards(1220 / 25.4, 4, [(part / 25.4, 4, 4)], kerf=3.2 / 25.4)) == fit
