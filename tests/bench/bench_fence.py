"""Fence moves on the five demo jobs, before and after ordering across pieces.

    python -m tests.bench.bench_fence [SECONDS]

Before: the planner's own cut trees in its own order, each piece's cuts ordered by themselves. Cards: as
finished, card after card. A move is each time the rip fence or the crosscut stop is set to another size;
both stay where they are until then, and a trim moves neither.
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import stockyard.planning.hunting.solve as planner
from stockyard.desk.demo import build_yard, demo_folder
from stockyard.desk.job_list import Ways, understand
from stockyard.desk.plan_job import Asked, plan_job
from stockyard.planning.plan import Layout, Plan
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.finish import fence_moves, finish, plain
from stockyard.planning.tree import Pattern
from stockyard.yard.jobs import add_job

TARGET = 0.7


def main(seconds: float) -> None:
    """Plan the demo jobs and print one row each."""
    plains: list[Layout] = []

    def recorded(problem: Problem, patterns: list[Pattern], **others: Any) -> Plan:
        plains.extend(plain(problem, patterns))
        return finish(problem, patterns, **others)

    planner.finish = recorded
    print(f"{'job':14} {'pieces':>6} {'cuts':>5} {'before':>7} {'cards':>6}")
    total = [0, 0]
    with TemporaryDirectory() as folder, build_yard(Path(folder) / "yard.db") as yard:
        for path in sorted((demo_folder() / "cut_lists").iterdir()):
            text = path.read_text(encoding="utf-8")
            parts = understand(yard, text, Ways(first="along")).parts
            job = add_job(yard, path.stem.replace("_", " "), text, parts)
            plains.clear()
            asked = Asked(limits=planner.Limits(seconds=seconds), compare=False)
            layouts = plan_job(yard, job, asked).plan.layouts
            row = fence_moves(plains), fence_moves(layouts)
            total = [t + r for t, r in zip(total, row, strict=True)]
            cuts = sum(len(lay.cuts) for lay in layouts)
            print(f"{job.name:14} {len(layouts):6} {cuts:5} {row[0]:7} {row[1]:6}")
    before, cards = total
    print(f"{'all':14} {'':6} {'':5} {before:7} {cards:6}")
    print(f"{'share':14} {'':6} {'':5} {1:7} {cards / before:6.2f}   target {TARGET}")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 5.0)
