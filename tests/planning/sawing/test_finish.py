"""The order of work: fewer fence moves over the job, the same parts, and the facts of a plan."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from dataclasses import replace

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.plan import Bound, Cut, Layout, Status
from stockyard.planning.problem import Grain, Kind, Part, Problem, Stock, Trim
from stockyard.planning.sawing.cuts import Sawyer, layout
from stockyard.planning.sawing.fences import moves, one_piece
from stockyard.planning.sawing.finish import fence_moves, finish, plain, trims
from stockyard.planning.sawing.report import facts
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.verify import faults
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


def made(problem: Problem, patterns: list[Pattern]) -> tuple[Layout, ...]:
    done = finish(problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE)
    assert faults(problem, done) == ()
    return done.layouts


def test_the_fence_stays_where_it_is_between_equal_pieces() -> None:
    """Three strips a piece, four pieces: 3 settings, then the last one starts the next piece."""
    problem, patterns = strips([500, 400, 300], 4)
    assert fence_moves(plain(problem, patterns)) == 12
    assert fence_moves(made(problem, patterns)) == 3 + 2 + 2 + 2


def test_equal_strips_are_ripped_one_after_the_other() -> None:
    problem, patterns = strips([200, 500, 200, 500, 200], 1)
    assert fence_moves(made(problem, patterns)) == 2


def test_fence_and_stop_are_two_settings() -> None:
    def layout(*settings: tuple[Axis, int]) -> Layout:
        cuts = tuple(
            Cut(step=n, piece="", direction=a, at=f, fence=f, gives=(None, None))
            for n, (a, f) in enumerate(settings)
        )
        return Layout(stock="S", parts=(), cuts=cuts, leftovers=())

    rip, crosscut = Axis.RIP, Axis.CROSSCUT
    assert fence_moves([]) == 0
    assert fence_moves([layout((rip, 5), (crosscut, 5), (rip, 5), (crosscut, 5))]) == 2
    assert fence_moves([layout((rip, 5)), layout((rip, 5), (rip, 6), (rip, 5))]) == 3


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
    (one,) = made(problem, [Pattern(0, root)])
    clean = trims(one)
    assert clean
    assert all(c.gives[0] is None and c.at + 3 * MM == 5 * MM for c in one.cuts if c.step in clean)
    kept = {(c.direction, c.fence) for c in one.cuts if c.step not in clean}
    assert kept == {(Axis.RIP, part.width), (Axis.CROSSCUT, part.length)}
    assert fence_moves([one]) == 2


def test_bench_and_layout_agree_on_what_a_trim_is() -> None:
    for seed in range(30):
        problem, patterns = job(seed, pieces=3, depth=3)
        for pattern in patterns:
            work = one_piece(Sawyer(problem).bench(pattern), {})
            cut = layout(problem, problem.stock[pattern.stock], work.bench, work.order, Counter())
            assert trims(cut) == {n for n, b in enumerate(work.order, 1) if b.trims}


def test_ordering_never_costs_moves_or_parts() -> None:
    for seed in range(30):
        problem, patterns = job(seed, pieces=4, depth=3)
        sawyer = Sawyer(problem)
        alone = [one_piece(sawyer.bench(p), {}) for p in patterns]
        before, after = plain(problem, patterns), made(problem, patterns)
        assert fence_moves(after) <= moves((s for work in alone for s in work.settings), {})
        assert Counter(lay.stock for lay in after) == Counter(lay.stock for lay in before)


def test_the_same_patterns_give_the_same_plan() -> None:
    problem, patterns = job(7, pieces=6, depth=3)
    assert made(problem, patterns) == made(problem, patterns)


def test_copies_are_counted_over_the_whole_plan() -> None:
    problem, patterns = strips([500, 300], 3)
    names = [
        n for lay in made(problem, patterns) for c in lay.cuts for n in c.gives if n and n.startswith("w")
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
        "from stockyard.planning.sawing.fences import _ranks\n"
        "from stockyard.planning.tree import Axis\n"
        "print([list(r.items()) for r in _ranks([(a, f) for a in Axis for f in (300, 200, 100)])])"
    )
    orders = {
        subprocess.run(
            [sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": str(seed)},
            capture_output=True, text=True, check=True,
        ).stdout
        for seed in range(4)
    }  # fmt: skip
    assert len(orders) == 1
