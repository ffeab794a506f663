"""Random router problems planned, drawn and read back: every corner within 0.001 mm of its plan."""

from __future__ import annotations

import json
from collections import Counter
from io import StringIO
from random import Random

import ezdxf
import pytest

from stockyard.desk.routed_sheets import routed_sheets, sheet_files
from stockyard.measure import TICKS_PER, Unit
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Layout
from stockyard.planning.problem import Stock
from stockyard.routing import DrawingRules, Origin, Release
from tests.planning.placing.test_random_routed import routed
from tests.printing.test_routed_drawing import Points, closed_lines

QUICK, ALL = 4, 300
Boxes = list[tuple[int, int, int, int]]


def seen(rules: DrawingRules, stock: Stock, x: int, y: int) -> tuple[float, float]:
    """Where a point of the piece (ticks) is for the machine (ticks): quarter turn, then zero."""
    wide, high = (stock.width, stock.length) if rules.along_y else (stock.length, stock.width)
    across, up = (stock.width - y, x) if rules.along_y else (x, y)
    zero = {
        Origin.LOWER_LEFT: (0, 0), Origin.LOWER_RIGHT: (wide, 0), Origin.UPPER_LEFT: (0, high),
        Origin.UPPER_RIGHT: (wide, high), Origin.CENTRE: (wide / 2, high / 2),
    }[rules.origin]  # fmt: skip
    return across - zero[0], up - zero[1]


def off(rules: DrawingRules, stock: Stock, boxes: Boxes, lines: list[Points]) -> float:
    """How far (mm) corners of drawn lines are from those of these boxes at most, each box drawn once."""
    assert len(lines) == len(boxes)
    worst = 0.0
    for (x, y, dx, dy), points in zip(boxes, lines, strict=True):
        wanted = sorted(seen(rules, stock, a, b) for a in (x, x + dx) for b in (y, y + dy))
        found = sorted((px * TICKS_PER[rules.unit], py * TICKS_PER[rules.unit]) for px, py in points)
        # To the tenth of a tick one order, whatever the last digits are.
        found.sort(key=lambda p: (round(p[0], 1), p[1]))
        wanted.sort(key=lambda p: (round(p[0], 1), p[1]))
        assert len(found) == 4
        worst = max(worst, *(abs(a - b) / MM for p, q in zip(found, wanted, strict=True)
                             for a, b in zip(p, q, strict=True)))  # fmt: skip
    return worst


def checked(seed: int) -> Counter[str]:
    """Plan, draw and read back one problem; return how many corners of what were looked at."""
    problem, _ = read_problem(json.dumps(routed(seed)))
    plan = solve(problem, limits=Limits(seconds=None, work=0), seed=seed)
    rng = Random(seed)
    rules = DrawingRules(
        unit=rng.choice(list(Unit)), origin=rng.choice(list(Origin)), along_y=rng.random() < 0.5,
        release=rng.choice(list(Release)),
    )  # fmt: skip
    sheets = routed_sheets(problem, plan.layouts, {})
    stock, looked = {s.id: s for s in problem.stock}, Counter[str]()
    files = sheet_files(sheets, rules, svg=False)
    for layout, (_, data) in zip(plan.layouts, files, strict=True):
        piece = stock[layout.stock]
        for layer, boxes in _boxes(layout, piece).items():
            assert off(rules, piece, boxes, closed_lines(data, layer)) <= 0.001, (seed, layer)
            looked[layer] += 4 * len(boxes)
        assert not ezdxf.read(StringIO(data.decode("cp1252"))).audit().has_errors
    return looked


def _boxes(layout: Layout, piece: Stock) -> dict[str, Boxes]:
    return {
        "SHEET": [(0, 0, piece.length, piece.width)],
        "PARTS": [(p.x, p.y, p.dx, p.dy) for p in layout.parts],
        "REMAINS": [(f.x, f.y, f.dx, f.dy) for f in layout.leftovers],
        "FLAWS": [(f.x, f.y, f.dx, f.dy) for f in piece.flaws],
        "CLAMPS": [],
    }


def test_drawings_of_random_plans_are_exact() -> None:
    looked = Counter[str]()
    for seed in range(QUICK):
        looked += checked(seed)
    assert looked["PARTS"] > 20


@pytest.mark.slow
@pytest.mark.parametrize("tenth", range(10))
def test_three_hundred_drawings_of_random_plans_are_exact(tenth: int) -> None:
    looked = Counter[str]()
    for seed in range(tenth, ALL, 10):
        looked += checked(seed)
    assert min(looked[layer] for layer in ("SHEET", "PARTS", "REMAINS", "FLAWS")) > 20
