"""A simulated year: does keeping the right offcuts save sheets? An invented shop, 150 jobs, 10 seeds.

    python -m tests.bench.bench_year [--seeds 10] [--jobs 150] [--work 1] [--processes 2] [--ways 4 5]
                                     [--first 0] [--out FOLDER] [--results FILE]
                                     [--for SECONDS --state FOLDER] [--whole SECONDS]

The same jobs are worked off in six ways: no offcuts kept; every offcut kept and parts cut from the first
piece that fits; a fixed keep-size, a full rack clearing its oldest or its smallest piece; ours (worth,
keep-or-bin and tidy-up learned from the jobs so far); and ours with the jobs of each week planned as one, in
as many rounds as one after another.
All but first fit use the planner, stopped by work, so that every run gives the same figures. The bound is
the year's parts planned as one job: their area with kerf over that of a sheet, rounded up a material.
`--out` writes simulated-year.md and simulated-year.svg; `--results` keeps finished runs and goes on.
`--for` ends after so many seconds, between two plans: `--state` keeps how far each year is, and the same
command goes on. `--whole` plans all parts of a year and material as one job instead, in so many seconds each,
and prints the sheets by area, the planner's bound and the sheets of its plan.
"""

from __future__ import annotations

import argparse
import json
import pickle
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from time import time

from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.problem import MONEY, Grain, Kind, Part, Problem, Stock, Trim
from stockyard.whole import write_whole
from tests.bench.year_jobs import EDGE_TRIM, KERF, SHEETS, Job, year
from tests.bench.year_report import plot, table
from tests.bench.year_shop import WAYS, Going

FOOT = """
The rack has ten upright slots of six pieces. Handled counts pieces pulled, pieces moved to reach them,
leftovers put away and pieces cleared out. A full rack clears its oldest piece unless it says smallest;
ours clears what its tidy-up list names. A week's jobs planned together wait for its last. The bound packs
the whole year's parts by area, so no way can do without that many sheets.

Made by `python -m tests.bench.bench_year --out tests/bench/results`; the shop and its jobs are invented.
"""

Run = tuple[int, int, int, int]
"""Seed, number of jobs, number of the way, rounds of work for each material of a job."""


@dataclass(frozen=True, slots=True)
class Planner:
    """Plans a job, or several as one, in so many rounds of work for each material of each."""

    work: int

    def __call__(self, problem: Problem) -> Plan:
        """Return the plan of a problem whose parts may be named after their jobs."""
        asked = {(p.id.rpartition("/")[0], p.materials) for p in problem.parts}
        return solve(problem, limits=Limits(seconds=None, work=self.work * len(asked)), seed=1)


def run(given: Run, ends: float | None = None, state: Path | None = None) -> dict[str, float] | None:
    """Return one year's figures, None where it is not done when the clock is at `ends`."""
    seed, jobs, way, work = given
    kept = state and state / f"{'-'.join(map(str, given))}.pickle"
    going = pickle.loads(kept.read_bytes()) if kept and kept.is_file() else Going(WAYS[way](Planner(work)))

    def late() -> bool:
        if kept:
            write_whole(kept, pickle.dumps(going))
        return ends is not None and time() > ends

    if not going.go_on(year(seed)[:jobs], late):
        print(f"{WAYS[way].name}, year {seed}: {going.plans} plans, {going.year.sheets} sheets so far")
        return None
    done = going.year
    return {
        "seed": seed,
        "jobs": jobs,
        "way": way,
        "work": work,
        "sheets": done.sheets,
        "money": done.money / MONEY,
        "scrap": round(done.scrap, 2),
        "handled": done.handled,
        "fill": round(done.fill, 4),
        "racked": round(done.racked, 2),
    }


