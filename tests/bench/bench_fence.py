"""Fence moves and minutes on the five demo jobs, card after card and in the order of work.

    python -m tests.bench.bench_fence [SECONDS]

A move is each time the rip fence or the crosscut stop is set to another size; both stay where they are until
then, and a trim moves neither.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from stockyard.desk.demo import build_yard, demo_folder
from stockyard.desk.job_list import Ways, understand
from stockyard.desk.plan_job import Asked, plan_job
from stockyard.planning.limits import Limits
from stockyard.planning.sawing.finish import fence_moves
from stockyard.yard.jobs import add_job

TARGET = 30


def main(seconds: float) -> None:
    """Plan the demo jobs and print one row each."""
    print(f"{'job':14} {'pieces':>6} {'cuts':>5} {'rests':>5} {'cards':>6} {'moves':>6} {'minutes':>7}")
    total = [0, 0]
    with TemporaryDirectory() as folder, build_yard(Path(folder) / "yard.db") as yard:
        for path in sorted((demo_folder() / "cut_lists").iterdir()):
            text = path.read_text(encoding="utf-8")
            parts = understand(yard, text, Ways(first="along")).parts
            job = add_job(yard, path.stem.replace("_", " "), text, parts)
            answer = plan_job(yard, job, Asked(limits=Limits(seconds=seconds), compare=False))
            facts = answer.facts
            row = fence_moves(answer.problem, replace(answer.plan, work=())), facts.fence_moves
            total = [t + r for t, r in zip(total, row, strict=True)]
            pieces = facts.offcuts + facts.drawn + facts.bought
            minutes = facts.seconds(yard.settings.seconds) / 60
            told = f"{job.name:14} {pieces:6} {facts.cuts:5} {facts.rests:5}"
            print(f"{told} {row[0]:6} {row[1]:6} {minutes:7.0f}", flush=True)
    print(f"{'all':14} {'':6} {'':5} {'':5} {total[0]:6} {total[1]:6}   target {TARGET}")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0)
