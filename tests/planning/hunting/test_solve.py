"""From problem to plan: every plan is verified, every level of the aim decides when those above tie."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.choosing.choose import Figures
from stockyard.planning.hunting.hunt import Hunt
from stockyard.planning.hunting.solve import Run, solve
from stockyard.planning.limits import Improvement, Limits
from stockyard.planning.model import shares
from stockyard.planning.plan import Plan, Status
from stockyard.planning.problem import MONEY, Grain, Kind, Part, Problem, Stock, Trim
from stockyard.planning.sawing.aim import score
from stockyard.planning.sawing.finish import fence_moves
from stockyard.planning.verify import faults
from tests.bench.large_jobs import large
from tests.planning.jobs import rack

FEW = Limits(seconds=None, work=3)


def sheet(name: str = "sheet", *, cost: int = 50, count: int | None = None, **more: object) -> Stock:
    base = Stock(
        id=name,
        kind=Kind.FULL,
        material="ply",
        length=2440 * MM,
        width=1220 * MM,
        count=count,
        cost=cost * MONEY,
    )
    return replace(base, **more)  # type: ignore[arg-type]


def offcut(name: str, length: int, width: int, **more: object) -> Stock:
    base = Stock(id=name, kind=Kind.OFFCUT, material="ply", length=length * MM, width=width * MM)
    return replace(base, **more)  # type: ignore[arg-type]


def part(name: str, length: int, width: int, count: int = 1, **more: object) -> Part:
    base = Part(id=name, length=length * MM, width=width * MM, count=count, grain=Grain.ANY)
    return replace(base, **more)  # type: ignore[arg-type]


def solved(problem: Problem, limits: Limits = FEW) -> Plan:
    plan = solve(problem, limits=limits)
    assert faults(problem, plan) == ()
    return plan


def used(plan: Plan) -> list[str]:
    return sorted(layout.stock for layout in plan.layouts)


def test_one_sheet_is_filled_and_proved() -> None:
    problem = Problem(stock=(sheet(),), parts=(part("side", 1218, 608, 4),), kerf=3 * MM)
    plan = solved(problem)
    assert used(plan) == ["sheet"]
    assert plan.status is Status.PROVEN


def test_level_1_priority_decides_when_stock_is_short() -> None:
    problem = Problem(
        stock=(offcut("o", 500, 300),),
        parts=(part("later", 480, 290, priority=1), part("first", 400, 280, priority=5)),
    )
    plan = solved(problem)
    assert plan.status is Status.SHORT
    assert [(u.part, u.count) for u in plan.unplaced] == [("later", 1)]


def test_level_2_money_decides_before_material() -> None:
    problem = Problem(
        stock=(sheet("dear", cost=90), sheet("cheap", cost=40, count=1)),
        parts=(part("top", 2000, 1000),),
    )
    assert used(solved(problem)) == ["cheap"]


def test_level_2_what_is_on_the_rack_goes_before_what_must_be_bought() -> None:
    problem = Problem(stock=(sheet("shop"), sheet("rack", count=1)), parts=(part("top", 2000, 1000),))
    assert used(solved(problem)) == ["rack"]


def test_level_2_offcuts_go_before_sheets() -> None:
    problem = Problem(stock=(sheet(), offcut("o", 700, 500)), parts=(part("door", 690, 490),))
    assert used(solved(problem)) == ["o"]


def test_level_3_the_smaller_offcut_is_taken() -> None:
    problem = Problem(
        stock=(offcut("large", 1200, 600), offcut("small", 710, 510)), parts=(part("door", 700, 500),)
    )
    assert used(solved(problem)) == ["small"]


def test_level_3_one_piece_is_pulled_rather_than_four_slivers() -> None:
    slivers = tuple(offcut(f"s{n}", 405, 105) for n in range(6))
    problem = Problem(
        stock=(*slivers, offcut("one", 820, 215)), parts=(part("slat", 400, 100, 4),), kerf=3 * MM
    )
    assert used(solved(problem)) == ["one"]


def test_level_4_the_piece_on_top_is_taken() -> None:
    problem = Problem(
        stock=(offcut("deep", 710, 510, dig=7), offcut("top", 710, 510, dig=0)),
        parts=(part("door", 700, 500),),
    )
    assert used(solved(problem)) == ["top"]


def test_grain_keeps_a_part_from_turning() -> None:
    tall = part("tall", 300, 900, grain=Grain.ALONG)
    problem = Problem(stock=(offcut("o", 1000, 400, grain=True), sheet(grain=True)), parts=(tall,))
    assert used(solved(problem)) == ["sheet"]
    free = replace(problem, parts=(replace(tall, grain=Grain.ANY),))
    assert used(solved(free)) == ["o"]


def test_thickness_and_material_are_kept_apart() -> None:
    thin = sheet("thin", thickness=6 * MM)
    thick = sheet("thick", thickness=18 * MM, material="oak")
    problem = Problem(
        stock=(thin, thick),
        parts=(
            part("back", 600, 400, thickness=6 * MM),
            part("top", 600, 400, materials=("oak",)),
            part("any", 300, 300),
        ),
    )
    assert used(solved(problem)) == ["thick", "thin"]


def test_a_part_that_fits_nothing_is_told() -> None:
    plan = solved(Problem(stock=(sheet(),), parts=(part("long", 2600, 100), part("ok", 100, 100))))
    assert plan.status is Status.SHORT
    assert [u.part for u in plan.unplaced] == ["long"]
    assert len(plan.layouts) == 1


def test_nothing_to_cut_is_a_plan() -> None:
    assert solved(Problem(stock=(sheet(),), parts=())).layouts == ()
    assert solved(Problem(stock=(), parts=(part("a", 10, 10),))).status is Status.SHORT


def test_the_same_seed_and_work_give_the_same_plan() -> None:
    parts = tuple(part(str(n), 300 + 37 * n, 120 + 23 * n, 3) for n in range(6))
    problem = Problem(stock=(sheet(), offcut("o", 900, 700)), parts=parts, kerf=3 * MM)
    assert solve(problem, limits=FEW, seed=4) == solve(problem, limits=FEW, seed=4)


def test_improvements_are_reported_from_worse_to_better() -> None:
    parts = tuple(part(str(n), 300 + 37 * n, 120 + 23 * n, 3) for n in range(8))
    problem = Problem(stock=(sheet(),), parts=parts, kerf=3 * MM)
    told: list[Improvement] = []
    plan = solve(problem, limits=FEW, report=told.append)
    order = [(t.missing, t.money, t.net) for t in told]
    assert order
    assert order == sorted(order, reverse=True)
    assert told[-1].money == score(problem, plan).money


def test_a_better_answer_is_told_as_it_comes() -> None:
    parts = tuple(part(str(n), 300 + 37 * n, 120 + 23 * n, 3) for n in range(8))
    hunt = Hunt(shares(Problem(stock=(sheet(), offcut("o", 900, 700)), parts=parts, kerf=3 * MM))[0], seed=0)
    told: list[Figures] = []
    hunt.tell = lambda: told.append(hunt.best.figures)
    hunt.start()
    assert told == sorted(told, reverse=True)
    assert told[-1] == hunt.best.figures


def test_stop_returns_the_best_so_far() -> None:
    plan = solve(
        Problem(stock=(sheet(),), parts=(part("a", 700, 500, 9),)),
        limits=Limits(seconds=60),
        stop=lambda: True,
    )
    assert plan.status is not Status.SHORT
    assert sum(len(layout.parts) for layout in plan.layouts) == 9


@settings(max_examples=12, deadline=None)
@given(st.data())
def test_every_plan_passes_the_verifier(data: st.DataObject) -> None:
    size = st.integers(30, 1300)
    rack = [
        offcut(f"o{n}", data.draw(size), data.draw(size), grain=data.draw(st.booleans()))
        for n in range(data.draw(st.integers(0, 4)))
    ]
    full = sheet(
        count=data.draw(st.sampled_from([None, 0, 1, 3])),
        edge_trim=Trim.all_round(data.draw(st.sampled_from([0, 5, 10])) * MM),
        grain=data.draw(st.booleans()),
    )
    parts = tuple(
        part(
            str(n),
            data.draw(size),
            data.draw(size),
            data.draw(st.integers(1, 5)),
            grain=data.draw(st.sampled_from(Grain)),
            priority=data.draw(st.integers(0, 2)),
        )
        for n in range(data.draw(st.integers(1, 6)))
    )
    problem = Problem(stock=(full, *rack), parts=parts, kerf=data.draw(st.sampled_from([0, 3, 4])) * MM)
    plan = solve(problem, limits=Limits(seconds=None, work=2))
    assert faults(problem, plan) == ()


@pytest.mark.slow
def test_a_thousand_parts_from_a_thousand_offcuts() -> None:
    rack = tuple(offcut(f"o{n}", 200 + 7 * n % 900, 150 + 11 * n % 500) for n in range(1000))
    parts = tuple(part(str(n), 100 + 13 * n % 700, 60 + 17 * n % 400, 5) for n in range(200))
    problem = Problem(stock=(sheet(), *rack), parts=parts, kerf=3 * MM)
    plan = solved(problem, Limits(seconds=5))
    assert plan.status is not Status.SHORT


def test_a_job_of_few_parts_is_ordered_over_all_its_pieces_however_late_it_is() -> None:
    """Many strips of few widths from many sheets: piece after piece moves the fence far more often."""
    problem = rack(3, 0, 12).problem
    run = Run(problem, Limits(seconds=60.0), 0, None, None)
    run.begin()
    at_best, late = run.plan(), run.plan(until=-inf)
    assert len(late.layouts) > 1
    piece_by_piece = replace(late, work=())
    assert fence_moves(problem, late) == fence_moves(problem, at_best) < fence_moves(problem, piece_by_piece)


def test_any_number_of_priorities() -> None:
    """A hundred and twenty of them, of which the sheet holds the ninety-six highest."""
    sheet = Stock(
        id="sheet", kind=Kind.FULL, material="m", length=1200 * MM, width=800 * MM, count=1, cost=MONEY
    )
    parts = tuple(Part(id=f"p{n}", length=100 * MM, width=100 * MM, priority=n) for n in range(120))
    plan = solve(Problem(stock=(sheet,), parts=parts), limits=Limits(seconds=None, work=3))
    assert {u.part for u in plan.unplaced} == {f"p{n}" for n in range(24)}


def test_little_time_is_kept_to_polish_a_large_job_that_may_still_save_material() -> None:
    """Nothing is paid where offcuts do, and net material is then what there is to save."""
    kept = {}
    for parts in (250, 320):
        run = Run(large(parts, 4, offcuts=900), Limits(seconds=60.0), 0, None, None)
        run.begin()
        assert all(h.proven and not h.done for h in run.hunts)
        kept[parts] = run._to_polish()
        assert run._left_to_polish() == pytest.approx(4.0)
    assert kept[250] == pytest.approx(4.0)
    assert kept[320] == pytest.approx(3.0)


def test_a_first_plan_draws_no_sheet_where_an_offcut_gives_all() -> None:
    """Sheets on the rack cost little beside those in town, and more of one than of the offcut is left."""
    racked = replace(sheet("racked", count=3), cost=MONEY // 20)
    stock = (racked, offcut("long", 2440, 700), sheet("to buy"))
    rails = part("rail", 1500, 75, 2, grain=Grain.ALONG)
    plan = solve(Problem(stock=stock, parts=(rails,), kerf=3 * MM), limits=Limits(seconds=0.0))
    assert [layout.stock for layout in plan.layouts] == ["long"]
    assert plan.status is Status.PROVEN
