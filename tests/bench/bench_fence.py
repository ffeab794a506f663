"""Fence moves and minutes on the demo jobs, card after card and in the order of work.

    python -m tests.bench.bench_fence [SECONDS]

`set`: how often rip fence, stop or guided saw is set to another figure; each stays where it is until then,
and a trim moves none. `moves`: the same as if one fence ripped all and one stop cut all to length, in the
order of work; `cards`: card after card; `least`: what no plan can do with less (`least_moves`).
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
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.finish import plan_operations
from stockyard.planning.sawing.operations import by_turn
from stockyard.saws import Way
from stockyard.yard.jobs import add_job
from tests.bench.least_moves import least_moves

TARGET = 30


def main(seconds: float) -> None:
    """Plan the demo jobs and print one row each."""
    names = ("pieces", "cuts", "rests", "set", "cards", "moves", "least", "minutes")
    print(f"{'job':14} {' '.join(f'{name:>6}' for name in names)}")
    total = [0, 0, 0, 0]
    with TemporaryDirectory() as folder, build_yard(Path(folder) / "yard.db") as yard:
        for path in sorted((demo_folder() / "cut_lists").iterdir()):
            text = path.read_text(encoding="utf-8")
            parts = understand(yard, text, Ways(first="along")).parts
            job = add_job(yard, path.stem.replace("_", " "), text, parts)
            answer = plan_job(yard, job, Asked(limits=Limits(seconds=seconds), compare=False))
            facts = answer.facts
            row = (
                facts.fence_moves, changes(answer.problem, replace(answer.plan, work=())),
                changes(answer.problem, answer.plan), least_moves(answer.problem),
            )  # fmt: skip
            total = [t + r for t, r in zip(total, row, strict=True)]
            pieces = facts.offcuts + facts.drawn + facts.bought
            minutes = facts.seconds(yard.settings.seconds) / 60
            told = f"{job.name:14} {pieces:6} {facts.cuts:6} {facts.rests:6}"
            print(f"{told} {' '.join(f'{n:6}' for n in row)} {minutes:6.0f}", flush=True)
    print(f"{'all':14} {'':20} {' '.join(f'{n:6}' for n in total)}   target {TARGET}")


def changes(problem: Problem, plan: Plan) -> int:
    """Return how often the figure of either name changes in the order of work, on whatever machine."""
    stands: dict[Way, int] = {}
    count = 0
    for o in by_turn(plan_operations(problem, plan), plan.work):
        if o.setting is not None:
            count += stands.get(o.way) != o.figure
            stands[o.way] = o.figure
    return count


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 10.0)
