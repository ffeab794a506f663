"""How far the bit runs, shared stretches counted once, and parts moved together for it; figures by hand."""

from __future__ import annotations

import json
from dataclasses import replace
from random import Random
from types import SimpleNamespace

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.choosing.answer import judge
from stockyard.planning.choosing.pool import Pool
from stockyard.planning.exact import problem_data, read_problem_data
from stockyard.planning.files import read_problem
from stockyard.planning.hunting.alike import merge
from stockyard.planning.hunting.solve import Run
from stockyard.planning.limits import Limits
from stockyard.planning.model import shares
from stockyard.planning.path import Shape, Stretch, path_length, shared
from stockyard.planning.placing.closer import closer
from stockyard.planning.placing.finish import moved_together
from stockyard.planning.placing.spots import candidate
from stockyard.planning.plan import Bound, Layout, Placement, Plan, Status
from stockyard.planning.problem import Grain, Kind, Method, Part, Problem, Stock, Trim
from stockyard.planning.sawing.aim import price
from stockyard.planning.sawing.report import facts
from stockyard.planning.tree import Node, Pattern, Spot
from stockyard.planning.verify import faults
from stockyard.worth import Worth

NOTHING_KEPT = Worth(keep_short_side=10**9)


def test_two_beside_each_other_share_what_faces() -> None:
    """Two squares of 10, 2 apart, one 4 higher: 80 round both, of which 6 are one pass."""
    boxes = [(0, 0, 10, 10), (12, 4, 10, 10)]
    assert path_length(boxes, 2, one_pass=False) == 80
    assert (shared(boxes, 2), path_length(boxes, 2, one_pass=True)) == (6, 74)
    assert shared(boxes, 1) == shared(boxes, 3) == 0
    upright = [(y, x, dy, dx) for x, y, dx, dy in boxes]
    assert shared(upright, 2) == 6


def test_four_in_a_square_share_a_cross() -> None:
    """Four squares of 10, 2 apart: each of the four neighbours shares 10."""
    assert shared([(0, 0, 10, 10), (12, 0, 10, 10), (0, 12, 10, 10), (12, 12, 10, 10)], 2) == 40


# A plate of 100 x 60 whose high end is half a circle, with a round hole of 20 across.
PLATE = Shape(
    around=round(70 * 2 + 60 + 3.14159265 * 30 + 3.14159265 * 20),
    x_low=(Stretch(0, 60),), y_low=(Stretch(0, 70),), y_high=(Stretch(0, 70),),
)  # fmt: skip


def test_a_shape_counts_as_it_is_cut_and_shares_its_straight_edges_alone() -> None:
    """Beside a square of 60: its flat end shares 60, its round end nothing, its side what is straight."""
    plate, square = (0, 0, 100, 60), (102, 0, 60, 60)
    shapes = (PLATE, None)
    assert path_length([plate, square], 2, one_pass=False, shapes=shapes) == 357 + 240
    assert shared([plate, square], 2, shapes) == 0
    assert shared([plate, (-62, 0, 60, 60)], 2, shapes) == 60
    assert shared([plate, (50, 62, 60, 60)], 2, shapes) == 20
    assert shared([plate, (50, 62, 60, 60)], 2) == 50


def test_a_shape_turned_has_its_edges_elsewhere() -> None:
    """A quarter turn counter-clockwise: its low end lies at its low side, its straight sides end 70 up."""
    turned = Part(id="p", length=100, width=60, shape=PLATE).lying(60, 100)
    assert turned is not None and turned.around == PLATE.around
    assert (turned.x_low, turned.x_high) == ((Stretch(0, 70),), (Stretch(0, 70),))
    assert (turned.y_low, turned.y_high) == ((Stretch(0, 60),), ())
    notched = Shape(around=1, x_low=(Stretch(0, 10), Stretch(40, 60)), y_low=(Stretch(5, 100),))
    assert notched.turned(60).y_low == (Stretch(50, 60), Stretch(0, 20))
    assert notched.turned(60).x_high == (Stretch(5, 100),)
    assert Part(id="p", length=100, width=60, shape=PLATE).lying(100, 60) is PLATE


def test_shaped_parts_are_told_and_moved_by_their_own_edges() -> None:
    """Two plates share the 100 of their flat ends; one above the other they share nothing."""
    round_off = Shape(
        around=540 * MM, x_low=(Stretch(0, 100 * MM),), x_high=(Stretch(0, 100 * MM),),
    )  # fmt: skip
    plain = problem_of([(200, 100), (200, 100)], one_pass=True)
    problem = replace(plain, parts=tuple(replace(p, shape=round_off) for p in plain.parts))
    layout = laid([(50, 50, 200, 100), (50, 300, 200, 100)])
    pattern = Pattern(0, Node(1, 1, children=(Spot(1, 1, 0, x=0, y=0),)))
    assert facts(problem, plan_of(layout)).path == 2 * 540 * MM
    above = moved_together(problem, pattern, layout)
    assert facts(problem, plan_of(above)).path == 2 * 540 * MM
    beside = moved_together(problem, pattern, laid([(50, 50, 200, 100), (300, 50, 200, 100)]))
    assert facts(problem, plan_of(beside)).path == (2 * 540 - 100) * MM
    assert read_problem_data(json.loads(json.dumps(problem_data(problem)))) == problem


def test_parts_of_two_shapes_are_not_counted_together() -> None:
    """Of the same size, they would change places unseen."""
    plain = problem_of([(200, 100), (200, 100)], one_pass=True)
    (model,) = shares(plain)
    assert len(merge(model).model.parts) == 1
    parts = (replace(plain.parts[0], shape=PLATE), plain.parts[1])
    (model,) = shares(replace(plain, parts=parts))
    assert len(merge(model).model.parts) == 2


