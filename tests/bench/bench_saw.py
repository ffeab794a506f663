"""Fence moves, sizes that remain, full pieces and material of the six jobs in tests/data/saw_jobs.json.

    python -m tests.bench.bench_saw [SECONDS] [SEED] [JOB ...]

Counted by `saw_count`, which shares nothing with the planner and knows of no machines; but `set` are moves
of fence, stop and guided saw by the planner's own count. `least`: no plan without rests has fewer moves.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from stockyard.measure import TICKS_PER_MM
from stockyard.planning.files import read_problem
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.sawing.aim import price
from stockyard.planning.sawing.finish import fence_moves
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from tests.bench.least_moves import least_moves
from tests.bench.saw_count import Count, count

JOBS = Path(__file__).parent.parent / "data" / "saw_jobs.json"


def main(seconds: float, seed: int, names: list[str]) -> None:
    """Plan the jobs and print a row each."""
    print("job          full pieces  cuts sizes   set moves least     rests   net m²    price")
    every: list[Count] = []
    prices = least = settings = 0
    for job in json.loads(JOBS.read_text(encoding="utf-8")):
        if names and job["name"] not in names:
            continue
        text = json.dumps(job["problem"])
        problem, _ = read_problem(text)
        plan = solve(problem, limits=Limits(seconds=seconds), seed=seed)
        assert not faults(problem, plan), faults(problem, plan)
        c = count(text, plan_text(problem, plan))
        every.append(c)
        prices += (own := price(problem, plan))
        least += (needed := least_moves(problem))
        settings += (made := fence_moves(problem, plan))
        print(row(job["name"], c, made, needed, own), flush=True)
    whole = Count(*(sum(getattr(c, f) for c in every) for f in Count.__dataclass_fields__))
    print(row("all", whole, settings, least, prices))


def row(name: str, c: Count, made: int, least: int, price: int) -> str:
    rests = f"{c.rests}/{c.sizes}"
    return (
        f"{name:12} {c.full:4} {c.pieces:6} {c.cuts:5} {c.settings:5} {made:5} {c.moves:5} {least:5} "
        f"{rests:>9} {float(c.net) / 1e6:8.3f} {price / (TICKS_PER_MM * 1e3) ** 2:8.3f}"
    )


if __name__ == "__main__":
    given = sys.argv[1:]
    main(float(given[0]) if given else 10.0, int(given[1]) if len(given) > 1 else 0, given[2:])
