"""Ctrl-C at a random moment of the real command, small jobs and large: seconds to its end, exit code, lines.

    python -m tests.bench.bench_stop [--times 5] [--only 0 1 2]

The plan must be whole JSON, or absent where the stop came before there was one; one line of error at most.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from pathlib import Path
from random import Random
from signal import SIGINT
from tempfile import TemporaryDirectory
from time import monotonic, sleep

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.problem import MONEY, Problem
from tests.bench.large_jobs import large

# Parts and kinds.
JOBS = ((12, 12), (1000, 80), (5000, 1666), (50_000, 500))
SECONDS = 10.0


def written(problem: Problem) -> str:
    """Return a large job as a problem file."""
    parts = [
        {"id": p.id, "length": p.length / MM, "width": p.width / MM, "count": p.count, "grain": str(p.grain)}
        for p in problem.parts
    ]
    sheet = problem.stock[-1]
    stock = {"id": sheet.id, "kind": "full", "material": sheet.material, "length": sheet.length / MM,
             "width": sheet.width / MM, "cost": sheet.cost / MONEY, "grain": True, "count": None}  # fmt: skip
    return json.dumps({"unit": "mm", "kerf": 3, "stock": [stock], "parts": parts})


def stopped(file: Path, after: float) -> tuple[float, int, str, int]:
    """Return the seconds from Ctrl-C to the end, the exit code, what was written, and lines of error."""
    words = [sys.executable, "-m", "stockyard", "solve", str(file), "--seconds", str(SECONDS)]
    with subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as command:
        sleep(after)
        begun = monotonic()
        command.send_signal(SIGINT)
        out, errors = command.communicate()
    plan = f"{len(json.loads(out)['layouts'])} layouts" if out else "no plan"
    return monotonic() - begun, command.returncode, plan, len(errors.splitlines())


def main() -> None:
    """Print a line for each stop."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--times", type=int, default=5)
    ask.add_argument("--only", type=int, nargs="*", default=range(len(JOBS)))
    args = ask.parse_args()
    random = Random(1)
    with TemporaryDirectory() as folder:
        for n in args.only:
            file = Path(folder) / "job.json"
            file.write_text(written(large(*JOBS[n])), encoding="utf-8")
            for _ in range(args.times):
                after = random.uniform(0.05, SECONDS)
                seconds, code, plan, lines = stopped(file, after)
                print(
                    f"{JOBS[n][0]:6} parts, after {after:4.1f} s: {seconds:5.2f} s, code {code}, {plan}, "
                    f"{lines} lines of error",
                    flush=True,
                )


if __name__ == "__main__":
    main()
