"""Plans on pieces with flaws: no part touches one, which the verifier and a check of its own see."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest

from stockyard.errors import BadInput
from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan, Status
from stockyard.planning.problem import Flaw, Kind, Part, Problem, Stock, Trim
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_data

MM = 3200
DATA = Path(__file__).parents[2] / "data"
SHEETS = json.loads((DATA / "sheets_with_flaws.json").read_text(encoding="utf-8"))
# USDA Forest Service 1998, data bank for kiln-dried red oak lumber; see tests/data/README.md.
BOARDS = json.loads((DATA / "redoak_boards.json").read_text(encoding="utf-8"))


def stock(
    id: str, length: int, width: int, *flaws: tuple[int, ...], kind: Kind = Kind.OFFCUT, trim: int = 0
) -> Stock:
    marks = tuple(Flaw(*(side * MM for side in f)) for f in flaws)
    return Stock(
        id=id, kind=kind, material="ply", length=length * MM, width=width * MM, grain=True, flaws=marks,
        cost=500_000 if kind is Kind.FULL else 0, edge_trim=Trim.all_round(trim * MM),
    )  # fmt: skip


def part(id: str, length: int, width: int, count: int = 1) -> Part:
    return Part(id=id, length=length * MM, width=width * MM, count=count)


def touching(problem: Problem, plan: Plan) -> list[tuple[str, str]]:
    """Return the parts that share a millimetre with a flaw, counted on a grid: nothing of the planner's."""
    found = []
    pieces = {s.id: s for s in problem.stock}
    for layout in plan.layouts:
        bad = {
            (x, y)
            for f in pieces[layout.stock].flaws
            for x in range(f.x // MM, (f.x + f.dx) // MM)
            for y in range(f.y // MM, (f.y + f.dy) // MM)
        }
        for p in layout.parts:
            if any(p.x <= x * MM < p.x + p.dx and p.y <= y * MM < p.y + p.dy for x, y in bad):
                found.append((layout.stock, p.part))
    return found


def planned(problem: Problem, work: int = 3) -> Plan:
    plan = solve(problem, limits=Limits(seconds=None, work=work))
    assert faults(problem, plan) == () and touching(problem, plan) == []
    return plan


def test_parts_lie_beside_a_flaw_and_a_leftover_lists_it() -> None:
    """By hand: a knot in the middle of 1000 x 400; two parts of 400 x 400 fit beside it and nowhere else."""
    problem = Problem(
        stock=(stock("a", 1000, 400, (450, 100, 80, 80)),), parts=(part("p", 400, 400, 2),), kerf=3 * MM
    )
    plan = planned(problem)
    assert plan.status is Status.PROVEN
    spots = sorted(p.x // MM for p in plan.layouts[0].parts)
    assert spots[0] + 400 <= 450 and spots[1] >= 530


def test_a_damaged_corner_costs_its_corner_and_no_sheet() -> None:
    problem = Problem(
        stock=(stock("bruised", 1200, 600, (0, 0, 80, 120)), stock("whole", 1200, 600, kind=Kind.FULL)),
        parts=(part("shelf", 700, 300, 1), part("side", 400, 400, 1)), kerf=3 * MM,
    )  # fmt: skip
    assert [layout.stock for layout in planned(problem).layouts] == ["bruised"]


def test_a_part_that_no_clear_place_holds_is_explained() -> None:
    problem = Problem(stock=(stock("a", 600, 400, (280, 180, 40, 40)),), parts=(part("p", 500, 300),))
    plan = planned(problem)
    assert plan.status is Status.SHORT and "clear of its flaws" in plan.unplaced[0].reason


def test_the_verifier_sees_a_part_on_a_flaw_and_a_flaw_left_out() -> None:
    problem = Problem(stock=(stock("a", 1000, 400),), parts=(part("p", 400, 400),), kerf=3 * MM)
    plan = planned(problem)
    hit = replace(problem, stock=(stock("a", 1000, 400, (10, 10, 5, 5)),))
    assert any("lies on the flaw" in fault for fault in faults(hit, plan))
    beyond = replace(problem, stock=(stock("a", 1000, 400, (900, 10, 5, 5)),))
    assert any("which flaws it contains" in fault for fault in faults(beyond, plan))
    own = planned(beyond).layouts[0].leftovers
    assert [f.flaws for f in own] == [(Flaw(900 * MM - own[0].x, 10 * MM, 5 * MM, 5 * MM),)]


def test_flaws_in_files() -> None:
    text = """{"stock": [{"id": "a", "kind": "offcut", "material": "ply", "length": 1000, "width": 400,
      "flaws": [{"x": 900, "y": 10, "dx": 5, "dy": 5}], "measured": 17.4}],
      "parts": [{"id": "p", "length": 400, "width": 400}], "kerf": 3}"""
    problem, notes = read_problem(text)
    assert notes == () and problem.stock[0].measured == round(17.4 * MM)
    (left,) = plan_data(problem, planned(problem))["layouts"][0]["leftovers"]
    assert [{k: float(v) for k, v in f.items()} for f in left["flaws"]] == [
        {"x": 497, "y": 10, "dx": 5, "dy": 5}
    ]
    with pytest.raises(BadInput, match=r"stock\[0\].flaws\[0\]: it reaches out of the piece 'a'"):
        read_problem(text.replace('"dx": 5', '"dx": 500'))


def all_of(sheet: dict[str, Any]) -> Problem:
    """Everything a best pattern holds, wanted from the one sheet."""
    length, width = sheet["sheet"]
    wanted = [part(f"p{n}", dx, dy, k) for n, (dx, dy, _, k) in enumerate(sheet["items"]) if k]
    return Problem(stock=(stock("s", length, width, *sheet["flaws"], kind=Kind.FULL),), parts=tuple(wanted))


@pytest.mark.parametrize("sheet", SHEETS[:3], ids=lambda s: s["name"])
def test_what_a_published_pattern_holds_comes_out_of_the_one_sheet(sheet: dict[str, Any]) -> None:
    assert planned(all_of(sheet)).status is Status.PROVEN


def cut_between_knots(board: dict[str, Any]) -> Problem:
    """The parts of a best crosscut pattern, wanted from the one board; 1/16 in is a mm here."""
    length, width = board["board"]
    wanted = [part(f"p{size}", size, width, n) for size, n in board["parts"] if n]
    return Problem(stock=(stock("b", length, width, *board["flaws"]),), parts=tuple(wanted), kerf=2 * MM)


@pytest.mark.parametrize("board", BOARDS[:6], ids=lambda b: b["name"])
def test_a_board_is_cut_between_its_knots(board: dict[str, Any]) -> None:
    assert planned(cut_between_knots(board)).status is Status.PROVEN


@pytest.mark.slow
@pytest.mark.parametrize("board", BOARDS[6:], ids=lambda b: b["name"])
def test_every_board_is_cut_between_its_knots(board: dict[str, Any]) -> None:
    assert planned(cut_between_knots(board)).status is Status.PROVEN


def test_a_blade_wider_than_the_flaw_beside_the_edge_takes_it_off() -> None:
    """By hand: a flaw of 1 at the low end of 700, a part of 699, a blade of 3: one cut takes the 1 off."""
    problem = Problem(
        stock=(stock("a", 700, 400, (0, 0, 1, 400)),), parts=(part("p", 699, 400),), kerf=3 * MM
    )
    plan = planned(problem)
    assert [(p.x, p.dx) for p in plan.layouts[0].parts] == [(MM, 699 * MM)]


def test_what_clear_pieces_can_not_give_comes_from_flawed_ones_at_once() -> None:
    """More is wanted than the clear sheet gives: the flawed one, which costs as much, is not left unused."""
    rows = (stock("clear", 1000, 500, kind=Kind.FULL), stock("bad", 1000, 500, (0, 0, 9, 9), kind=Kind.FULL))
    plan = planned(Problem(stock=rows, parts=(part("p", 900, 300, 4),), kerf=3 * MM), work=1)
    assert {layout.stock for layout in plan.layouts} == {"clear", "bad"}


@pytest.mark.slow
@pytest.mark.parametrize("tenth", range(10))
def test_six_hundred_random_problems_with_flaws_hold(tenth: int) -> None:
    """Invented at random: pieces with up to four flaws, trims and kerfs."""
    for seed in range(tenth, 600, 10):
        luck = Random(seed)
        rows = []
        for n in range(luck.randint(1, 3)):
            length, width = luck.randint(300, 1500), luck.randint(200, 800)
            flaws = [
                (
                    luck.randint(0, length - 61),
                    luck.randint(0, width - 61),
                    luck.randint(1, 60),
                    luck.randint(1, 60),
                )
                for _ in range(luck.randint(0, 4))
            ]
            kind = luck.choice((Kind.FULL, Kind.OFFCUT))
            rows.append(stock(f"s{n}", length, width, *flaws, kind=kind, trim=luck.choice((0, 5))))
        parts = tuple(
            part(f"p{n}", luck.randint(50, 600), luck.randint(30, 400), luck.randint(1, 3)) for n in range(4)
        )
        planned(Problem(stock=tuple(rows), parts=parts, kerf=luck.choice((0, 3)) * MM), work=2)
