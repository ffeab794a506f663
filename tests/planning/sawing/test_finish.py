"""The order of work: fewer fence moves over the job, the same parts, and the facts of a plan."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from math import inf

from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import Grain, Kind, Part, Problem, Stock, Trim
from stockyard.planning.sawing.finish import fence_moves, finish, plain, plan_operations
from stockyard.planning.sawing.operations import Care, moves, remains
from stockyard.planning.sawing.report import facts
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from stockyard.saws import Machine, Saws, Setting, Way
from tests.bench.saw_count import count
from tests.planning.trees import job, plan


def strips(widths: list[int], count: int) -> tuple[Problem, list[Pattern]]:
    """`count` equal pieces, each ripped to `widths` and a rest."""
    parts = tuple(
        Part(id=f"w{w}", length=600 * MM, width=w * MM, count=n * count, grain=Grain.ALONG)
        for w, n in sorted(Counter(widths).items())
    )
    index = {p.width: i for i, p in enumerate(parts)}
    total = sum(widths) + 3 * len(widths)
    stock = Stock(
        id="S", kind=Kind.FULL, material="ply", length=600 * MM, width=(total + 400) * MM, count=count
    )
    children = [Node(600 * MM, w * MM, part=index[w * MM]) for w in widths]
    root = Node(600 * MM, stock.width, axis=Axis.RIP, children=(*children, Node(600 * MM, 400 * MM)))
    return Problem(stock=(stock,), parts=parts, kerf=3 * MM), [Pattern(0, root)] * count


def test_where_time_is_up_pieces_are_cut_one_after_the_other_and_all_is_there() -> None:
    problem, patterns = strips([90, 60, 60, 40], 6)
    at_best = finish(problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE)
    late = finish(problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE, until=-inf)
    assert not faults(problem, late)
    assert [turn.layout for turn in late.work] == sorted(turn.layout for turn in late.work)
    assert fence_moves(problem, late) > fence_moves(problem, at_best)


def made(problem: Problem, patterns: list[Pattern]) -> Plan:
    done = finish(problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE)
    assert faults(problem, done) == ()
    return done


def as_text(problem: Problem) -> str:
    """What a count from outside needs to know of a problem."""
    stock = [
        {
            "id": s.id,
            "kind": s.kind,
            "length": s.length / MM,
            "width": s.width / MM,
            "grain": s.grain,
            "edge_trim": {edge: size / MM for edge, size in s.edge_trim._asdict().items()},
        }
        for s in problem.stock
    ]
    return json.dumps({"kerf": problem.kerf / MM, "stock": stock})


def test_all_cuts_of_one_setting_are_made_before_the_fence_moves() -> None:
    """Three strips a piece, four pieces: three settings are three moves."""
    problem, patterns = strips([500, 400, 300], 4)
    assert fence_moves(problem, plain(problem, patterns)) == 12
    done = made(problem, patterns)
    assert fence_moves(problem, done) == 3
    assert [turn.layout for turn in done.work] == [1, 2, 3, 4] * 3


def test_no_more_pieces_wait_than_the_bench_holds() -> None:
    """Each of four pieces waits to be ripped again: a bench for two of them takes a second round."""
    problem, patterns = strips([500, 400, 300], 4)
    problem = replace(problem, saws=replace(problem.saws, bench=2))
    done = made(problem, patterns)
    assert fence_moves(problem, done) == 6
    waiting: set[tuple[int, str]] = set()
    for turn in done.work:
        layout = done.layouts[turn.layout - 1]
        cut = layout.cuts[turn.step - 1]
        waiting.discard((turn.layout, cut.piece))
        sawn = {c.piece for c in layout.cuts}
        waiting.update((turn.layout, name) for name in cut.gives if name in sawn)
        assert len(waiting) <= 2


def test_equal_strips_are_ripped_one_after_the_other() -> None:
    problem, patterns = strips([200, 500, 200, 500, 200], 1)
    assert fence_moves(problem, made(problem, patterns)) == 2


def test_each_machine_is_set_by_itself_unless_one_saw_is_two_of_them() -> None:
    fence, stop, guide = (Setting(machine, 5) for machine in (Machine.FENCE, Machine.STOP, Machine.GUIDE))
    assert moves([], Saws()) == 0
    assert moves([fence, stop, fence, stop], Saws()) == 2
    assert moves([fence, stop, fence, stop], Saws(apart=False)) == 4
    assert moves([guide, stop, fence, stop, guide], Saws()) == 3
    assert moves([guide, stop, guide, stop], Saws(apart=False)) == 2
    rips = [Setting(Machine.FENCE, figure) for figure in (5, 5, 6, 5)]
    assert moves([*rips[:2], None, *rips[2:]], Saws()) == 3


def test_a_trim_moves_no_fence() -> None:
    """Two trims and one strip ask for one setting; the trim that gives a part its size asks for another."""
    ply = Stock(
        id="S",
        kind=Kind.FULL,
        material="ply",
        length=1010 * MM,
        width=510 * MM,
        count=1,
        edge_trim=Trim.all_round(5 * MM),
    )
    part = Part(id="p", length=1000 * MM, width=200 * MM, grain=Grain.ALONG)
    problem = Problem(stock=(ply,), parts=(part,), kerf=3 * MM)
    cell, rest = Node(part.length, part.width, part=0), Node(part.length, 297 * MM)
    root = Node(1000 * MM, 500 * MM, axis=Axis.RIP, children=(cell, rest))
    done = made(problem, [Pattern(0, root)])
    (every,) = plan_operations(problem, done)
    trims = [o for o in every if o.care is Care.TRIM]
    assert trims
    assert all(o.takes == 5 * MM for o in trims)
    kept = {o.setting for o in every if o.care is not Care.TRIM}
    assert kept == {Setting(Machine.FENCE, part.width), Setting(Machine.STOP, part.length)}
    assert fence_moves(problem, done) == 2


def test_what_the_shop_takes_off_an_edge_as_bought_is_a_trim_however_much() -> None:
    """Half an inch off the end of a board is not measured from its other end."""
    half = INCH // 2
    board = Stock(
        id="B", kind=Kind.FULL, material="oak", length=96 * INCH, width=4 * INCH, grain=True,
        edge_trim=Trim(half, half, 0, 0),
    )  # fmt: skip
    problem = Problem(
        stock=(board,), parts=(Part(id="p", length=40 * INCH, width=4 * INCH - half),), kerf=INCH // 8
    )
    inner = 95 * INCH
    ripped = Node(inner, board.width, axis=Axis.RIP, children=(
        Node(inner, 4 * INCH - half, axis=Axis.CROSSCUT, children=(
            Node(40 * INCH, 4 * INCH - half, part=0), Node(55 * INCH - INCH // 8, 4 * INCH - half),
        )),
        Node(inner, half - INCH // 8),
    ))  # fmt: skip
    (every,) = plan_operations(problem, made(problem, [Pattern(0, ripped)]))
    trims = [o.takes for o in every if o.care is Care.TRIM]
    assert trims == [half]


def test_what_a_size_that_remains_is_measured_from_is_not_trimmed_by_eye() -> None:
    """Pairs of 100 and a kerf from 210: the end that comes off first gives every second one its size."""
    piece = Stock(id="S", kind=Kind.OFFCUT, material="ply", length=210 * MM, width=183 * MM, grain=True)
    part = Part(id="p", length=100 * MM, width=90 * MM, count=4)
    problem = Problem(stock=(piece,), parts=(part,), kerf=3 * MM)
    cell = Node(part.length, part.width, part=0)
    pair = Node(203 * MM, part.width, axis=Axis.CROSSCUT, children=(cell, cell))
    block = Node(203 * MM, piece.width, axis=Axis.RIP, children=(pair, pair))
    root = Node(
        piece.length, piece.width, axis=Axis.CROSSCUT, children=(block, Node(4 * MM, piece.width))
    )  # fmt: skip
    done = plain(problem, [Pattern(0, root)])
    assert len(remains(piece, done.layouts[0], problem.kerf)) >= 2
    (every,) = plan_operations(problem, done)
    assert [(o.care, o.figure // MM) for o in every if o.way is Way.CROSS] == [
        (Care.EXACT, 203), (Care.EXACT, 100), (Care.EXACT, 100),
    ]  # fmt: skip


def test_moves_and_rests_are_what_a_count_from_outside_finds() -> None:
    """`saw_count` reads the written plan and shares nothing with the planner; it knows of no machines.

    In this shop what is long enough is ripped on the fence, and cut to length to a mark: in a plan without
    short rips each name is one machine.
    """
    far = 100_000 * MM
    saws = Saws(rip_width=far, stop_length=0, stop_reach=far, guide_length=0, one_person=far)
    rests = compared = 0
    for seed in range(60):
        problem, patterns = job(seed, pieces=4, depth=3)
        problem = replace(problem, saws=saws)
        done = made(problem, patterns)
        counted = count(as_text(problem), plan_text(problem, done))
        cuts = [o for every in plan_operations(problem, done) for o in every if o.setting]
        if not any(o.way == "RIP" and o.machine is not Machine.FENCE for o in cuts):
            compared += 1
            assert counted.moves == fence_moves(problem, done)
        stock = {s.id: s for s in problem.stock}
        own = sum(len(remains(stock[x.stock], x, problem.kerf)) for x in done.layouts)
        assert counted.rests == own
        rests += own
    assert rests > 20
    assert compared > 5


def test_ordering_never_costs_moves_or_parts() -> None:
    for seed in range(30):
        problem, patterns = job(seed, pieces=4, depth=3)
        before, after = plain(problem, patterns), made(problem, patterns)
        assert Counter(lay.stock for lay in after.layouts) == Counter(lay.stock for lay in before.layouts)
        card_by_card = replace(after, work=())
        assert fence_moves(problem, after) <= fence_moves(problem, card_by_card)


def test_the_same_patterns_give_the_same_plan() -> None:
    problem, patterns = job(7, pieces=6, depth=3)
    assert made(problem, patterns) == made(problem, patterns)


def test_copies_are_counted_over_the_whole_plan() -> None:
    problem, patterns = strips([500, 300], 3)
    names = [
        n
        for lay in made(problem, patterns).layouts
        for c in lay.cuts
        for n in c.gives
        if n and n.startswith("w")
    ]
    assert sorted(names) == sorted(f"w{w} {n}" for w in (300, 500) for n in (1, 2, 3))


def test_the_facts_of_a_plan_add_up() -> None:
    problem, patterns = job(5, pieces=5)
    stock = [
        replace(s, kind=Kind.FULL, count=None if i == 0 else 1, dig=i) for i, s in enumerate(problem.stock)
    ]
    stock[1] = replace(stock[1], kind=Kind.OFFCUT)
    problem = replace(problem, stock=tuple(stock))
    told = facts(problem, plan(problem, patterns))
    assert told.parts == sum(p.count for p in problem.parts)
    assert (told.offcuts, told.bought, told.drawn, told.missing) == (1, 1, 3, 0)
    assert told.money == sum(s.cost for s in stock if s.kind is Kind.FULL)
    assert told.to_pay == stock[0].cost
    assert told.to_move == 0 + 1 + 2 + 3 + 4
    assert told.stock_area == told.parts_area + told.back_area + told.lost_area
    assert told.parts_area == sum(p.count * p.area for p in problem.parts)
    assert 0 < told.share_used <= 1


def test_every_process_finishes_a_plan_alike() -> None:
    """What a set or a text hashes to differs from process to process; the order of work must not."""
    code = (
        "from tests.planning.sawing.test_finish import job, made\n"
        "done = made(*job(7, pieces=6, depth=3))\n"
        "print(done.work, done.layouts)"
    )
    orders = {
        subprocess.run(
            [sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": str(seed)},
            capture_output=True, text=True, check=True,
        ).stdout
        for seed in range(4)
    }  # fmt: skip
    assert len(orders) == 1
