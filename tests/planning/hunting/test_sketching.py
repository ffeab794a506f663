"""What somebody sees while a plan is made: every part of the answer where it lies, none over another."""

from __future__ import annotations

from itertools import combinations

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.sketching import MOST
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Improvement, Limits
from stockyard.planning.problem import Kind, Part, Problem, Stock, Trim

SHEET = Stock(
    id="sheet", kind=Kind.FULL, material="birch ply", length=2440 * MM, width=1220 * MM, count=None, cost=60,
    grain=True,
    edge_trim=Trim(x_low=5 * MM, x_high=5 * MM, y_low=8 * MM, y_high=5 * MM),
)  # fmt: skip
KERF = 3 * MM


def told(*parts: Part) -> list[Improvement]:
    found: list[Improvement] = []
    problem = Problem(stock=(SHEET,), parts=parts, kerf=KERF)
    solve(problem, limits=Limits(seconds=None, work=2), report=found.append)
    return found


def test_the_last_sketch_holds_every_part_where_it_fits() -> None:
    parts = (
        Part(id="side", length=720 * MM, width=560 * MM, count=5),
        Part(id="rail", length=500 * MM, width=90 * MM, count=7),
    )
    last = told(*parts)[-1]
    assert not last.missing and len(last.sketches) == last.pieces
    drawn = [p for s in last.sketches for p in s.parts]
    assert sorted({p[2:]: 0 for p in drawn}) == sorted((p.length, p.width) for p in parts)
    assert sum(dx * dy for *_, dx, dy in drawn) == sum(p.length * p.width * p.count for p in parts)
    for sketch in last.sketches:
        assert (sketch.length, sketch.width) == (SHEET.length, SHEET.width)
        trim = SHEET.edge_trim
        for x, y, dx, dy in sketch.parts:
            assert x >= trim.x_low and x + dx <= sketch.length - trim.x_high
            assert y >= trim.y_low and y + dy <= sketch.width - trim.y_high
        for (ax, ay, adx, ady), (bx, by, bdx, bdy) in combinations(sketch.parts, 2):
            beside = ax + adx + KERF <= bx or bx + bdx + KERF <= ax
            assert beside or ay + ady + KERF <= by or by + bdy + KERF <= ay


def test_of_many_pieces_only_the_first_are_sketched() -> None:
    last = told(Part(id="top", length=2300 * MM, width=1100 * MM, count=MOST + 3))[-1]
    assert last.pieces == MOST + 3 and len(last.sketches) == MOST
