"""Usable leftovers in one period: least cost of plates, then the most usable leftover, beside bounds.

    python -m tests.bench.bench_leftovers FILE [--seconds S]

FILE holds the ABM and ABMR instances (Andrade, Birgin, Morabito 2016; Andrade, Birgin, Morabito, Ronconi
2014) as a JSON list of {"name", "stock": [{"w", "h", "count", "cost"}], "items": [{"w", "h", "demand"}]}.
The collection that holds them states no licence, so they are not shipped: take them from the
OR-Datasets repository (2D/Datasets/ABM). Costs are areas and parts may not be turned. The optimal values
of the papers were not to be had; the cost is compared with the least subset of plates whose area holds
the items, which no plan can beat.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path
from time import perf_counter
from typing import Any

from stockyard.effort import FREE
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan
from stockyard.planning.problem import MONEY, Grain, Kind, Part, Problem, Stock
from stockyard.planning.verify import faults
from stockyard.planning.worth import Worth


def problem_of(instance: dict[str, Any]) -> Problem:
    """Return an instance as a problem; a leftover is usable when it holds the smallest sides of the items."""
    items = instance["items"]
    side = min(min(i["w"], i["h"]) for i in items)
    area = min(i["w"] * i["h"] for i in items)
    largest = max(s["w"] * s["h"] for s in instance["stock"])
    return Problem(
        stock=tuple(
            Stock(
                id=f"plate {n}", kind=Kind.FULL, material="m", length=s["w"], width=s["h"], count=s["count"],
                cost=s["cost"] * MONEY, grain=True,
            )
            for n, s in enumerate(instance["stock"])
        ),
        parts=tuple(
            Part(id=f"item {n}", length=i["w"], width=i["h"], count=i["demand"], grain=Grain.ALONG)
            for n, i in enumerate(items)
        ),
        worth=Worth(keep_short_side=side, keep_area=area, whole_area=largest, floor=0),
        effort=FREE,
    )  # fmt: skip


def least_plates(stock: Sequence[dict[str, int]], need: int) -> int:
    """Return the least cost of plates whose area is at least `need` (costs are areas): a subset sum."""
    reach = {0}
    for plate in stock:
        for _ in range(plate["count"]):
            reach |= {r + plate["cost"] for r in reach if r < need}
    return min(r for r in reach if r >= need)


def row(instance: dict[str, Any], seconds: float) -> tuple[list[object], bool]:
    """Return one line of the table, and whether the cost meets its bound."""
    problem = problem_of(instance)
    begun = perf_counter()
    plan = solve(problem, limits=Limits(seconds=seconds), seed=1)
    spent = perf_counter() - begun
    assert not faults(problem, plan) and not plan.unplaced
    need = sum(i["w"] * i["h"] * i["demand"] for i in instance["items"])
    bound = least_plates(instance["stock"], need)
    cost, kept, largest = _figures(problem, plan)
    line = [
        instance["name"], cost, plan.bound.full_cost // MONEY, bound, kept, cost - need, largest, plan.status,
        f"{spent:.1f}",
    ]  # fmt: skip
    return line, cost == max(bound, plan.bound.full_cost // MONEY)


def _figures(problem: Problem, plan: Plan) -> tuple[int, int, int]:
    """Return the cost of the plates, the usable leftover area, and the largest leftover."""
    cost = {s.id: s.cost // MONEY for s in problem.stock}
    areas = [left.dx * left.dy for layout in plan.layouts for left in layout.leftovers]
    return sum(cost[layout.stock] for layout in plan.layouts), sum(areas), max(areas, default=0)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Usable leftovers, single period.")
    parser.add_argument("file", type=Path)
    parser.add_argument("--seconds", type=float, default=5.0)
    given = parser.parse_args()
    heads = (
        "instance",
        "cost",
        "our bound",
        "area bound",
        "usable left",
        "all left",
        "largest",
        "status",
        "s",
    )
    print("| " + " | ".join(heads) + " |\n|" + "---|" * len(heads))
    met = 0
    instances = json.loads(given.file.read_text(encoding="utf-8"))
    for instance in instances:
        line, at_bound = row(instance, given.seconds)
        met += at_bound
        print("| " + " | ".join(map(str, line)) + " |", flush=True)
    print(f"\n{met} of {len(instances)} at a bound on the cost, so proven least.")


if __name__ == "__main__":
    main()
