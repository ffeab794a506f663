"""The verifier passes what is right and names what is wrong."""

from __future__ import annotations

import re
from dataclasses import replace
from random import Random

import pytest

from stockyard.planning import verify_fit
from stockyard.planning.plan import Bound, Cut, Layout, Leftover, Placement, Plan, Status, Unplaced
from stockyard.planning.problem import NO_TRIM, Grain, Kind, Method, Part, Problem, Stock, Trim, lies_on
from stockyard.planning.tree import Axis
from stockyard.planning.verify import faults
from stockyard.saws import Saws
from stockyard.worth import Worth
from tests.planning.broken import KINDS, money
from tests.planning.trees import job, plan

PER_KIND = 25


def test_there_are_enough_kinds_and_plans() -> None:
    assert len(KINDS) >= 15
    assert len(KINDS) * PER_KIND >= 1000


@pytest.mark.parametrize("kind", KINDS)
def test_a_broken_plan_is_refused_with_its_fault_named(kind: str) -> None:
    words, breaker = KINDS[kind]
    broken, seed = 0, 0
    while broken < PER_KIND:
        rng = Random(f"{kind} {seed}")
        problem, patterns = job(seed, pieces=2, depth=3)
        seed += 1
        assert seed < 40 * PER_KIND, "this kind can hardly ever be made"
        good = plan(problem, patterns)
        spoiled = breaker(rng, problem, good)
        if spoiled is None:
            continue
        broken += 1
        found = faults(*spoiled)
        assert any(re.search(words, f) for f in found), (kind, seed, found)


def test_a_right_claim_passes() -> None:
    problem, patterns = job(3)
    good = plan(problem, patterns)
    proven = replace(good, status=Status.PROVEN, bound=replace(good.bound, full_cost=money(problem, good)))
    assert faults(problem, proven) == ()


def test_a_routed_plan_needs_gaps_but_no_cuts() -> None:
    for seed in range(40):
        problem, patterns = job(seed)
        problem = replace(problem, method=Method.ROUTER)
        routed = plan(problem, patterns)
        assert not any(layout.cuts for layout in routed.layouts)
        assert faults(problem, routed) == ()
        wider = replace(problem, kerf=problem.kerf + 1)
        crowded = any(len(layout.parts) + len(layout.leftovers) > 3 for layout in routed.layouts)
        if crowded:
            assert any("nearer than the kerf" in f for f in faults(wider, routed))


@pytest.mark.parametrize(
    ("dx", "dy", "fault"),
    [
        (10, 0, None),
        (0, 10, None),
        (-30, 10, None),
        (9, 0, "kerf"),
        (5, 0, "kerf"),
        (0, 5, "kerf"),
        (5, 5, "kerf"),
        (9, 9, "kerf"),
        (-30, 9, "kerf"),
        (-1, -1, "overlap"),
    ],
)
def test_two_routed_parts_lie_a_bit_apart(dx: int, dy: int, fault: str | None) -> None:
    """Two parts of 100 x 100, the second `dx` beyond the first along x (0: level with it), `dy` along y."""
    sheet = Stock(id="s", kind=Kind.FULL, material="ply", length=400, width=400)
    part = Part(id="p", length=100, width=100, count=2)
    problem = Problem(stock=(sheet,), parts=(part,), kerf=10, method=Method.ROUTER)
    first = Placement("p", 100, 100, 100, 100)
    second = Placement("p", 200 + dx if dx else 100, 200 + dy if dy else 100, 100, 100)
    layout = Layout(stock="s", parts=(first, second), cuts=(), leftovers=())
    routed = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, "none"), layouts=(layout,))
    found = faults(problem, routed)
    assert [fault in f for f in found] == [True] if fault else found == ()


MM = 3200


def short_of(part: Part, piece: Stock, **ways: object) -> tuple[str, ...]:
    """Return the faults of a plan that cuts nothing and leaves one part out."""
    problem = Problem(stock=(piece,), parts=(part,), **ways)  # type: ignore[arg-type]
    empty = Plan(
        status=Status.SHORT, bound=Bound(0, 0, ""), layouts=(), unplaced=(Unplaced(part.id, 1, "too large"),)
    )  # fmt: skip
    return faults(problem, empty)


