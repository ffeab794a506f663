"""What is left over kept whole: an L and a frame by hand, and random ones against a grid of cells."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from stockyard.flaws import Flaw, covered
from stockyard.planning.placing.frames import frames
from stockyard.planning.problem import Kind, Method, Problem, Stock
from stockyard.worth import Worth

KEPT = Worth(keep_short_side=100, keep_area=20_000, whole_area=1_000_000)


def piece(length: int, width: int) -> Stock:
    return Stock(id="s", kind=Kind.FULL, material="ply", length=length, width=width)


def problem(gap: int) -> Problem:
    return Problem(stock=(), parts=(), kerf=gap, worth=KEPT, method=Method.ROUTER)


def test_an_l_beside_a_part_in_a_corner() -> None:
    """A part of 400 x 300 in the corner of 1000 x 600, a gap of 10: all but 410 x 310 remains."""
    (found,) = frames(problem(10), piece(1000, 600), [(0, 0, 400, 300)])
    assert found.box == (0, 0, 1000, 600) and found.holes == (Flaw(0, 0, 410, 310),)


def test_a_frame_round_a_part() -> None:
    (found,) = frames(problem(10), piece(1000, 600), [(200, 150, 400, 300)])
    assert found.box == (0, 0, 1000, 600) and found.holes == (Flaw(190, 140, 420, 320),)


def test_what_is_too_narrow_is_no_part_of_it_and_two_rests_are_two() -> None:
    """A part over the width but for 50 at each edge: left and right of it do not hang together."""
    left, right = frames(problem(10), piece(1000, 600), [(400, 50, 200, 500)])
    assert (left.box, right.box) == ((0, 0, 390, 600), (610, 0, 390, 600))
    assert left.holes == right.holes == ()


@pytest.mark.parametrize("seed", range(60))
def test_random_frames_are_what_the_grid_says(seed: int) -> None:
    """Solid is what some square of 10 x 10 cells of the shop's least size can reach, by painting."""
    rng = Random(seed)
    parts = []
    for _ in range(rng.randint(1, 6)):
        dx, dy = rng.randint(5, 40), rng.randint(5, 30)
        parts.append((rng.randint(0, 100 - dx), rng.randint(0, 60 - dy), dx, dy))
    gap = rng.choice([0, 1, 2])
    kept = Worth(keep_short_side=12, keep_area=144, whole_area=10_000)
    asked = Problem(stock=(), parts=(), kerf=gap, worth=kept, method=Method.ROUTER)
    free = np.ones((100, 60), bool)
    for x, y, dx, dy in parts:
        free[max(0, x - gap) : x + dx + gap, max(0, y - gap) : y + dy + gap] = False
    solid = np.zeros_like(free)
    for x in range(100 - 11):
        for y in range(60 - 11):
            if free[x : x + 12, y : y + 12].all():
                solid[x : x + 12, y : y + 12] = True
    drawn = np.zeros((100, 60), int)
    for f in frames(asked, piece(100, 60), parts):
        x, y, dx, dy = f.box
        own = np.ones((dx, dy), int)
        for hole in f.holes:
            own[hole.x : hole.x + hole.dx, hole.y : hole.y + hole.dy] -= 1
        assert own.min() == 0 or not f.holes
        assert own.min() >= 0 and covered(f.holes) == int((own == 0).sum())
        drawn[x : x + dx, y : y + dy] += own
    assert ((drawn > 0) == solid).all() and drawn.max() <= 1
