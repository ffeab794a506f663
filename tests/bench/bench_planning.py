"""The planner against published figures, its own bound and rectpack, in one table.

    python -m tests.bench.bench_planning [--seconds 10] [--every 1] [--fixed] [--each] [FILE.json ...]

Without files it solves twenty invented shop jobs (shop_jobs.py). A file holds published instances as a
list of objects: name, stock [{w, h, count, cost, offcut}], items [{w, h, demand}], kerf, best_known.
Boards have a length in place of w and h.
`--fixed` forbids turning. `--each` prints a line for each problem first: pieces, the published number,
status and seconds. Figures: money for full pieces against the proved bound and, for one stock size,
pieces against the best published lower bound or optimum in `best_known`.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from time import monotonic
from typing import Any

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.solve import solve
from stockyard.planning.hunting.warm_up import compile_all
from stockyard.planning.limits import Limits
from stockyard.planning.problem import MONEY, Grain, Kind, Part, Problem, Stock
from stockyard.planning.sawing.report import facts
from stockyard.planning.verify import faults
from tests.bench.shop_jobs import JOBS, job

# Millimetres, narrower than any part is long: boards of the one-dimensional sets have no width.
BOARD_WIDTH = 1


@dataclass
class Row:
    """One line of the table."""

    name: str
    jobs: int = 0
    pieces: int = 0
    published: int = 0
    money: int = 0
    bound: int = 0
    proven: int = 0
    seconds: float = 0.0
    area: int = 0
    rectpack_area: int = 0


def published(known: dict[str, Any], fixed: bool) -> int:
    """Return the best lower bound or optimum known for the number of pieces, 0 for none."""
    way = "O" if fixed else "R"
    keys = [k for k in known if f"|{way}|G" in k or k.endswith((f"_{way}", f"_{way}_opt"))]
    whole = [known[k] for k in keys if isinstance(known[k], int) and "ub" not in k]
    return max(whole, default=known.get("full_sheets_opt", known.get("bins_opt", known.get("lb", 0))))


def across(row: dict[str, Any]) -> tuple[int, int]:
    """Return length and width (ticks) of a sheet, a board or a part; boards are all equally wide."""
    return (row.get("w") or row["length"]) * MM, row.get("h", BOARD_WIDTH) * MM


@dataclass(frozen=True)
class Asked:
    """One problem, and the best lower bound or optimum published for its number of pieces, 0 for none."""

    name: str
    problem: Problem
    published: int = 0


def read(path: Path, fixed: bool) -> Iterator[Asked]:
    """Yield the problems of a file with what is published about them."""
    for d in json.loads(path.read_text()):
        stock = tuple(
            Stock(
                id=f"s{n}", kind=Kind.OFFCUT if s.get("offcut") else Kind.FULL, material="any",
                length=across(s)[0], width=across(s)[1], count=s["count"],
                cost=0 if s.get("offcut") else s["cost"] * MONEY,
            )
            for n, s in enumerate(d["stock"])
        )  # fmt: skip
        grain = Grain.ALONG if fixed else Grain.ANY
        if fixed:
            stock = tuple(Stock(**{f: getattr(s, f) for f in s.__slots__} | {"grain": True}) for s in stock)
        parts = tuple(
            Part(id=f"p{n}", length=across(i)[0], width=across(i)[1], count=i["demand"], grain=grain)
            for n, i in enumerate(d["items"])
        )
        problem = Problem(stock=stock, parts=parts, kerf=d.get("kerf", 0) * MM)
        yield Asked(d["name"], problem, published(d["best_known"], fixed))


def rectpack_area(problem: Problem) -> int:
    """Return the least stock area over rectpack's algorithms and sort orders, 0 when none places all.

    It packs without guillotine cuts; kerf is added to every side, and offcuts are offered first.
    """
    import rectpack

    kerf, wanted = problem.kerf, sum(p.count for p in problem.parts)
    turn = not any(s.grain for s in problem.stock)
    best = 0
    families = "MaxRects", "Skyline", "Guillotine"
    kinds = [k for name, k in vars(rectpack).items() if name.startswith(families) and isinstance(k, type)]
    sorts = [v for k, v in vars(rectpack).items() if k.startswith("SORT_")]
    for kind in kinds:
        for order in sorts:
            packer = rectpack.newPacker(
                pack_algo=kind, sort_algo=order, rotation=turn, bin_algo=rectpack.PackingBin.BFF
            )
            for s in sorted(problem.stock, key=lambda s: (s.kind is Kind.FULL, s.area)):
                size = s.usable[0] + kerf, s.usable[1] + kerf
                packer.add_bin(*size, count=s.count or wanted, bid=s.area)
            for p in problem.parts:
                for _ in range(p.count):
                    packer.add_rect(p.length + kerf, p.width + kerf)
            packer.pack()
            if sum(len(b) for b in packer) == wanted:
                area = sum(b.bid for b in packer)
                best = min(best, area) if best else area
    return best


def measure(name: str, asked: list[Asked], seconds: float, rectpack: bool, each: bool) -> Row:
    """Solve all; every plan must pass the verifier."""
    row = Row(name)
    for ask in asked:
        problem, begun = ask.problem, monotonic()
        plan = solve(problem, limits=Limits(seconds=seconds))
        taken = monotonic() - begun
        found = faults(problem, plan)
        if found:
            raise SystemExit(f"{ask.name}: {found[0]}")
        f = facts(problem, plan)
        other = rectpack_area(problem) if rectpack else 0
        if each:
            told = f"{len(plan.layouts):4} {ask.published or '-':>4} {plan.status} {taken:.1f} s"
            print(f"{ask.name:32} {told}", flush=True)
        row.jobs += 1
        row.seconds += taken
        row.pieces += len(plan.layouts)
        row.published += ask.published
        row.money += f.money
        row.bound += plan.bound.full_cost
        row.proven += plan.status == "proven"
        if other:
            row.area += f.stock_area
            row.rectpack_area += other
    return row


def main() -> None:
    """Print the table."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--seconds", type=float, default=10)
    ask.add_argument("--every", type=int, default=1)
    ask.add_argument("--fixed", action="store_true")
    ask.add_argument("--each", action="store_true")
    ask.add_argument("--no-rectpack", action="store_true")
    ask.add_argument("files", nargs="*", type=Path)
    args = ask.parse_args()
    print(f"kernels ready after {compile_all():.1f} s")
    sets = [(path.stem, list(read(path, args.fixed))) for path in args.files]
    sets = sets or [("shop", [Asked(f"shop job {n + 1}", job(n)) for n in range(JOBS)])]
    print("set                  jobs pieces published   ratio  money/bound proven  s/job  area/rectpack")
    for name, problems in sets:
        row = measure(name, problems[:: args.every], args.seconds, not args.no_rectpack, args.each)
        ratio = f"{row.pieces / row.published:7.4f}" if row.published else "      -"
        money = f"{row.money / row.bound:11.4f}" if row.bound else "          -"
        area = f"{row.area / row.rectpack_area:.3f}" if row.rectpack_area else "-"
        print(
            f"{row.name:20} {row.jobs:4} {row.pieces:6} {row.published:9} {ratio} {money} "
            f"{row.proven / row.jobs:6.0%} {row.seconds / row.jobs:6.1f}  {area}"
        )


if __name__ == "__main__":
    main()
