"""Shops with machines drawn at random: a plan comes out wherever one exists, and its saws make every cut."""

from __future__ import annotations

import json
from dataclasses import replace
from random import Random

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Layout, Plan
from stockyard.planning.problem import Method, Problem
from stockyard.planning.verify import faults
from stockyard.printing.saw_safety import grave_words, light_words
from stockyard.printing.step_rows import step_rows
from stockyard.saws import Machine, Saws, can_cut
from tests.planning.problems import random_problem
from tests.planning.set_problems import with_sets
from tests.printing.samples import cards_of

QUICK, MANY = range(6), range(6, 300)
TRIM = 12 * MM
"""What a trim takes at most; it may be made by hand."""
TABLE_SAW = Saws(rip_width=1300 * MM, stop_length=0, stop_reach=0, guide_length=0)
SHEET = {
    "id": "s",
    "kind": "full",
    "material": "ply",
    "length": 2440,
    "width": 1220,
    "cost": 50,
    "count": None,
}
CABINET = [
    {"id": "side", "length": 720, "width": 560, "count": 4, "grain": "along"},
    {"id": "shelf", "length": 564, "width": 540, "count": 5, "grain": "any"},
    {"id": "rail", "length": 564, "width": 90, "count": 6, "grain": "along"},
    {"id": "plinth", "length": 1200, "width": 100, "count": 2, "grain": "along"},
]


def shop(rng: Random) -> Saws:
    """Return a shop of a few machines, or of none."""
    return Saws(
        rip_width=rng.choice((0, 300, 760, 1300)) * MM, stop_length=rng.choice((0, 0, 600, 1220)) * MM,
        stop_reach=rng.choice((0, 0, 300, 610)) * MM, guide_length=rng.choice((0, 0, 800, 1400, 2600)) * MM,
        one_person=rng.choice((600, 914)) * MM, apart=rng.random() < 0.6,
    )  # fmt: skip


def cuts_out_of_reach(problem: Problem, layout: Layout) -> list[str]:
    """Replay the cuts of a layout, and judge each by the reach of the machines alone."""
    saws, piece = problem.saws, next(s for s in problem.stock if s.id == layout.stock)
    bench, found = {"stock": (piece.length, piece.width)}, []
    sizes = {(p.dx, p.dy) for p in layout.parts}
    for cut in layout.cuts:
        dx, dy = bench[cut.piece]
        along = cut.direction == "crosscut"
        reach, run = (dx, dy) if along else (dy, dx)
        kept = (cut.at, reach - cut.at - problem.kerf)
        for name, size in zip(cut.gives, kept, strict=True):
            if name is not None:
                bench[name] = (size, dy) if along else (dx, size)
        crosscut = along is not (piece.width > piece.length and not piece.grain)
        at_gauge = run <= saws.stop_reach and (cut.fence <= saws.stop_length or not saws.stop_length)
        at_fence = cut.fence <= saws.rip_width and (cut.fence <= run or not crosscut)
        if run <= saws.guide_length or at_fence or at_gauge:
            continue
        trims = None in cut.gives and reach - cut.fence <= TRIM and bench_part(bench, cut.gives) not in sizes
        if not trims:
            found.append(f"step {cut.step}: {cut.fence} of {reach}, {run} long")
    return found


def bench_part(bench: dict[str, tuple[int, int]], gives: tuple[str | None, ...]) -> tuple[int, int] | None:
    """Return the size of the one piece that a trim gives."""
    return next((bench[name] for name in gives if name is not None), None)


def planned(problem: Problem) -> Plan:
    plan = solve(problem, limits=Limits(seconds=None, work=1))
    assert faults(problem, plan) == ()
    assert [cuts_out_of_reach(problem, layout) for layout in plan.layouts] == [[]] * len(plan.layouts)
    return plan


def check(seed: int) -> None:
    """The verifier also finds what is left out though a piece that is not used could give it."""
    problem, _ = read_problem(json.dumps(with_sets(seed) if seed % 4 == 3 else random_problem(seed)))
    problem = replace(problem, method=Method.SAW, saws=shop(Random(seed)))
    plan = planned(problem)
    for card in cards_of(problem, plan, problem.unit):
        for step in card.steps:
            words = " ".join((*grave_words(step, card), *light_words(step, card)))
            assert "break the piece down by hand" not in words
            assert step.machine is not Machine.MARK or "with a stop" not in words
    if not (problem.saws.rip_width or problem.saws.guide_length or problem.saws.stop_reach):
        assert not any(layout.cuts for layout in plan.layouts)


