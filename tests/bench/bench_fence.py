"""Fence moves and minutes on the demo jobs, card after card and in the order of work.

    python -m tests.bench.bench_fence [SECONDS]

A move is each time the rip fence or the crosscut stop is set to another size; both stay where they are until
then, and a trim moves neither. `least`: what no plan can do with less (`least_moves`).
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from stockyard.desk.ask_planner import Asked
from stockyard.desk.demo import build_yard, demo_folder
from stockyard.desk.job_list import Ways, understand
from stockyard.desk.plan_job import plan_job
from stockyard.planning.limits import Limits
from stockyard.planning.sawing.finish import fence_moves
from stockyard.yard.jobs import add_job
from tests.bench.least_moves import least_moves

TARGET = 30


def main(seconds: float) -> None:
    """Plan the demo jobs and print one row each."""
    names = ("pieces", "cuts", "rests", "cards", "moves", "least", "minutes")
    print(f"{'job':14} {' '.join(f'{name:>6}' for name in names)}")
    total = [0, 0, 0]
    with TemporaryDirectory() as folder, build_yard(Path(folder) / "yard.db") as yard:
        for path in sorted((demo_folder() / "cut_lists").iterdir()):
            text = path.read_text(encoding="utf-8")
            parts = understand(yard, text, Ways(first="along")).parts
            job = add_job(yard, path.stem.replace("_", " "), text, parts)
            answer = plan_job(yard, job, Asked(limits=Limits(seconds=seconds), compare=False))
            facts = answer.facts
            row = fence_moves(answer.problem, replace(answer.plan, work=())), facts.fence_moves
            row = *row, least_moves(answer.problem)
            total = [t + r for t, r in zip(total, row, strict=True)]
            pieces = facts.offcuts + facts.drawn + facts.bought
            minutes = facts.seconds(yard.settings.seconds) / 60
            told = f"{job.name:14} {pieces:6} {facts.cuts:6} {facts.rests:6}"
            print(f"{told} {row[0]:6} {row[1]:6} {row[2]:6} {minutes:6.0f}", flush=True)
    print(f"{'all':14} {'':6} {'':6} {'':6} {total[0]:6} {total[1]:6} {total[2]:6}   target {TARGET}")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0)
