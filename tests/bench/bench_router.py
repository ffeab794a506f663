"""The router's plans against published figures and against the saw's.

    python -m tests.bench.bench_router bins BINS.json KNOWN.json [--every 1] [--seconds 10] [--fixed]
    python -m tests.bench.bench_router fits FITS.json [--every 1] [--seconds 10]
    python -m tests.bench.bench_router shop [--every 1] [--seconds 10]
    python -m tests.bench.bench_router first
    python -m tests.bench.bench_router drawings [--plans 300]
    python -m tests.bench.bench_router random [--plans 2000] [--begin 0] [--work 4]

`bins`: instances of Berkey and Wang 1987 and of Martello and Vigo 1998 (name, stock [{w, h}], items
[{w, h, demand}]) beside the best free placement known of each (instances [{name, R_F, O_F}] with value,
bound, proven). `fits`: parts that fit one sheet exactly, or do not (name, n, zero_waste, stock, items,
best_known: value 0 where they do not). `shop`: the invented shop jobs at a gap of 6 mm against the saw at a
kerf of 6 mm in the same time. `first`: how soon the first plan of 60 parts and 150 offcuts is there.
`drawings`: random routed plans as drawing exchange files, read back from their group codes, and how far the
worst corner is off. `random`: random routed problems (gap, clamps, flaws, grain, inches), seeds from
`begin` on, each plan through the verifier and through the tests' check on a grid.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from time import monotonic
from typing import Any

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.solve import solve
from stockyard.planning.hunting.warm_up import compile_all
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Plan, Status
from stockyard.planning.problem import MONEY, Grain, Kind, Method, Part, Problem, Stock
from stockyard.planning.verify import faults
from tests.bench import bench_first, shop_jobs
from tests.planning.placing.test_random_routed import ALL, checked, routed

Row = dict[str, Any]
GAP = 6 * MM


def main(given: Sequence[str] | None = None) -> None:
    """Run one of the benchmarks and print its figures."""
    words = argparse.ArgumentParser()
    words.add_argument("what", choices=("bins", "fits", "shop", "first", "drawings", "random"))
    words.add_argument("files", nargs="*", type=Path)
    words.add_argument("--every", type=int, default=1)
    words.add_argument("--seconds", type=float, default=10)
    words.add_argument("--fixed", action="store_true")
    words.add_argument("--plans", type=int)
    words.add_argument("--begin", type=int, default=0)
    words.add_argument("--work", type=int, default=4)
    asked = words.parse_args(given)
    compile_all()
    if asked.what == "bins":
        bins(*(json.loads(f.read_text()) for f in asked.files), asked.every, asked.seconds, fixed=asked.fixed)
    elif asked.what == "fits":
        fits(json.loads(asked.files[0].read_text()), asked.every, asked.seconds)
    elif asked.what == "shop":
        shop(asked.every, asked.seconds)
    elif asked.what == "first":
        first()
    elif asked.what == "random":
        held(range(asked.begin, asked.begin + (asked.plans or ALL)), asked.work)
    else:
        drawings(asked.plans or 300)


def problem_of(row: Row, *, fixed: bool) -> Problem:
    """Return an instance of one sheet size; its figures are millimetres."""
    sheet = row["stock"][0]
    stock = Stock(
        id="s", kind=Kind.FULL, material="any", length=sheet["w"] * MM, width=sheet["h"] * MM, count=None,
        cost=MONEY, grain=fixed,
    )  # fmt: skip
    parts = tuple(
        Part(id=f"p{n}", length=i["w"] * MM, width=i["h"] * MM, count=i["demand"], grain=Grain.ALONG)
        for n, i in enumerate(row["items"])
    )
    return Problem(stock=(stock,), parts=parts, method=Method.ROUTER)


def planned(problem: Problem, seconds: float) -> Plan:
    """Return the plan of a problem, verified."""
    plan = solve(problem, limits=Limits(seconds=seconds, second=0))
    found = faults(problem, plan)
    assert not found, found
    return plan


def bins(rows: list[Row], known: Row, every: int, seconds: float, *, fixed: bool) -> None:
    """Print sheets against the best known, and what is wrong with any proved optimum."""
    best = {row["name"]: row["O_F" if fixed else "R_F"] for row in known["instances"]}
    total = target = proven = missed = beaten = sawn = 0
    chosen = [row for row in rows if row["name"] in best][::every]
    for row in chosen:
        problem = problem_of(row, fixed=fixed)
        n = len(planned(problem, seconds).layouts)
        wanted = best[row["name"]]
        total, target = total + n, target + wanted["value"]
        proven += wanted["proven"]
        missed += wanted["proven"] and n > wanted["value"]
        beaten += n < wanted["bound"]
        sawn += len(planned(replace(problem, method=Method.SAW), seconds / 2).layouts)
        if n != wanted["value"]:
            print(f"{row['name']}: {n}, best known {wanted['value']}, bound {wanted['bound']}", flush=True)
    print(f"{len(chosen)} instances, {'fixed' if fixed else 'turning'}, {seconds:g} s: {total} sheets, best "
          f"known {target}; at the saw in half the time {sawn}; of {proven} proved optima {missed} missed, "
          f"{beaten} below a bound")  # fmt: skip


def fits(rows: list[Row], every: int, seconds: float) -> None:
    """Print how many sets without waste were packed, and how many fit or no fit were decided right."""
    packed = tried = right = asked = 0
    for row in rows[::every]:
        plan = planned(problem_of(row, fixed=not row.get("rotate", False)), seconds)
        one = len(plan.layouts) == 1
        if row["zero_waste"] and row["best_known"]["value"]:
            if row["n"] <= 50:
                tried += 1
                packed += one
        else:
            asked += 1
            fit = row["best_known"]["value"] > 0
            right += (one and fit) or (not fit and not one and plan.status is Status.PROVEN)
        print(f"{row['name']}: {row['n']} parts, {len(plan.layouts)} sheets, {plan.status}", flush=True)
    print(f"without waste, up to 50 parts, {seconds:g} s: {packed} of {tried} packed; fit or no fit: {right} "
          f"of {asked} decided right")  # fmt: skip


def shop(every: int, seconds: float) -> None:
    """Print money, sheets and net material of router and saw at the same gap."""
    sums = {method: [0, 0, 0] for method in Method}
    more = 0
    for number in range(0, shop_jobs.JOBS, every):
        sheets = {}
        for method in Method:
            problem = replace(shop_jobs.job(number), kerf=GAP, method=method)
            plan = planned(problem, seconds)
            stock = {s.id: s for s in problem.stock}
            full = sum(stock[x.stock].kind is Kind.FULL for x in plan.layouts)
            net = sum(stock[x.stock].area - sum(problem.worth.of(o.dx, o.dy) for o in x.leftovers)
                      for x in plan.layouts)  # fmt: skip
            sheets[method] = full
            sums[method] = [a + b for a, b in zip(sums[method], (full, len(plan.layouts), net), strict=True)]
            print(f"job {number} {method}: {full} sheets, {len(plan.layouts)} pieces, "
                  f"{net / (1000 * MM) ** 2:.3f} m² net", flush=True)  # fmt: skip
        more += sheets[Method.ROUTER] > sheets[Method.SAW]
    saw, router = sums[Method.SAW], sums[Method.ROUTER]
    less = 100 * (saw[2] - router[2]) / saw[2]
    print(f"{seconds:g} s: saw {saw[0]} sheets, router {router[0]}; net material {less:.2f} % less; "
          f"more sheets in {more} jobs")  # fmt: skip


def first() -> None:
    """Print when the first whole plan is there."""
    problem = replace(bench_first.job(60, 150), method=Method.ROUTER, kerf=GAP)
    begun, at = monotonic(), []

    def report(found: Any) -> None:
        if not found.missing:
            at.append(monotonic() - begun)

    solve(problem, limits=Limits(seconds=3), report=report)
    print(f"first plan of 60 parts, 150 offcuts: {min(at):.2f} s")


def held(seeds: range, work: int) -> None:
    """Print which plans of random routed problems do not hold."""
    wrong = 0
    for seed in seeds:
        if line := checked(seed, work):
            wrong += 1
            print(line, flush=True)
        if not (seed + 1) % 25:
            print(f"up to {seed}: {wrong} faults", flush=True)
    print(f"random problems {seeds.start} to {seeds.stop - 1}, {work} steps of work each: {wrong} faults")


def drawings(plans: int) -> None:
    """Print how far the worst corner of all parts is from where its plan has it."""
    from stockyard.desk.routed_sheets import routed_sheets, sheet_files
    from stockyard.printing.routed_sheet import DrawingRules
    from tests.printing.test_routed_drawing import closed_lines

    worst, sheets = 0.0, 0
    for seed in range(plans):
        problem = _routed(seed)
        plan = solve(problem, limits=Limits(seconds=None, work=0), seed=seed)
        rules = DrawingRules(unit=problem.unit)
        drawn = routed_sheets(problem, plan.layouts, {})
        for layout, (_, data) in zip(plan.layouts, sheet_files(drawn, rules, svg=False), strict=True):
            sheets += 1
            lines = closed_lines(data, "PARTS")
            assert len(lines) == len(layout.parts)
            for part, points in zip(layout.parts, lines, strict=True):
                for point, wanted in zip(points, _corners(part), strict=True):
                    worst = max(
                        worst, *(abs(a * rules.scale - b) for a, b in zip(point, wanted, strict=True))
                    )
    print(f"{plans} random plans, {sheets} drawings: the worst corner is {worst / MM:.6f} mm off")


def _corners(p: Any) -> Iterator[tuple[int, int]]:
    yield from ((p.x, p.y), (p.x + p.dx, p.y), (p.x + p.dx, p.y + p.dy), (p.x, p.y + p.dy))


def _routed(seed: int) -> Problem:
    from stockyard.planning.files import read_problem

    return read_problem(json.dumps(routed(seed)))[0]


if __name__ == "__main__":
    main()