def sheets_bound(jobs: Sequence[Job]) -> int:
    """Return the sheets that no way of working can do without."""
    need = dict.fromkeys(SHEETS, 0)
    for job in jobs:
        for part in job.parts:
            assert part.materials is not None
            need[part.materials[0]] += (part.length + KERF) * (part.width + KERF) * part.count
    total = 0
    for name, sheet in SHEETS.items():
        usable = (sheet.length - 2 * EDGE_TRIM + KERF) * (sheet.width - 2 * EDGE_TRIM + KERF)
        total += -(-need[name] // usable)
    return total


def planned_whole(jobs: Sequence[Job], material: str, seconds: float) -> tuple[int, int]:
    """Return the planner's bound and the sheets of its plan for a year's parts of a material as one job."""
    counts: Counter[tuple[int, int]] = Counter()
    for part in (p for job in jobs for p in job.parts if p.materials == (material,)):
        counts[part.length, part.width] += part.count
    sheet = SHEETS[material]
    stock = Stock(
        id=material, kind=Kind.FULL, material=material, length=sheet.length, width=sheet.width, count=None,
        cost=MONEY, grain=sheet.grain, edge_trim=Trim.all_round(EDGE_TRIM),
    )  # fmt: skip
    parts = tuple(
        Part(
            id=f"p{n}", length=length, width=width, count=count, materials=(material,),
            grain=Grain.ALONG if sheet.grain else Grain.ANY,
        )
        for n, ((length, width), count) in enumerate(counts.items(), 1)
    )  # fmt: skip
    plan = solve(Problem(stock=(stock,), parts=parts, kerf=KERF), limits=Limits(seconds=seconds), seed=1)
    return plan.bound.full_cost // MONEY, len(plan.layouts)


def main() -> None:
    """Run what is not there yet and print the table."""
    given = _arguments()
    seeds = range(given.first, given.first + given.seeds)
    if given.whole:
        for seed in seeds:
            jobs = year(seed)[: given.jobs]
            found = [planned_whole(jobs, material, given.whole) for material in SHEETS]
            bound, sheets = (sum(column) for column in zip(*found, strict=True))
            print(f"year {seed}: {sheets_bound(jobs)} by area, bound {bound}, planned {sheets}", flush=True)
        return
    wanted = [(seed, given.jobs, way, given.work) for seed in seeds for way in given.ways]
    rows = _known(given.results)
    ends = given.seconds and time() + given.seconds
    with ProcessPoolExecutor(given.processes) as pool:
        for done in as_completed([pool.submit(run, r, ends, given.state) for r in wanted if r not in rows]):
            row = done.result()
            if row is None:
                continue
            rows[_key(row)] = row
            if given.results:
                with given.results.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(row) + "\n")
    if any(r not in rows for r in wanted):
        return
    results = {WAYS[n].name: [rows[r] for r in wanted if r[2] == n] for n in given.ways}
    bounds = [float(sheets_bound(year(seed)[: given.jobs])) for seed in seeds]
    text = table(results, bounds)
    print(text)
    if given.out:
        given.out.mkdir(parents=True, exist_ok=True)
        years = f"{given.seeds} years of {given.jobs} invented jobs, mean ± standard deviation."
        head = f"# The simulated year\n\n{years}\n\n"
        foot = "\n![plot](simulated-year.svg)\n" + FOOT
        (given.out / "simulated-year.md").write_text(head + text + foot, encoding="utf-8")
        (given.out / "simulated-year.svg").write_text(plot(results, bounds), encoding="utf-8")


def _key(row: dict[str, float]) -> Run:
    return int(row["seed"]), int(row["jobs"]), int(row["way"]), int(row["work"])


def _known(path: Path | None) -> dict[Run, dict[str, float]]:
    if path is None or not path.is_file():
        return {}
    found = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return {_key(row): row for row in found}


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="A simulated year.")
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--jobs", type=int, default=150)
    parser.add_argument("--work", type=int, default=1, help="rounds for each material of a job")
    parser.add_argument("--processes", type=int, default=2)
    every = range(len(WAYS))
    parser.add_argument("--ways", type=int, nargs="+", choices=every, default=every, help="from 0 on")
    parser.add_argument("--out", type=Path)
    parser.add_argument("--results", type=Path)
    parser.add_argument("--for", type=float, dest="seconds", metavar="SECONDS", help="stop after so long")
    parser.add_argument("--state", type=Path, help="a folder that keeps how far each year is")
    parser.add_argument(
        "--whole", type=float, metavar="SECONDS", help="a year's parts of a material as one job"
    )
    return parser.parse_args()


if __name__ == "__main__":
    main()
