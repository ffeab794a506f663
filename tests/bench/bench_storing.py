"""Storing a large plan in a yard: processor time of what follows the search, and of reading it back.

python -m tests.bench.bench_storing [--parts 5000 --kinds 200 --offcuts 0] [--profile]
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

from stockyard import yard
from stockyard.desk.plan_job import Asked, keep, plan_job
from stockyard.planning.limits import Limits
from stockyard.planning.problem import Kind
from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.jobs import add_job
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Job, JobPart, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, shelve
from stockyard.yard.places import add_place
from stockyard.yard.plans import standing_plan
from tests.bench.large_jobs import large


def filled(opened: Yard, parts: int, kinds: int, offcuts: int) -> Job:
    """Put a large job and its stock into a yard."""
    problem = large(parts, kinds, offcuts)
    add_place(opened, "WALL", Storage.BRACKETS)
    made = add_material(opened, "ply", Form.SHEET, "18 mm", 18 * 3200, grain=True)
    sheet = problem.stock[-1]
    add_price(opened, made.id, sheet.length, sheet.width, sheet.cost)
    racked = [
        Arrival(material_id=made.id, kind=Kind.OFFCUT, length=s.length, width=s.width, place="WALL", count=1)
        for s in problem.stock[:-1]
    ]
    if racked:
        shelve(opened, racked)
    wanted = [
        JobPart(
            name=p.id, materials=(made.title,), length=p.length, width=p.width, count=p.count, grain=p.grain
        )
        for p in problem.parts
    ]
    return add_job(opened, "large", "large", wanted)


def main() -> None:
    """Print what planning, storing and reading back take."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--parts", type=int, default=5000)
    ask.add_argument("--kinds", type=int, default=200)
    ask.add_argument("--offcuts", type=int, default=0)
    ask.add_argument("--profile", action="store_true")
    args = ask.parse_args()
    watch = cProfile.Profile()
    with TemporaryDirectory() as folder, yard.new(Path(folder) / "yard.db", Settings()) as opened:
        job = filled(opened, args.parts, args.kinds, args.offcuts)
        begun = process_time()
        answer = plan_job(opened, job, Asked(limits=Limits(seconds=1.0), compare=False))
        planned = process_time()
        if args.profile:
            watch.enable()
        keep(opened, answer)
        stored = process_time()
        plan = standing_plan(opened, job.id)
        read = process_time()
        watch.disable()
        assert plan is not None
        print(
            f"{len(plan.layouts)} layouts: asked, verified and made rows {planned - begun:.2f} s, "
            f"stored {stored - planned:.2f} s, read {read - stored:.2f} s of one processor"
        )
        if args.profile:
            pstats.Stats(watch).sort_stats("cumtime").print_stats(45)


if __name__ == "__main__":
    main()
