"""Routed plans end to end: what a saw can not cut, clamps, remains, and that a plan is the same again."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.placing.remains import remains
from stockyard.planning.problem import MONEY, NO_TRIM, Flaw, Grain, Kind, Method, Part, Problem, Stock, Trim
from stockyard.planning.verify import faults
from stockyard.planning.worth import Worth

NOTHING_KEPT = Worth(keep_short_side=10**9)


FEW = Limits(seconds=None, work=4)


def square(side: int, **more: object) -> Stock:
    return Stock(
        id="sheet", kind=Kind.FULL, material="ply", length=side * MM, width=side * MM, count=None,
        cost=50 * MONEY, **more,  # type: ignore[arg-type]
    )  # fmt: skip


def test_four_parts_lie_round_a_hole() -> None:
    """Four 600 x 400 about a hole of 200 x 200 fill a sheet of 1000 x 1000: no edge-to-edge cut begins it."""
    part = Part(id="p", length=600 * MM, width=400 * MM, count=4, grain=Grain.ANY)
    problem = Problem(stock=(square(1000),), parts=(part,), method=Method.ROUTER, worth=NOTHING_KEPT)
    plan = solve(problem, limits=Limits(seconds=None, work=20))
    assert faults(problem, plan) == ()
    assert [len(layout.parts) for layout in plan.layouts] == [4]
    assert plan.status == "proven"


def test_the_bit_needs_its_width_between_them() -> None:
    """With a bit of 6 mm the same four need 1006 each way."""
    part = Part(id="p", length=600 * MM, width=400 * MM, count=4, grain=Grain.ANY)
    for side, sheets in ((1006, 1), (1005, 2)):
        problem = Problem(
            stock=(square(side),), parts=(part,), kerf=6 * MM, method=Method.ROUTER, worth=NOTHING_KEPT
        )
        plan = solve(problem, limits=Limits(seconds=None, work=20))
        assert faults(problem, plan) == ()
        assert len(plan.layouts) == sheets


@pytest.mark.parametrize("seed", range(12))
def test_random_routed_jobs_pass_the_verifier(seed: int) -> None:
    """What routed jobs are searched for in the first rounds; the same again for every third."""
    problem = random_job(seed)
    plan = solve(problem, limits=FEW, seed=seed)
    assert faults(problem, plan) == ()
    assert not any(layout.cuts for layout in plan.layouts)
    if seed % 3 == 1:
        assert solve(problem, limits=FEW, seed=seed) == plan


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100))
def test_100_random_routed_jobs_pass_the_verifier_and_are_repeatable(seed: int) -> None:
    problem, limits = random_job(seed), Limits(seconds=None, work=12)
    plan = solve(problem, limits=limits, seed=seed)
    assert faults(problem, plan) == ()
    assert not any(layout.cuts for layout in plan.layouts)
    assert solve(problem, limits=limits, seed=seed) == plan


def random_job(seed: int) -> Problem:
    """Up to 24 parts, a sheet that may be trimmed, up to six offcuts."""
    rng = Random(seed)
    kerf = rng.choice([0, 3, 6]) * MM
    offcuts = tuple(
        Stock(
            id=f"o{n}", kind=Kind.OFFCUT, material="ply", length=rng.randint(300, 1500) * MM,
            width=rng.randint(200, 900) * MM, grain=rng.random() < 0.5,
        )
        for n in range(rng.randint(0, 6))
    )  # fmt: skip
    parts = tuple(
        Part(
            id=f"p{n}", length=rng.randint(60, 900) * MM, width=rng.randint(60, 500) * MM,
            count=rng.randint(1, 4), grain=rng.choice([Grain.ALONG, Grain.ANY]),
        )
        for n in range(rng.randint(1, 6))
    )  # fmt: skip
    return Problem(
        stock=(square(1500, edge_trim=rng.choice([NO_TRIM, Trim(3 * MM, 8 * MM, 0, 5 * MM)])), *offcuts),
        parts=parts, kerf=kerf, method=Method.ROUTER,
    )  # fmt: skip


def test_what_remains_beside_a_part_in_a_corner() -> None:
    """A part of 400 x 300 in the corner of 1000 x 600: an L, of which the worthiest is kept."""
    piece = Stock(id="s", kind=Kind.OFFCUT, material="ply", length=1000 * MM, width=600 * MM)
    problem = Problem(stock=(piece,), parts=(), kerf=10 * MM, method=Method.ROUTER)
    found = remains(problem, piece, [(0, 0, 400 * MM, 300 * MM)])
    # 590 x 600 over the whole width and 400 x 290 beyond the part; else 1000 x 290 and 590 x 300, worth less.
    assert found == ((0, 310 * MM, 400 * MM, 290 * MM), (410 * MM, 0, 590 * MM, 600 * MM))


def test_what_remains_may_have_a_flaw_and_reaches_under_the_clamps() -> None:
    """Clamps of 60 x 40 at the corners are good material; a knot amid the rest is kept with it.

    What a flaw leaves in strips of 100, under the keep-size of 150, is scrap.
    """
    clamps = tuple(Flaw(x * MM, y * MM, 60 * MM, 40 * MM) for x in (0, 940) for y in (0, 560))
    piece = Stock(id="s", kind=Kind.FULL, material="ply", length=1000 * MM, width=600 * MM, flaws=clamps)
    problem = Problem(stock=(piece,), parts=(), kerf=10 * MM, method=Method.ROUTER)
    part = (70 * MM, 0, 330 * MM, 600 * MM)
    rest = (410 * MM, 0, 590 * MM, 600 * MM)
    assert remains(problem, piece, [part]) == (rest,)
    knot = Flaw(680 * MM, 260 * MM, 50 * MM, 50 * MM)
    assert remains(problem, replace(piece, flaws=(knot,)), [part]) == (rest,)
    bad = Flaw(510 * MM, 100 * MM, 390 * MM, 400 * MM)
    assert remains(problem, replace(piece, flaws=(bad,)), [part]) == ()