@pytest.mark.parametrize("seed", QUICK)
def test_a_shop_of_any_machines_cuts_what_it_can_and_nothing_out_of_reach(seed: int) -> None:
    check(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", MANY)
def test_so_do_three_hundred_shops(seed: int) -> None:
    check(seed)


@pytest.mark.parametrize(
    "saws",
    [
        replace(TABLE_SAW, rip_width=760 * MM, stop_length=1220 * MM, stop_reach=610 * MM),
        Saws(rip_width=0, stop_length=0, stop_reach=0, guide_length=1400 * MM),
    ],
)
def test_a_cabinet_comes_out_of_a_small_shop(saws: Saws) -> None:
    """A fence and a small sled; only a guided saw shorter than the sheet."""
    problem, _ = read_problem(json.dumps({"kerf": 3, "edge_trim": 5, "stock": [SHEET], "parts": CABINET}))
    assert not planned(replace(problem, saws=saws)).unplaced


def test_with_a_fence_alone_sheets_are_cut_across_first() -> None:
    """564 long and 90 wide: no strip of 90 is cut across at a fence, but a sheet of 1220 is."""
    parts = [{"id": "rail", "length": 564, "width": 90, "count": 12, "grain": "along"}]
    problem, _ = read_problem(json.dumps({"kerf": 3, "stock": [{**SHEET, "grain": True}], "parts": parts}))
    plan = planned(replace(problem, saws=TABLE_SAW))
    assert not plan.unplaced
    (layout,) = plan.layouts
    assert layout.cuts[0].direction == "crosscut"
    assert layout.cuts[0].fence == 564 * MM
    assert {c.fence for c in layout.cuts if c.direction == "rip"} == {90 * MM}


def test_strips_are_cut_to_length_to_a_mark_where_the_gauge_has_no_stop() -> None:
    board = {"id": "b", "kind": "full", "material": "oak", "length": 2400, "width": 150, "grain": True}
    parts = [{"id": "step", "length": 700, "width": 150, "count": 3}]
    problem, _ = read_problem(json.dumps({"kerf": 3, "stock": [board], "parts": parts}))
    problem = replace(problem, saws=replace(TABLE_SAW, stop_reach=300 * MM))
    (card,) = cards_of(problem, planned(problem), Unit.INCH)
    for step, row in zip(card.steps, step_rows(card), strict=False):
        assert step.machine is Machine.MARK
        assert "to a mark from the" in row.at_fence
        assert light_words(step, card)[0] == "to length: on a miter gauge to a mark, never on the rip fence"


def test_a_set_that_no_saw_takes_apart_is_left_out_with_that_reason() -> None:
    """Three fronts of 300 in a row, 200 wide: too narrow to be cut across at a fence."""
    parts = [{"id": f"f{n}", "length": 300, "width": 200, "grain": "along"} for n in range(3)]
    group = {"id": "fronts", "run": "along", "members": ["f0", "f1", "f2"], "count": 1}
    base = {"kerf": 3, "stock": [{**SHEET, "grain": True}], "parts": parts, "groups": [group]}
    problem, _ = read_problem(json.dumps(base))
    plan = planned(replace(problem, saws=TABLE_SAW))
    assert {u.part for u in plan.unplaced} == {"f0", "f1", "f2"}
    assert all(u.reason.endswith("no saw of the shop takes it apart") for u in plan.unplaced)
    assert not planned(replace(problem, saws=replace(TABLE_SAW, stop_reach=200 * MM))).unplaced


def test_two_orders_of_cuts_are_all_there_is_to_try() -> None:
    """Beside a search through all pieces in hand that cuts on the grid of the figures can make."""
    every = [one_part(Random(seed)) for seed in range(400)]
    assert 50 < sum(every) < 350


def one_part(rng: Random) -> bool:
    saws = Saws(**{name: rng.choice((0, 3, 6, 9)) for name in
                   ("rip_width", "stop_length", "stop_reach", "guide_length")})  # fmt: skip
    piece = rng.randint(2, 12), rng.randint(2, 12)
    part = rng.randint(1, piece[0]), rng.randint(1, piece[1])
    seen, todo = {piece}, [piece]
    while todo:
        long, wide = todo.pop()
        for size in range(part[0], long):
            gauge = wide <= saws.stop_reach and (size <= saws.stop_length or not saws.stop_length)
            if wide <= saws.guide_length or gauge or size <= min(wide, saws.rip_width):
                todo += {(size, wide)} - seen
                seen.add((size, wide))
        for size in range(part[1], wide):
            gauge = long <= saws.stop_reach and (size <= saws.stop_length or not saws.stop_length)
            if size <= saws.rip_width or long <= saws.guide_length or gauge:
                todo += {(long, size)} - seen
                seen.add((long, size))
    assert can_cut(part, piece, saws) is (part in seen)
    return part in seen
