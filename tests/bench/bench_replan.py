"""How long a person waits for the kitchen job mended after an upset.

    python -m tests.bench.bench_replan [--times 5]

The goal is 3 s. The job and its stock are those of tests/data/saw_jobs.json. Each upset is made in a new copy
of a yard in which it is planned and half of it pulled. Figures are seconds on the clock and of the processor,
the planner's process included; that process is begun anew for each plan, as at the terminal.
"""

from __future__ import annotations

import argparse
import json
import resource
import tempfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from statistics import median
from time import monotonic
from typing import Any

from stockyard import yard
from stockyard.desk import planning, shop, solving
from stockyard.desk.door import Yardkeeper
from stockyard.desk.job_change import Wishes, change_job
from stockyard.desk.planning import How
from stockyard.desk.racks import measure
from stockyard.kinds import Grain, Kind
from stockyard.measure import MONEY, TICKS_PER_MM, Length, Money, show
from stockyard.settings import Settings
from stockyard.yard import Yard, jobs
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, JobPart, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, shelve
from stockyard.yard.places import add_place
from stockyard.yard.plans import standing_plan
from stockyard.yard.pulling import pull, report_gone, to_pull

KITCHEN = "kitchen"
SAW_JOBS = Path(__file__).parents[1] / "data" / "saw_jobs.json"
GOAL = 3.0
WHAT = ("a piece is missing", "a piece is narrower", "one more of a part", "one fewer of a part")


def upsets(y: Yard) -> dict[str, Callable[[], object]]:
    """Return what may happen to the kitchen job, each on a piece or a part that its plan has still to cut."""
    job = jobs.job(y, KITCHEN)
    waiting = to_pull(y, job.id)
    piece, part = waiting[0], job.parts[0]
    narrower = f"{show(piece.length, y.unit)} x {show(piece.width - piece.width // 20, y.unit)}"
    return {
        "a piece is missing": lambda: report_gone(y, piece.tag, "missing"),
        "a piece is narrower": lambda: measure(y, piece.tag, narrower),
        "one more of a part": lambda: change_job(y, KITCHEN, Wishes(counts={part.name: str(part.count + 1)})),
        "one fewer of a part": lambda: change_job(
            y, KITCHEN, Wishes(counts={part.name: str(part.count - 1)})
        ),
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="The kitchen job mended after an upset.")
    parser.add_argument("--times", type=int, default=5)
    times = parser.parse_args().times
    solving.warm_up()
    with tempfile.TemporaryDirectory() as name:
        base = Path(name) / "yard.db"
        _prepared(base)
        for what in (
            "a piece is missing",
            "a piece is narrower",
            "one more of a part",
            "one fewer of a part",
        ):
            took = [_once(base, Path(name) / f"{what} {n}.db", what) for n in range(times)]
            clock = sorted(t for t, _, _ in took)
            print(
                f"{what:22} median {median(clock):.2f} s, longest {clock[-1]:.2f} s (goal {GOAL:.0f} s), "
                f"processor {median(p for _, p, _ in took):.2f} s, cards that stand {took[0][2]}"
            )


def _prepared(path: Path) -> None:
    """Make a yard with the stock of the kitchen job, the job planned and half of its pieces at the saw."""
    given = next(g for g in json.loads(SAW_JOBS.read_text(encoding="utf-8")) if g["name"] == KITCHEN)[
        "problem"
    ]
    with yard.new(path, Settings()) as y:
        add_place(y, "RACK", Storage.FLAT)
        for name in dict.fromkeys(s["material"] for s in given["stock"]):
            _stocked(y, name, [s for s in given["stock"] if s["material"] == name])
        parts = [
            JobPart(
                name=p["id"], count=p["count"], length=_ticks(p["length"]), width=_ticks(p["width"]),
                materials=tuple(_title(m) for m in p["material"]), grain=Grain(p.get("grain", "along")),
            )
            for p in given["parts"]
        ]  # fmt: skip
        jobs.add_job(y, KITCHEN, KITCHEN, parts)
        planning.plan(y, KITCHEN, How(seconds=10))
        waiting = to_pull(y, jobs.job(y, KITCHEN).id)
        pull(y, [p.tag for p in waiting[len(waiting) // 2 :]])


def _stocked(y: Yard, title: str, rows: Sequence[Mapping[str, Any]]) -> None:
    name, thick = title.split()
    made = add_material(y, name, Form.SHEET, f"{thick} mm", _ticks(int(thick)), grain=bool(rows[0]["grain"]))
    for row in rows:
        kind = Kind(row["kind"])
        size = _ticks(row["length"]), _ticks(row["width"])
        if kind is Kind.FULL:
            add_price(y, made.id, *size, Money(row["cost"] * MONEY))
        shelve(
            y,
            [
                Arrival(
                    material_id=made.id, kind=kind, length=size[0], width=size[1], place="RACK",
                    count=row["count"],
                )
            ],
        )  # fmt: skip


def _title(material: str) -> str:
    name, thick = material.split()
    return f"{name} {thick} mm"


def _ticks(figure: float) -> Length:
    return Length(round(figure * TICKS_PER_MM))


def _once(base: Path, path: Path, what: str) -> tuple[float, float, str]:
    """Upset a copy of the yard and plan again: seconds, processor seconds, which cards stand."""
    with Yardkeeper(base).open() as y:
        shop.back_up(y, path)
    with Yardkeeper(path).open() as y:
        upsets(y)[what]()
        begun, used = monotonic(), _processor()
        made = planning.plan(y, KITCHEN, How())
        took = monotonic() - begun, _processor() - used
        assert made.cards is not None
        plan = standing_plan(y, jobs.job(y, KITCHEN).id)
        return *took, f"{len(made.cards.stand)} of {len(plan.layouts) if plan else 0}"


def _processor() -> float:
    """Return the processor's seconds of this process and of its children that ended."""
    both = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(used.ru_utime + used.ru_stime for used in both)


if __name__ == "__main__":
    main()
