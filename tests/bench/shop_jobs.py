"""Twenty invented shop jobs: sheets to buy, one-off offcuts on the rack, kerf, trims, grain."""

from __future__ import annotations

import random

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.problem import MONEY, Grain, Kind, Part, Problem, Stock, Trim

JOBS = 20


def offcuts(draw: random.Random, count: int, material: str, grain: bool) -> list[Stock]:
    """Return one-off offcuts between 200 x 100 and 1400 x 500 mm."""
    found = []
    for n in range(count):
        length, width = draw.randint(200, 1400), draw.randint(100, 500)
        found.append(
            Stock(
                id=f"{material[0]}{n}", kind=Kind.OFFCUT, material=material, length=length * MM,
                width=width * MM, thickness=18 * MM, grain=grain, dig=draw.randint(0, 6),
            )
        )  # fmt: skip
    return found


def job(number: int) -> Problem:
    """Return one job of 30 to 150 parts with 20 to 150 offcuts."""
    draw = random.Random(f"shop job {number}")
    material, grain = draw.choice([("birch ply", True), ("white board", False), ("oak veneer", True)])
    sheet = Stock(
        id="sheet", kind=Kind.FULL, material=material, length=2440 * MM, width=1220 * MM, thickness=18 * MM,
        count=None, cost=58 * MONEY, grain=grain, edge_trim=Trim.all_round(5 * MM),
    )  # fmt: skip
    wanted = draw.randint(30, 150)
    parts: list[Part] = []
    made = 0
    while made < wanted:
        count = min(draw.choice([1, 1, 2, 2, 3, 4, 6]), wanted - made)
        long, short = draw.randint(200, 900), draw.randint(60, 600)
        parts.append(
            Part(
                id=f"part {len(parts) + 1}", length=max(long, short) * MM, width=min(long, short) * MM,
                thickness=18 * MM, count=count, grain=draw.choice([Grain.ALONG, Grain.ALONG, Grain.ANY]),
            )
        )  # fmt: skip
        made += count
    rack = offcuts(draw, draw.randint(20, 150), material, grain)
    return Problem(stock=(sheet, *rack), parts=tuple(parts), kerf=3 * MM)