@pytest.mark.parametrize(
    ("length", "width", "fits"),
    [
        (980 * MM, 490 * MM, True),  # exactly what the trim of 10 and of 5 all round leaves
        (980 * MM + 1, 490 * MM, False),
        (980 * MM, 490 * MM + 1, False),
        (400 * MM, 700 * MM, False),  # would fit turned, but its grain runs along
        (2000 * MM, 100 * MM, False),
        (100 * MM, 2000 * MM, False),
    ],
)
def test_a_part_left_out_is_a_fault_only_where_it_could_be_cut(length: int, width: int, fits: bool) -> None:
    trim = Trim(x_low=10 * MM, x_high=10 * MM, y_low=5 * MM, y_high=5 * MM)
    piece = Stock(
        id="S", kind=Kind.FULL, material="ply", length=1000 * MM, width=500 * MM, grain=True, edge_trim=trim
    )
    part = Part(id="p", length=length, width=width)
    found = short_of(part, piece)
    assert [f for f in found if "could still be cut" in f] == (
        ["unplaced: 'p' could still be cut from 'S'"] if fits else []
    )


@pytest.mark.parametrize(
    ("flaws", "length", "width", "fits"),
    [
        # A split over the first 300 of the length leaves 700, or 690 where 10 are trimmed at the far end.
        ([(0, 0, 300, 500)], 690, 480, True), ([(0, 0, 300, 500)], 691, 480, False),
        # A shake along the lower 200 leaves 300, or 290; with the split 690 by 290 above and beside both.
        ([(0, 0, 1000, 200)], 980, 290, True), ([(0, 0, 1000, 200)], 980, 291, False),
        ([(0, 0, 300, 500), (0, 0, 1000, 200)], 690, 290, True),
        ([(0, 0, 300, 500), (0, 0, 1000, 200)], 690, 291, False),
        # A knot in the middle: 490 before it and 440 behind it, 240 below it and 190 above it.
        ([(500, 250, 50, 50)], 490, 480, True), ([(500, 250, 50, 50)], 491, 480, False),
        ([(500, 250, 50, 50)], 980, 240, True), ([(500, 250, 50, 50)], 980, 241, False),
        ([(400, 200, 50, 50)], 540, 480, True), ([(400, 200, 50, 50)], 541, 480, False),
        # A flaw within the trim takes nothing.
        ([(0, 0, 10, 500)], 980, 480, True),
    ],
)  # fmt: skip
def test_a_part_left_out_could_be_cut_where_no_flaw_is(
    flaws: list[tuple[int, int, int, int]], length: int, width: int, fits: bool
) -> None:
    """A piece of 1000 by 500 with 10 trimmed all round."""
    marks = tuple((x * MM, y * MM, dx * MM, dy * MM) for x, y, dx, dy in flaws)
    piece = Stock(
        id="S", kind=Kind.OFFCUT, material="ply", length=1000 * MM, width=500 * MM, grain=True, flaws=marks,
        edge_trim=Trim.all_round(10 * MM),
    )  # fmt: skip
    found = short_of(Part(id="p", length=length * MM, width=width * MM), piece)
    assert any("could still be cut" in f for f in found) == fits


def test_a_part_that_no_saw_of_the_shop_cuts_off_may_be_left_out() -> None:
    """A fence of 1300 mm, a stop that reaches 1220 by 610, a guide rail of 3100: 1900 by 1500 of a board
    of 4000 by 2000 goes by the rail across and along; without the rail's length nothing makes it.
    """
    piece = Stock(id="S", kind=Kind.FULL, material="ply", length=4000 * MM, width=2000 * MM)
    part = Part(id="p", length=1900 * MM, width=1500 * MM, grain=Grain.ANY)
    saws = Saws(
        rip_width=1300 * MM, stop_length=1220 * MM, stop_reach=610 * MM, guide_length=3100 * MM
    )  # fmt: skip
    assert any("could still be cut" in f for f in short_of(part, piece, saws=saws))
    shorter = replace(saws, guide_length=1000 * MM)
    assert not any("could still be cut" in f for f in short_of(part, piece, saws=shorter))
    assert any("could still be cut" in f for f in short_of(part, piece, saws=shorter, method=Method.ROUTER))


@pytest.mark.parametrize(("gap", "right"), [(10, True), (9, False), (0, False)])
def test_router_parts_lie_a_bit_apart(gap: int, right: bool) -> None:
    problem = Problem(
        stock=(Stock(id="S", kind=Kind.FULL, material="ply", length=1000 * MM, width=500 * MM),),
        parts=(Part(id="p", length=200 * MM, width=100 * MM, count=2),), kerf=10 * MM, method=Method.ROUTER,
    )  # fmt: skip
    spots = (
        Placement("p", 0, 0, 200 * MM, 100 * MM),
        Placement("p", (200 + gap) * MM, 0, 200 * MM, 100 * MM),
    )
    laid = Layout(stock="S", parts=spots, cuts=(), leftovers=())
    plan_ = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=(laid,))
    assert any("nearer than the kerf" in f or "overlap" in f for f in faults(problem, plan_)) is not right


