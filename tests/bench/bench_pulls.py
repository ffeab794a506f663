"""What levels 3 and 4 of the aim save: pieces pulled, against an aim that looks at stock area alone.

    python -m tests.bench.bench_pulls [--seconds 10] [--every 1]

The twenty invented shop jobs (shop_jobs.py) are planned twice: under the whole aim, and with nothing
charged for a pull and no worth given to leftovers. Net material is the stock used less the worth of
what goes back, without the price per pull, for both plans by the same rule. `least` is what area alone
says of any plan with as many full sheets as ours: the largest offcuts that make up for the rest.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

from stockyard.effort import FREE
from stockyard.planning.hunting.solve import solve
from stockyard.planning.hunting.warm_up import compile_all
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.problem import MONEY, Kind, Problem
from stockyard.planning.sawing.aim import score
from stockyard.planning.verify import faults
from tests.bench.shop_jobs import JOBS, job

# Leftovers are kept and written down as always, but no size is worth anything.
WORTHLESS_AREA = 10**40


def figures(problem: Problem, plan: Plan) -> tuple[int, float, float]:
    """Return pieces pulled, net material (m²) and money."""
    scored = score(replace(problem, effort=FREE), plan)
    return len(plan.layouts), scored.price / (3200 * 1000) ** 2, scored.money / MONEY


def least_pieces(problem: Problem, plan: Plan) -> int:
    """Return how many pieces a plan with the same full sheets has at least, by area."""
    stock = {s.id: s for s in problem.stock}
    sheets = [s for s in (stock[x.stock] for x in plan.layouts) if s.kind is Kind.FULL]
    missing = sum(p.length * p.width * p.count for p in problem.parts)
    missing -= sum(s.length * s.width for s in sheets)
    pieces = len(sheets)
    for area in sorted((s.length * s.width for s in problem.stock if s.kind is Kind.OFFCUT), reverse=True):
        if missing <= 0:
            break
        missing, pieces = missing - area, pieces + 1
    return pieces


def main() -> None:
    """Print one line for each job and the totals."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--seconds", type=float, default=10)
    ask.add_argument("--every", type=int, default=1)
    args = ask.parse_args()
    compile_all()
    limits = Limits(seconds=args.seconds)
    print("job   pieces  area-only   net m²  area-only    money  area-only    least")
    sums = [0.0] * 7
    for n in range(0, JOBS, args.every):
        problem = job(n)
        blind = replace(problem.worth, floor=0, whole_area=WORTHLESS_AREA)
        area_only = replace(problem, effort=FREE, worth=blind)
        ours, theirs = solve(problem, limits=limits), solve(area_only, limits=limits)
        if faults(problem, ours) or faults(area_only, theirs):
            raise SystemExit(f"job {n}: the verifier found a fault")
        row = [x for pair in zip(figures(problem, ours), figures(problem, theirs), strict=True) for x in pair]
        row.append(least_pieces(problem, ours))
        sums = [a + b for a, b in zip(sums, row, strict=True)]
        print("{:3} {:8.0f} {:10.0f} {:8.2f} {:10.2f} {:8.0f} {:10.0f} {:8.0f}".format(n, *row), flush=True)
    print("all {:8.0f} {:10.0f} {:8.2f} {:10.2f} {:8.0f} {:10.0f} {:8.0f}".format(*sums))
    print(f"pieces pulled {sums[0] / sums[1]:.2f} of the area-only aim's, at least {sums[6] / sums[1]:.2f};")
    print(f"net material {sums[2] / sums[3]:.3f} of it")


if __name__ == "__main__":
    main()