def problem_of(parts: list[tuple[int, int]], **more: object) -> Problem:
    piece = Stock(id="s", kind=Kind.OFFCUT, material="ply", length=1000 * MM, width=600 * MM,
                  edge_trim=Trim(5 * MM, 0, 10 * MM, 0))  # fmt: skip
    return Problem(
        stock=(piece,), kerf=6 * MM, method=Method.ROUTER, worth=NOTHING_KEPT,
        parts=tuple(Part(id=f"p{n}", length=a * MM, width=b * MM, grain=Grain.ANY)
                    for n, (a, b) in enumerate(parts)),
        **more,  # type: ignore[arg-type]
    )  # fmt: skip


def laid(boxes: list[tuple[int, int, int, int]]) -> Layout:
    return Layout(
        stock="s", cuts=(), leftovers=(),
        parts=tuple(Placement(f"p{n}", *(v * MM for v in box)) for n, box in enumerate(boxes)),
    )  # fmt: skip


def plan_of(layout: Layout) -> Plan:
    return Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=(layout,))


def test_parts_are_moved_together_where_one_pass_cuts_two_edges() -> None:
    """Two of 200 x 100, apart: moved into a corner they share 200 or 100 of their 1200 round."""
    problem = problem_of([(200, 100), (200, 100)], one_pass=True)
    layout = laid([(50, 50, 200, 100), (50, 300, 200, 100)])
    pattern = Pattern(0, Node(1, 1, children=(Spot(1, 1, 0, x=0, y=0),)))
    found = moved_together(problem, pattern, layout)
    assert faults(problem, plan_of(found)) == ()
    before, after = facts(problem, plan_of(layout)), facts(problem, plan_of(found))
    assert (before.path, after.path) == (1200 * MM, 1000 * MM)
    saved = price(problem, plan_of(layout)) - price(problem, plan_of(found))
    assert saved == 200 * MM * problem.effort.path
    apart = problem_of([(200, 100), (200, 100)])
    assert moved_together(apart, pattern, layout) is layout


@pytest.mark.parametrize("seed", range(40))
def test_moved_parts_keep_every_rule(seed: int) -> None:
    """Random parts on a grid of cells, each somewhere in its cell."""
    rng = Random(seed)
    boxes, sizes = [], []
    for i in range(4):
        for j in range(3):
            if rng.random() < 0.8:
                dx, dy = rng.randint(60, 200), rng.randint(60, 150)
                boxes.append((5 + i * 240 + rng.randint(0, 230 - dx), 10 + j * 190 + rng.randint(0, 180 - dy),
                              dx, dy))  # fmt: skip
                sizes.append((dx, dy))
    problem = problem_of(sizes, one_pass=True)
    assert faults(problem, plan_of(laid(boxes))) == ()
    start = [tuple(v * MM for v in box) for box in boxes]
    found = list(closer(problem, problem.stock[0], start))  # type: ignore[arg-type]
    assert found
    for moved in found:
        assert shared(moved, problem.kerf) > shared(start, problem.kerf)  # type: ignore[arg-type]
        layout = laid([tuple(v // MM for v in box) for box in moved])  # type: ignore[misc]
        assert faults(problem, plan_of(layout)) == ()


def test_a_problem_file_says_that_one_pass_cuts_two_edges_and_what_a_path_costs() -> None:
    text = (
        '{"method": "router", "kerf": 6, "one_pass": true, "effort": {"path": 25},'
        ' "stock": [{"id": "s", "kind": "offcut", "material": "ply", "length": 900, "width": 500}],'
        ' "parts": [{"id": "p", "length": 100, "width": 80}]}'
    )
    problem, notes = read_problem(text)
    assert (problem.one_pass, problem.effort.path, notes) == (True, 25 * MM, ())
    assert read_problem(text.replace("true", "false"))[0].one_pass is False


def test_of_two_layouts_of_the_same_parts_the_pool_keeps_the_one_with_a_shared_edge() -> None:
    """Two of 200 x 100 flush, one bit apart, share 200 of their path: that stretch is taken off the net."""
    for one_pass in (False, True):
        problem = problem_of([(200, 100), (200, 100)], one_pass=one_pass)
        (model,) = shares(problem)
        rows = [p.row for p in model.parts]
        apart, flush = (
            candidate(model, 0, [Spot(200 * MM, 100 * MM, rows[0], x=0, y=0),
                                 Spot(200 * MM, 100 * MM, rows[-1], x=0, y=y * MM)])
            for y in (300, 106)
        )  # fmt: skip
        assert apart.net - flush.net == (200 * MM * problem.effort.path if one_pass else 0)
        pool = Pool(model)
        pool.add(apart)
        pool.add(flush)
        assert pool.layouts == [flush if one_pass else apart]


def test_what_edges_save_is_told_apart_from_material() -> None:
    """The same two flush: what was taken off the net of the plan is added again where material is told."""
    problem = problem_of([(200, 100), (200, 100)], one_pass=True)
    (model,) = shares(problem)
    rows = [p.row for p in model.parts]
    spots = [Spot(200 * MM, 100 * MM, rows[n], x=0, y=y * MM) for n, y in ((0, 0), (-1, 106))]
    run = Run(problem, Limits(seconds=None, work=1), 0, None, None)
    best = judge(model, [candidate(model, 0, spots)])
    assert run._passed() == 0
    run.searches = [SimpleNamespace(model=model, best=best)]  # type: ignore[list-item]
    assert run._passed() == 200 * MM * problem.effort.path
    assert best.figures.net + run._passed() == model.stock[0].area