def trimmed(fence: int) -> tuple[str, ...]:
    """Return the faults of a plan whose one cut takes the blade's width off the low end of a board."""
    kerf, piece = 3 * MM, Stock(id="S", kind=Kind.FULL, material="ply", length=1000 * MM, width=500 * MM)
    part = Part(id="p", length=997 * MM, width=500 * MM)
    cut = Cut(step=1, piece="stock", direction=Axis.CROSSCUT, at=0, fence=fence, gives=(None, "p 1"))
    laid = Layout(
        stock="S", parts=(Placement("p", kerf, 0, 997 * MM, 500 * MM),), cuts=(cut,), leftovers=()
    )  # fmt: skip
    claim = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=(laid,))
    return faults(Problem(stock=(piece,), parts=(part,), kerf=kerf), claim)


def test_a_trim_is_set_to_what_stays_and_never_to_nothing() -> None:
    assert trimmed(997 * MM) == ()
    assert any("the fence is set to the size of neither side" in f for f in trimmed(0))
    assert any("the fence is set to the size of neither side" in f for f in trimmed(3 * MM))


def test_parts_that_overlap_are_found_in_whatever_order_they_are_named() -> None:
    stock = Stock(id="S", kind=Kind.FULL, material="ply", length=1000 * MM, width=500 * MM)
    part = Part(id="p", length=100 * MM, width=100 * MM, count=3)
    problem = Problem(stock=(stock,), parts=(part,), method=Method.ROUTER)
    for starts in ((0, 500, 50), (500, 50, 0), (50, 0, 500)):
        spots = tuple(Placement("p", x * MM, 0, 100 * MM, 100 * MM) for x in starts)
        laid = Layout(stock="S", parts=spots, cuts=(), leftovers=())
        claim = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=(laid,))
        assert any("overlap" in f for f in faults(problem, claim)), starts


def test_a_name_is_given_to_no_side_of_which_nothing_is_left() -> None:
    """A blade of 3 mm at 997 of 1000 leaves nothing above itself, at 497 of 500 nothing beside."""
    stock = Stock(id="S", kind=Kind.FULL, material="ply", length=1000 * MM, width=500 * MM)
    for part, at, way in (
        (Part(id="p", length=997 * MM, width=500 * MM), 997 * MM, Axis.CROSSCUT),
        (Part(id="p", length=1000 * MM, width=497 * MM), 497 * MM, Axis.RIP),
    ):
        cut = Cut(step=1, piece="stock", direction=way, at=at, fence=at, gives=("p 1", "rest"))
        laid = Layout(
            stock="S", parts=(Placement("p", 0, 0, part.length, part.width),), cuts=(cut,), leftovers=()
        )  # fmt: skip
        claim = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=(laid,))
        found = faults(Problem(stock=(stock,), parts=(part,), kerf=3 * MM), claim)
        assert any("'rest' is given but nothing is left on that side" in f for f in found)
        right = replace(claim, layouts=(replace(laid, cuts=(replace(cut, gives=("p 1", None)),)),))
        assert faults(Problem(stock=(stock,), parts=(part,), kerf=3 * MM), right) == ()


SHEET = Stock(id="S", kind=Kind.FULL, material="ply", length=1000, width=500, cost=7)
NEAR = Part(id="p", length=100, width=80)


def routed(x: int, y: int, *, stock: Stock = SHEET, stock_area: int = 0) -> tuple[str, ...]:
    """Return the faults of one part, 100 by 80, at a place of a sheet of 1000 by 500."""
    laid = Layout(stock="S", parts=(Placement("p", x, y, 100, 80),), cuts=(), leftovers=())
    claim = Plan(status=Status.FEASIBLE, bound=Bound(0, stock_area, ""), layouts=(laid,))
    return faults(Problem(stock=(stock,), parts=(NEAR,), method=Method.ROUTER), claim)


@pytest.mark.parametrize(
    ("x", "y", "out"),
    [(0, 0, False), (900, 420, False), (901, 0, True), (0, 421, True), (-1, 0, True), (0, -1, True)],
)
def test_a_part_may_touch_each_edge_of_the_piece_and_not_pass_it(x: int, y: int, out: bool) -> None:
    assert routed(x, y) == (("layout 1 (S): part 'p' reaches out of the piece",) if out else ())


