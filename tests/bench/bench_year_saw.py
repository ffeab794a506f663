"""The simulated year at the saw: what pricing saw work saves in time, and what it costs in sheets.

    python -m tests.bench.bench_year_saw FILE [SECONDS] [SEED] [JOBS]

The same jobs are worked off by our own way twice: with the price of saw work, hands and saw becoming area
by each material's own price as in a shop that starts, and with material, pulls and digs alone. FILE keeps
how far each year is: the command goes on for SECONDS, then may be run again.
"""

from __future__ import annotations

import pickle
import sys
from dataclasses import dataclass, field, replace
from pathlib import Path
from time import monotonic

from stockyard.desk.questions import at_own_price, price_of
from stockyard.effort import Effort
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.report import facts
from stockyard.settings import Settings
from tests.bench.year_jobs import year
from tests.bench.year_shop import Ours, Rack, Year, work_off


def priced(problem: Problem) -> Problem:
    """Return the question as the desk of a shop that starts asks it."""
    effort = Settings().effort(price_of(problem.stock))
    return replace(problem, stock=tuple(at_own_price(problem.stock)), effort=effort)


def unpriced(problem: Problem) -> Problem:
    """Return it with material, pulls and digs alone."""
    return replace(problem, effort=Effort(fence=0, cut=0, rest=0, heavy=0))


WAYS = {"saw work priced": priced, "material alone": unpriced}


@dataclass
class Planner:
    """Plans a job at a price of saw work, and counts the seconds at the saw (of a shop as it starts)."""

    way: str
    at_saw: int = 0
    moves: int = 0
    cuts: int = 0

    def __call__(self, problem: Problem) -> Plan:
        materials = len({p.materials for p in problem.parts})
        problem = WAYS[self.way](problem)
        plan = solve(problem, limits=Limits(seconds=None, work=materials), seed=1)
        done = facts(problem, plan)
        each = replace(Settings().seconds, pull=0, dig=0)
        self.at_saw += done.seconds(each)
        self.moves, self.cuts = self.moves + done.fence_moves, self.cuts + done.cuts
        return plan


@dataclass
class Going:
    """One year so far."""

    planner: Planner
    way: Ours = field(init=False)
    rack: Rack = field(default_factory=Rack)
    year: Year = field(default_factory=Year)
    jobs: int = 0

    def __post_init__(self) -> None:
        self.way = Ours(self.planner)


def main(path: Path, seconds: float, seed: int, most: int) -> None:
    """Go on with both years for a while, and print how they stand."""
    until = monotonic() + seconds
    jobs = year(seed)[:most]
    going = pickle.loads(path.read_bytes()) if path.exists() else {n: Going(Planner(n)) for n in WAYS}
    while monotonic() < until:
        behind = min(going.values(), key=lambda g: g.jobs)
        if behind.jobs == len(jobs):
            break
        work_off(behind.jobs, (jobs[behind.jobs],), behind.rack, behind.year, behind.way)
        behind.jobs += 1
        path.write_bytes(pickle.dumps(going))
    for name, g in going.items():
        hours = g.planner.at_saw / 3600
        told = f"{g.jobs:4} jobs {g.year.sheets:4} sheets {hours:6.1f} h at the saw"
        print(
            f"{name:16} {told} {g.planner.moves:5} moves {g.planner.cuts:5} cuts {g.year.scrap:6.1f} m² scrap"
        )


if __name__ == "__main__":
    given = [*sys.argv[1:], "", "", ""]
    main(Path(given[0]), float(given[1] or 500), int(given[2] or 0), int(given[3] or 150))
