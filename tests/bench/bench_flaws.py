"""Sheets with flaws: is everything that a best pattern holds cut from the one sheet?

    python -m tests.bench.bench_flaws FILE [--seconds 5] [--every 1]

FILE are the instances of Afsharian, Niknejad and Waescher 2014 as JSON: `stock` with one sheet and its
`defects`, `items` (`w`, `h`) and `solution_counts`, how many of each item a best pattern holds (see
tests/data/README.md).
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from time import monotonic
from typing import Any

from stockyard.planning.hunting.solve import solve
from stockyard.planning.hunting.warm_up import compile_all
from stockyard.planning.limits import Limits
from stockyard.planning.problem import Flaw, Kind, Part, Problem, Stock
from stockyard.planning.verify import faults

MM = 3200


def problem_of(instance: dict[str, Any]) -> Problem:
    """Return what is asked of one sheet; a unit of the instance is a millimetre."""
    (sheet,) = instance["stock"]
    flaws = tuple(Flaw(f["x"] * MM, f["y"] * MM, f["w"] * MM, f["h"] * MM) for f in sheet["defects"])
    stock = Stock(
        id="sheet", kind=Kind.FULL, material="any", length=sheet["w"] * MM, width=sheet["h"] * MM,
        grain=True, cost=1, flaws=flaws,
    )  # fmt: skip
    wanted = enumerate(zip(instance["items"], instance["solution_counts"], strict=True))
    parts = tuple(
        Part(id=str(n), length=item["w"] * MM, width=item["h"] * MM, count=count)
        for n, (item, count) in wanted
        if count
    )
    return Problem(stock=(stock,), parts=parts)


def main() -> None:
    """Print what was not cut whole, then how many were."""
    ask = argparse.ArgumentParser()
    ask.add_argument("file", type=Path)
    ask.add_argument("--seconds", type=float, default=5)
    ask.add_argument("--every", type=int, default=1)
    args = ask.parse_args()
    compile_all()
    instances = json.loads(args.file.read_text(encoding="utf-8"))[:: args.every]
    whole, taken = 0, 0.0
    for instance in instances:
        begun, problem = monotonic(), problem_of(instance)
        plan = solve(problem, limits=Limits(seconds=args.seconds))
        taken += monotonic() - begun
        wrong = faults(problem, plan)
        whole += not plan.unplaced and not wrong
        if plan.unplaced or wrong:
            missing = sum(u.count for u in plan.unplaced)
            print(f"{instance['name']}: {missing} of {sum(p.count for p in problem.parts)} left out {wrong}")
    print(f"{whole} of {len(instances)} cut whole from one sheet, {taken / len(instances):.2f} s each")


if __name__ == "__main__":
    main()