@pytest.mark.parametrize(
    ("x", "y", "bad"),
    [(10, 20, False), (888, 400, False), (9, 20, True), (10, 19, True), (889, 400, True), (888, 401, True)],
)
def test_a_part_keeps_clear_of_the_trim_at_each_edge(x: int, y: int, bad: bool) -> None:
    """Trims of 10 and 12 at the ends, 20 and 20 at the sides: 888 + 100 = 1000 - 12, 400 + 80 = 500 - 20."""
    trimmed = replace(SHEET, edge_trim=Trim(10, 12, 20, 20))
    wrong = ("layout 1 (S): part 'p' lies within the edge trim",)
    assert routed(x, y, stock=trimmed) == (wrong if bad else ())


def test_a_bound_on_stock_area_may_be_all_that_is_used_and_no_more() -> None:
    assert routed(0, 0, stock_area=500_000) == ()
    assert routed(0, 0, stock_area=500_001) == (
        "the bound on stock area, 500001, is above the plan's 500000",
    )


@pytest.mark.parametrize(
    ("flaws", "right"),
    [
        (((100, 50, 40, 30),), True),  # a knot at 300..340, 50..80 of the sheet, seen from 200, 0
        (((100, 50, 40, 31),), False),
        (((300, 50, 40, 30),), False),
        ((), False),
    ],
)
def test_a_leftover_lists_its_flaws_from_its_own_corner(
    flaws: tuple[tuple[int, int, int, int], ...], right: bool
) -> None:
    knotty = replace(SHEET, flaws=((300, 50, 40, 30),))
    left = Leftover(200, 0, 800, 500, flaws=flaws)
    found = [f for f in with_leftover(knotty, left) if "which flaws" in f]
    assert found == ([] if right else ["layout 1 (S): leftover 1 says wrongly which flaws it contains"])


def with_leftover(stock: Stock, left: Leftover, worth: Worth = Worth()) -> tuple[str, ...]:
    """Return the faults of a part at a corner and one leftover."""
    laid = Layout(stock="S", parts=(Placement("p", 0, 0, 100, 80),), cuts=(), leftovers=(left,))
    claim = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=(laid,))
    return faults(Problem(stock=(stock,), parts=(NEAR,), method=Method.ROUTER, worth=worth), claim)


SMALLER = "layout 1 (S): leftover 1 is smaller than the shop keeps"


@pytest.mark.parametrize(
    ("dx", "dy", "kept"),
    [(400, 100, True), (100, 400, True), (399, 101, False), (401, 99, False), (400, 99, False)],
)
def test_a_leftover_may_be_as_small_as_the_rule_and_no_smaller(dx: int, dy: int, kept: bool) -> None:
    """Kept from 400 by 100 and 40,000 square; each limit is met by one tick less in one of the cases."""
    rule = Worth(keep_short_side=100, keep_long_side=400, keep_area=40_000)
    assert with_leftover(SHEET, Leftover(500, 0, dx, dy), rule) == (() if kept else (SMALLER,))


def test_each_limit_of_what_is_kept_counts_alone() -> None:
    left = Leftover(500, 0, 400, 100)
    for one in ({"keep_short_side": 101}, {"keep_long_side": 401}, {"keep_area": 40_001}):
        rule = replace(Worth(keep_short_side=100, keep_long_side=400, keep_area=40_000), **one)
        assert with_leftover(SHEET, left, rule) == (SMALLER,), one


@pytest.mark.parametrize(
    ("least", "named", "measured", "fits"),
    [
        (None, 20, 5, True), (18, None, None, True), (18, 18, None, True), (18, 17, None, False),
        (18, 25, 18, True), (18, 25, 17, False), (18, 17, 18, True), (1, 25, 0, False),
    ],
)  # fmt: skip
def test_what_is_planed_needs_stock_as_thick_as_a_caliper_says(
    least: int | None, named: int | None, measured: int | None, fits: bool
) -> None:
    stock = replace(SHEET, thickness=named, measured=measured)
    part = replace(NEAR, least_thickness=least)
    laid = Layout(stock="S", parts=(Placement("p", 0, 0, 100, 80),), cuts=(), leftovers=())
    claim = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=(laid,))
    found = faults(Problem(stock=(stock,), parts=(part,), method=Method.ROUTER), claim)
    thin = "layout 1 (S): part 'p': it is too thin for what the part is planed to"
    assert found == (() if fits else (thin,))


