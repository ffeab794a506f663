"""Large jobs: full pieces against the proved bound, time against the limit, processor time (on a
busy machine much less than two cores would give), and memory.

python -m tests.bench.bench_large [--seconds 10] [--only 0 1 2 3 4]
"""

from __future__ import annotations

import argparse
import resource
from time import monotonic

from stockyard.planning.child import plan_in_child
from stockyard.planning.limits import Limits
from stockyard.planning.problem import Kind
from stockyard.planning.sawing.report import facts
from stockyard.planning.verify import faults
from tests.bench.large_jobs import large

# Parts, kinds, offcuts.
JOBS = ((1000, 80, 0), (5000, 200, 0), (5000, 1666, 0), (1000, 80, 1000), (50_000, 500, 0))


def main() -> None:
    """Print a line for each job."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--seconds", type=float, default=10)
    ask.add_argument("--only", type=int, nargs="*", default=range(len(JOBS)))
    args = ask.parse_args()
    print(" parts kinds offcuts  money/bound  area/bound    full  offcuts seconds   cpu   MB")
    cpu = 0.0
    for n in args.only:
        parts, kinds, offcuts = JOBS[n]
        problem, begun = large(parts, kinds, offcuts), monotonic()
        plan = plan_in_child(problem, Limits(seconds=args.seconds))
        taken = monotonic() - begun
        found = faults(problem, plan)
        if found:
            raise SystemExit(f"{parts} parts: {found[0]}")
        kind = {s.id: s.kind for s in problem.stock}
        area = {s.id: s.area for s in problem.stock}
        full = sum(kind[layout.stock] is Kind.FULL for layout in plan.layouts)
        bound, money = plan.bound.full_cost, facts(problem, plan).money
        over = (
            f"{100 * (money / bound - 1):+10.2f} %" if bound else f"{'met' if not money else 'no bound':>12}"
        )
        least, used = plan.bound.stock_area, sum(area[layout.stock] for layout in plan.layouts)
        over += f" {100 * (used / least - 1):+8.2f} %" if least else f"{'no bound':>11}"
        usage = resource.getrusage(resource.RUSAGE_CHILDREN)
        memory, used_cpu = usage.ru_maxrss // 1024, usage.ru_utime + usage.ru_stime - cpu
        cpu += used_cpu
        print(
            f"{parts:6} {kinds:5} {offcuts:7} {over} {full:7} {len(plan.layouts) - full:8} {taken:7.1f} "
            f"{used_cpu:5.1f} {memory:4}{'' if not plan.unplaced else '  not all placed'}",
            flush=True,
        )


if __name__ == "__main__":
    main()
