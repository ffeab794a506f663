"""Whether planning stops where it should: the usual limits beside a long run, and the same work done twice.

    python -m tests.bench.bench_enough demo [--seconds 10] [--seeds 5]    the demo's jobs
    python -m tests.bench.bench_enough small [--seconds 60] [--jobs 30]   invented jobs of 3 to 15 parts
    python -m tests.bench.bench_enough twice [--jobs 10]                  by --work: equal to the byte
    python -m tests.bench.bench_enough twice-demo [--work 8]              the demo's jobs through `plan`

The second of two runs by work has one core alone, where the system can bind it to one.

The long run never stops because a further second is not worth it. `dearer`: what the usual plan costs more:
money in pieces of the dearest stock, then material, hands and saw (the shop's price) in fetched pieces.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from time import monotonic

from stockyard.desk.ask_planner import Asked
from stockyard.desk.demo import build_yard, demo_folder
from stockyard.desk.job_list import Ways, understand
from stockyard.desk.plan_job import plan_job
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.child import plan_in_child
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.problem import MONEY, Kind, Part, Problem, Stock
from stockyard.planning.sawing.report import facts
from stockyard.planning.written import plan_text
from stockyard.yard.jobs import add_job, planned_job
from stockyard.yard.store import Yard
from tests.bench.shop_jobs import offcuts


def price(problem: Problem, plan: Plan) -> tuple[int, float]:
    """Return the money of a plan, and its material, hands and saw in fetched pieces."""
    rows, found, effort = {s.id: s for s in problem.stock}, facts(problem, plan), problem.effort
    material = 0
    for x in plan.layouts:
        stock = rows[x.stock]
        kept = sum(problem.worth.clear(left.dx, left.dy, left.flaws) for left in x.leftovers)
        material += stock.counts(stock.area - kept)
    hands = effort.pull * len(plan.layouts) + effort.dig * found.to_move
    saw = effort.cut * found.cuts + effort.heavy * found.heavy + effort.rest * found.rests
    return found.money, (material + hands + saw + effort.fence * found.fence_moves) / effort.pull


def small(seed: int) -> Problem:
    """Return a job of 3 to 15 parts of one material, a few offcuts on the rack."""
    random = Random(f"small {seed}")
    sheet = Stock(
        id="sheet", kind=Kind.FULL, material="birch ply", length=2440 * MM, width=1220 * MM,
        thickness=18 * MM, count=None, cost=58 * MONEY,
    )  # fmt: skip
    wanted = random.randint(3, 15)
    parts: list[Part] = []
    while wanted:
        count = random.randint(1, min(wanted, 4))
        size = random.randint(150, 1100) * MM, random.randint(80, 600) * MM
        name = f"part {len(parts)}"
        parts.append(Part(id=name, length=size[0], width=size[1], thickness=18 * MM, count=count))
        wanted -= count
    rack = offcuts(random, random.randint(0, 12), "birch ply", False)
    return Problem(stock=(sheet, *rack), parts=tuple(parts), kerf=3 * MM)


def demo_jobs(yard: Yard) -> Iterator[tuple[str, Asked]]:
    """Put the demo's jobs into a yard; yield their names and how they are planned."""
    for path in sorted((demo_folder() / "cut_lists").iterdir()):
        text = path.read_text(encoding="utf-8")
        parts = understand(yard, text, Ways(first="along")).parts
        job = add_job(yard, path.stem.replace("_", " "), text, parts)
        yield job.name, Asked(limits=Limits(seconds=yard.settings.plan_seconds), compare=False)


def told(name: str, problem: Problem, usual: Plan, taken: float, long: Plan) -> None:
    """Print a row."""
    (money, own), (least, best) = price(problem, usual), price(problem, long)
    dearest = max(s.cost for s in problem.stock) or 1
    print(f"{name:16} {taken:8.1f} {(money - least) / dearest:+8.1f} {own - best:+8.2f}", flush=True)


def demo(seconds: float, seeds: int) -> None:
    """Print a row for each of the demo's jobs and each seed."""
    with TemporaryDirectory() as folder, build_yard(Path(folder) / "yard.db") as yard:
        for name, asked in list(demo_jobs(yard)):
            for seed in range(seeds):
                begun, job = monotonic(), planned_job(yard, name)
                usual = plan_job(yard, job, replace(asked, seed=seed, wait=yard.settings.wait))
                taken = monotonic() - begun
                patient = replace(asked, seed=seed, limits=Limits(seconds=seconds), wait=Fraction(0))
                told(f"{name} {seed}", usual.problem, usual.plan, taken, plan_job(yard, job, patient).plan)


def small_jobs(seconds: float, jobs: range) -> None:
    """Print a row for each small job."""
    for n in jobs:
        problem, begun = small(n), monotonic()
        usual = plan_in_child(problem)
        taken = monotonic() - begun
        told(f"small {n}", problem, usual, taken, plan_in_child(problem, Limits(seconds=seconds, second=0)))


def twice(jobs: range) -> None:
    """Print for each job whether two processes find the same plan with the same work."""
    for n in jobs:
        problem = small(n)
        first = plan_text(problem, plan_in_child(problem, Limits(seconds=None, work=8)))
        with one_core():
            same = plan_text(problem, plan_in_child(problem, Limits(seconds=None, work=8))) == first
        print(f"small {n:3} {'the same' if same else 'DIFFERENT'}", flush=True)


@contextmanager
def one_core() -> Iterator[None]:
    """Let what is begun within run on one core, where the system can say so."""
    if not hasattr(os, "sched_setaffinity"):
        yield
        return
    cores = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(cores)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, cores)


def twice_demo(work: int, seeds: int) -> None:
    """Print for each of the demo's jobs whether `plan` finds the same by the same work, on one core too."""
    with TemporaryDirectory() as folder, build_yard(Path(folder) / "yard.db") as yard:
        for name, asked in list(demo_jobs(yard)):
            for seed in range(seeds):
                job = planned_job(yard, name)
                limited = replace(asked, seed=seed, limits=Limits(seconds=None, work=work))
                first = plan_job(yard, job, limited).body
                with one_core():
                    same = plan_job(yard, job, limited).body == first
                print(f"{name:16} {seed} {'the same' if same else 'DIFFERENT'}", flush=True)


def main() -> None:
    """Run one of the four."""
    ask = argparse.ArgumentParser()
    ask.add_argument("what", choices=("demo", "small", "twice", "twice-demo"))
    ask.add_argument("--seconds", type=float)
    ask.add_argument("--seeds", type=int, default=5)
    ask.add_argument("--jobs", type=int, default=0)
    ask.add_argument("--from", dest="first", type=int, default=0)
    ask.add_argument("--work", type=int, default=8)
    args = ask.parse_args()
    print(f"{'job':16} {'seconds':>8} {'money':>8} {'dearer':>8}" if "twice" not in args.what else "")
    if args.what == "demo":
        demo(args.seconds or 10.0, args.seeds)
    elif args.what == "small":
        small_jobs(args.seconds or 60.0, range(args.first, args.first + (args.jobs or 30)))
    elif args.what == "twice-demo":
        twice_demo(args.work, args.seeds)
    else:
        twice(range(args.first, args.first + (args.jobs or 10)))


if __name__ == "__main__":
    main()