@pytest.mark.parametrize(("at", "fence", "right"), [(1, 1, True), (1, 2, False), (-3, 997, True)])
def test_a_fence_may_stand_one_tick_from_the_blade(at: int, fence: int, right: bool) -> None:
    """The blade is 6: at 1 it leaves 1 and 993, at -3 it trims 3 and leaves 997."""
    cut = Cut(step=1, piece="stock", direction=Axis.CROSSCUT, at=at, fence=fence, gives=(None, "rest"))
    laid = Layout(stock="S", parts=(Placement("p", 200, 0, 100, 80),), cuts=(cut,), leftovers=())
    claim = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=(laid,))
    found = faults(Problem(stock=(SHEET,), parts=(NEAR,), kerf=6), claim)
    assert any("the fence is set to the size of neither side" in f for f in found) is not right
    assert not any("misses" in f for f in found)


@pytest.mark.parametrize(
    ("flaw", "seen"),
    [
        ((150, 200, 100, 50), (0, 100, 50, 50)),
        ((750, 200, 100, 50), (550, 100, 50, 50)),
        ((300, 50, 40, 100), (100, 0, 40, 50)),
        ((300, 350, 40, 100), (100, 250, 40, 50)),
        ((0, 0, 1000, 500), (0, 0, 600, 300)),
        ((150, 200, 50, 50), None),
        ((800, 200, 50, 50), None),
        ((300, 50, 40, 50), None),
        ((300, 400, 40, 50), None),
    ],
)
def test_of_a_flaw_across_an_edge_a_leftover_has_what_lies_in_it(
    flaw: tuple[int, int, int, int], seen: tuple[int, int, int, int] | None
) -> None:
    """The leftover lies at 200 to 800 along and 100 to 400 across; a flaw beside it only touches."""
    stock = replace(SHEET, flaws=(flaw,))
    right = Leftover(200, 100, 600, 300, flaws=(seen,) if seen else ())
    wrong = replace(right, flaws=() if seen else (flaw,))
    assert [any("which flaws" in f for f in with_leftover(stock, x)) for x in (right, wrong)] == [False, True]


RIP = Saws(rip_width=1300, stop_length=0, stop_reach=0, guide_length=0)
STOP = replace(RIP, rip_width=700, stop_length=1220, stop_reach=610)
MARK, RAIL = replace(STOP, stop_length=0), replace(RIP, rip_width=0, guide_length=3100)


@pytest.mark.parametrize(
    ("saws", "across", "length", "width", "cut"),
    [
        (STOP, 3500, 1220, 610, True), (STOP, 3500, 1221, 610, False), (STOP, 3500, 1220, 611, False),
        (STOP, 3500, 700, 611, True), (STOP, 3500, 700, 701, False), (STOP, 699, 700, 690, False),
        (MARK, 3500, 3999, 610, True), (MARK, 3500, 3999, 611, False), (MARK, 3500, 700, 611, True),
        (RIP, 3500, 1300, 1300, True), (RIP, 3500, 1300, 20, True), (RIP, 3500, 1301, 1300, False),
        (RIP, 3500, 1300, 1301, False), (RIP, 1300, 1300, 1299, True), (RIP, 1299, 1300, 1298, False),
        (RIP, 3500, 4000, 1300, True), (RIP, 3500, 4000, 1301, False), (RIP, 3500, 3999, 1300, False),
        (RIP, 3500, 4000, 3500, True), (RIP, 3500, 1300, 3500, True), (RIP, 3500, 1301, 3500, False),
        (RAIL, 3100, 3100, 3099, True), (RAIL, 3100, 3101, 3099, False), (RAIL, 3100, 3101, 3100, True),
        (RAIL, 3100, 4000, 3099, False), (RAIL, 3500, 3100, 3100, False), (RAIL, 3500, 4000, 3500, True),
    ],
)  # fmt: skip
def test_a_part_is_cut_up_to_the_last_tick_that_fence_stop_and_rail_reach(
    saws: Saws, across: int, length: int, width: int, cut: bool
) -> None:
    """A fence to 700 or 1300, a stop to 1220 with 610 behind it, a rail of 3100; a sheet 4000 long.

    At the fence nothing is cut across that is longer than the piece in hand is wide. A rail that reaches
    across a sheet neither way begins no cut of it.
    """
    sheet = replace(SHEET, length=4000, width=across, grain=True)
    asked = Problem(stock=(sheet,), parts=(), saws=saws)
    assert verify_fit._reached(asked, sheet, length, width) is cut
    wide = replace(sheet, length=across, width=4000, grain=False)
    if across < 4000:
        assert verify_fit._reached(asked, wide, width, length) is cut, "without grain the long side counts"
    part = Part(id="p", length=length, width=width, fixed=True)
    bare = replace(sheet, edge_trim=NO_TRIM)
    assert lies_on(part, bare, turned=False, saws=saws) is cut
