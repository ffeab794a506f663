"""How long advice takes on a large yard: 10,000 pieces, 150 past jobs. Invented data.

python -m tests.bench.bench_advice [PIECES]
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

from stockyard import yard as yards
from stockyard.desk import buying, costs, keep_advice, shelve_advice
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.problem import Kind
from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.jobs import add_job
from stockyard.yard.materials import add_material, materials
from stockyard.yard.model import Form, JobPart, Storage
from stockyard.yard.pieces import Arrival, on_hand, shelve
from stockyard.yard.places import add_place
from tests.bench.year_jobs import SHEETS, year

MM = TICKS_PER_MM


def large_yard(path: Path, pieces: int) -> Yard:
    """Return a yard of `pieces` offcuts in 200 slots and stacks, with a year of past jobs."""
    dice = Random(1)
    yard = yards.new(path, Settings())
    for title in SHEETS:
        name, _, thick = title.rpartition(" ")
        add_material(yard, name, Form.SHEET, thick, int(thick) * MM, grain=SHEETS[title].grain, density=680)
    codes = [f"R{rack}-B{bay}" for rack in range(1, 11) for bay in range(1, 21)]
    for n, code in enumerate(codes):
        storage = Storage.FLAT if n % 4 == 0 else Storage.UPRIGHT
        add_place(
            yard, code, storage, length=2500 * MM, width=1300 * MM, height=1300 * MM, rated_load=500_000
        )
    known = materials(yard)
    shelve(
        yard,
        [
            Arrival(
                material_id=dice.choice(known).id, kind=Kind.OFFCUT, length=dice.randrange(200, 2000) * MM,
                width=dice.randrange(100, 1200) * MM, place=dice.choice(codes),
            )
            for _ in range(pieces)
        ],
    )  # fmt: skip
    for n, job in enumerate(year(1)):
        parts = [
            JobPart(
                name=p.id, count=p.count, length=p.length, width=p.width, materials=p.materials, grain=p.grain
            )
            for p in job.parts
        ]
        add_job(yard, f"job {n} of the year", "invented", parts)
    return yard


def main() -> None:
    """Print one line for each kind of advice."""
    pieces = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with TemporaryDirectory() as folder, large_yard(Path(folder) / "yard.db", pieces) as yard:
        tag = on_hand(yard)[0].tag
        own = materials(yard)[0]
        asked: dict[str, Callable[[], object]] = {
            "place-for": lambda: shelve_advice.place_for(yard, tag),
            "keep": lambda: keep_advice.keep_or_bin(yard, own, 800 * MM, 400 * MM),
            "tidy": lambda: keep_advice.tidy(yard, limit=20),
            "keep-sizes": lambda: keep_advice.learned_settings(yard),
            "reorder": lambda: buying.reorder(yard),
            "month": lambda: costs.month_costs(yard),
        }
        print(f"{pieces} pieces, 150 past jobs: median of three: seconds by the clock, of the processor")
        for name, ask in asked.items():
            clock, processor = _median(ask)
            print(f"  {name:12} {clock:6.3f} {processor:6.3f}")


def _median(ask: Callable[[], object]) -> tuple[float, float]:
    clock, processor = [], []
    for _ in range(3):
        begun, used = perf_counter(), process_time()
        ask()
        clock.append(perf_counter() - begun)
        processor.append(process_time() - used)
    return sorted(clock)[1], sorted(processor)[1]


if __name__ == "__main__":
    main()
