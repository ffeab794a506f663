"""From cut trees to cuts: every random tree replays, and the known cases come out as a person would saw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.plan import Layout
from stockyard.planning.problem import Grain, Kind, Part, Problem, Stock, Trim
from stockyard.planning.sawing.finish import plain
from stockyard.planning.sawing.operations import Care, operations
from stockyard.planning.sawing.tidy import split, tidy
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.verify import faults
from stockyard.planning.worth import Worth
from tests.planning.trees import KEEP, job, plan

SEEDS = range(60)


def worth_of(node: Node) -> int:
    if node.part is None and node.axis is None:
        return KEEP.of(node.length, node.width)
    return sum(worth_of(c) for c in node.children)


def rounded_off(problem: Problem, layouts: Sequence[Layout]) -> int:
    """What rough cuts at round figures take from leftovers at most: three steps of 5 mm along each."""
    stock = {s.id: s for s in problem.stock}
    every = [o for x in layouts for o in operations(stock[x.stock], x, problem.kerf, problem.saws)]
    return sum(15 * MM * o.run for o in every if o.care is Care.ROUGH)


def test_every_random_tree_gives_a_plan_that_replays() -> None:
    for seed in SEEDS:
        problem, patterns = job(seed)
        assert faults(problem, plan(problem, patterns)) == ()


def test_no_leftover_is_worth_less_than_the_planner_counted_on() -> None:
    for seed in SEEDS:
        problem, patterns = job(seed)
        for layouts in (plain(problem, patterns).layouts, plan(problem, patterns).layouts):
            counted = sum(worth_of(p.root) for p in patterns) - rounded_off(problem, layouts)
            assert sum(KEEP.of(f.dx, f.dy) for lay in layouts for f in lay.leftovers) >= counted


def test_tidying_keeps_every_part() -> None:
    for seed in SEEDS:
        problem, patterns = job(seed)
        for pattern in patterns:
            tidied = Pattern(pattern.stock, tidy(pattern.root, problem.kerf, problem.worth))
            assert tidied.parts() == pattern.parts()
            assert worth_of(tidied.root) >= worth_of(pattern.root)


def piece(length: float, width: float, trim: float = 0, **changes: object) -> Stock:
    stock = Stock(
        id="S", kind=Kind.FULL, material="ply", length=round(length * MM), width=round(width * MM),
        edge_trim=Trim.all_round(round(trim * MM)),
    )  # fmt: skip
    return replace(stock, **changes)  # type: ignore[arg-type]


def part(ident: str, length: float, width: float, count: int = 1) -> Part:
    return Part(id=ident, length=round(length * MM), width=round(width * MM), count=count, grain=Grain.ANY)


def leaf(problem: Problem, index: int) -> Node:
    return Node(problem.parts[index].length, problem.parts[index].width, part=index)


def cut(problem: Problem, root: Node) -> Layout:
    [layout] = plan(problem, [Pattern(0, root)]).layouts
    assert faults(problem, plan(problem, [Pattern(0, root)])) == ()
    return layout


def steps(layout: Layout) -> list[tuple[str, str, float, float, tuple[str | None, str | None]]]:
    return [(c.piece, str(c.direction), c.at / MM, c.fence / MM, c.gives) for c in layout.cuts]


def test_a_part_that_is_the_whole_piece_needs_no_cut() -> None:
    problem = Problem(stock=(piece(500, 300),), parts=(part("a", 500, 300),), kerf=3 * MM)
    layout = cut(problem, leaf(problem, 0))
    assert layout.cuts == ()
    assert len(layout.parts) == 1


def test_a_remainder_narrower_than_the_kerf_becomes_sawdust() -> None:
    """The blade hangs over the edge: 2 mm are left, the kerf is 3."""
    problem = Problem(stock=(piece(502, 300),), parts=(part("a", 500, 300),), kerf=3 * MM)
    root = Node(502 * MM, 300 * MM, axis=Axis.CROSSCUT, children=(leaf(problem, 0),))
    assert steps(cut(problem, root)) == [("stock", "crosscut", 500, 500, ("a 1", None))]


def test_parts_that_end_flush_need_no_last_cut() -> None:
    problem = Problem(stock=(piece(603, 300),), parts=(part("a", 300, 300, 2),), kerf=3 * MM)
    root = Node(603 * MM, 300 * MM, axis=Axis.CROSSCUT, children=(leaf(problem, 0), leaf(problem, 0)))
    assert steps(cut(problem, root)) == [("stock", "crosscut", 300, 300, ("a 1", "a 2"))]


@pytest.mark.parametrize(("trim", "at"), [(1, -2), (3, 0), (10, 7)])
def test_a_lone_part_is_trimmed_on_four_sides_reference_edge_first(trim: float, at: float) -> None:
    """The trim includes the kerf: the blade starts at trim - kerf, in the air when that is below 0."""
    problem = Problem(
        stock=(piece(500 + 2 * trim, 300 + 2 * trim, trim),), parts=(part("a", 500, 300),), kerf=3 * MM
    )
    done = cut(problem, leaf(problem, 0))
    assert [(c.direction, c.at / MM) for c in done.cuts] == [
        ("rip", at), ("crosscut", at), ("rip", 300), ("crosscut", 500),
    ]  # fmt: skip
    assert [c.fence / MM for c in done.cuts] == [300 + trim, 500 + trim, 300, 500]


def test_one_trim_serves_a_row_of_parts() -> None:
    problem = Problem(stock=(piece(926, 320, 10),), parts=(part("a", 300, 300, 3),), kerf=3 * MM)
    root = Node(906 * MM, 300 * MM, axis=Axis.CROSSCUT, children=tuple(leaf(problem, 0) for _ in range(3)))
    trims = [c for c in cut(problem, root).cuts if c.direction == "rip"]
    assert len(trims) == 2


def test_a_leftover_keeps_the_factory_edges() -> None:
    """2440 x 1220 with 10 mm trim, one part 700 x 500: what remains reaches the real edges."""
    problem = Problem(
        stock=(piece(2440, 1220, 10),), parts=(part("a", 700, 500),), kerf=3 * MM, worth=Worth(floor=1000)
    )
    column = Node(700 * MM, 1200 * MM, axis=Axis.RIP, children=(leaf(problem, 0), Node(700 * MM, 697 * MM)))
    root = Node(2420 * MM, 1200 * MM, axis=Axis.CROSSCUT, children=(column, Node(1717 * MM, 1200 * MM)))
    layout = cut(problem, root)
    assert max(f.x + f.dx for f in layout.leftovers) == 2440 * MM
    assert max(f.y + f.dy for f in layout.leftovers) == 1220 * MM
    assert min(f.y for f in layout.leftovers) == 0
    [placed] = layout.parts
    assert (placed.x, placed.y) == (10 * MM, 10 * MM)


def test_the_corner_goes_to_the_leftover_that_is_worth_more() -> None:
    """One part in the corner of a sheet: one large leftover and a narrow one, whichever way it was drawn."""
    problem = Problem(stock=(piece(2000, 1000),), parts=(part("a", 1900, 300),), kerf=0)
    column = Node(1900 * MM, 1000 * MM, axis=Axis.RIP, children=(leaf(problem, 0), Node(1900 * MM, 700 * MM)))
    root = Node(2000 * MM, 1000 * MM, axis=Axis.CROSSCUT, children=(column, Node(100 * MM, 1000 * MM)))
    [left] = cut(problem, root).leftovers
    assert (left.dx, left.dy) == (2000 * MM, 700 * MM)


def test_rests_side_by_side_become_one() -> None:
    problem = Problem(stock=(piece(1000, 400),), parts=(part("a", 200, 400),), kerf=3 * MM)
    rests = (Node(300 * MM, 400 * MM), Node(494 * MM, 400 * MM))
    root = Node(1000 * MM, 400 * MM, axis=Axis.CROSSCUT, children=(rests[0], leaf(problem, 0), rests[1]))
    layout = cut(problem, root)
    assert [(f.x / MM, f.dx / MM) for f in layout.leftovers] == [(203, 797)]


def test_narrow_strips_come_off_while_the_parent_is_wide() -> None:
    """Strips of 40 mm between two wide parts: the last cut never leaves two narrow pieces."""
    problem = Problem(
        stock=(piece(600, 986),), parts=(part("wide", 600, 450, 2), part("strip", 600, 40, 2)), kerf=2 * MM
    )
    wide, strip = leaf(problem, 0), leaf(problem, 1)
    root = Node(600 * MM, 986 * MM, axis=Axis.RIP, children=(wide, wide, strip, strip))
    assert [c.fence / MM for c in cut(problem, root).cuts] == [450, 40, 40]


def test_names_between_never_are_a_parts_name() -> None:
    ids = ["a", "b", "left", "a 1", "stock"]
    problem = Problem(
        stock=(piece(1012, 500, kind=Kind.OFFCUT),),
        parts=tuple(part(i, 100 + 100 * n, 200) for n, i in enumerate(ids)),
        kerf=3 * MM, worth=Worth(keep_short_side=MM, keep_area=MM),
    )  # fmt: skip
    columns = [
        Node(
            p.length, 500 * MM, axis=Axis.RIP, children=(leaf(problem, n), Node(p.length, 297 * MM))
        )
        for n, p in enumerate(problem.parts[:3])
    ]  # fmt: skip
    root = Node(1012 * MM, 500 * MM, axis=Axis.CROSSCUT, children=(*columns, Node(403 * MM, 500 * MM)))
    problem = replace(problem, parts=tuple(replace(p, count=int(n < 3)) for n, p in enumerate(problem.parts)))
    layout = cut(problem, root)
    between = {c.piece for c in layout.cuts} - {"stock"}
    assert not between & set(ids)
    assert {"leftover 1"} <= {name for c in layout.cuts for name in c.gives if name}


def test_what_remains_is_rather_a_strip_that_is_cut_again_than_a_part() -> None:
    """A part of 300 beside a strip of 300.4 that gives 280: the fence is set to 300, whichever is wider."""
    inner = Node(900 * MM, 3004 * MM // 10, axis=Axis.CROSSCUT, children=(
        split(Axis.RIP, 860 * MM, 3004 * MM // 10, [Node(860 * MM, 280 * MM, part=1)], 3 * MM),
        Node(37 * MM, 3004 * MM // 10),
    ))  # fmt: skip
    whole = split(Axis.RIP, 900 * MM, 6034 * MM // 10, [Node(900 * MM, 300 * MM, part=0), inner], 3 * MM)
    first, last = whole.children
    assert first.part == 0
    assert last.part is None
