"""How soon the first valid plan of an invented job is there, and what memory the whole solve takes.

    python -m tests.bench.bench_first [--seconds 8]

One job of 60 parts with 150 offcuts and one of 1,000 parts with 1,000 offcuts, each in a process of its
own, after a small job that has loaded the kernels. Memory is the most the process ever held.
"""

from __future__ import annotations

import argparse
import random
import resource
from multiprocessing import get_context
from time import monotonic

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.solve import solve
from stockyard.planning.hunting.warm_up import compile_all
from stockyard.planning.limits import Limits
from stockyard.planning.problem import MONEY, Kind, Part, Problem, Stock, Trim
from tests.bench.shop_jobs import offcuts

JOBS = ((60, 150), (1000, 1000))


def job(parts: int, racked: int) -> Problem:
    """Return a job of so many parts, all different, with so many offcuts and sheets to buy."""
    draw = random.Random(parts)
    sheet = Stock(
        id="sheet", kind=Kind.FULL, material="birch ply", length=2440 * MM, width=1220 * MM,
        thickness=18 * MM, count=None, cost=58 * MONEY, edge_trim=Trim.all_round(5 * MM),
    )  # fmt: skip
    wanted = tuple(
        Part(
            id=f"part {n}", length=draw.randint(200, 900) * MM, width=draw.randint(60, 600) * MM,
            thickness=18 * MM, count=1,
        )
        for n in range(parts)
    )  # fmt: skip
    return Problem(stock=(sheet, *offcuts(draw, racked, "birch ply", False)), parts=wanted, kerf=3 * MM)


def measure(size: tuple[int, int], seconds: float) -> tuple[float, float]:
    """Return the seconds until all parts were placed, and the memory in MB."""
    solve(job(20, 20), limits=Limits(seconds=1))
    problem, begun = job(*size), monotonic()
    placed: list[float] = []
    solve(
        problem,
        limits=Limits(seconds=seconds),
        report=lambda found: placed.append(monotonic() - begun) if not found.missing else None,
    )
    return placed[0], resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Print one line for each job."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--seconds", type=float, default=8)
    args = ask.parse_args()
    compile_all()
    for size in JOBS:
        with get_context("spawn").Pool(1) as alone:
            first, memory = alone.apply(measure, (size, args.seconds))
        print("{} parts, {} offcuts: first plan {:.2f} s, memory {:.0f} MB".format(*size, first, memory))


if __name__ == "__main__":
    main()
