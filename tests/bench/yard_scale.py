"""How fast a large yard answers: `python -m tests.bench.yard_scale [--pieces N] [--entries N] [--keep FILE]`.

Builds an invented yard of that many pieces and ledger entries through the program's own functions, then
prints the best and worst time of each everyday question inside the process, and of `check`.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

from stockyard import yard
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.problem import Kind
from stockyard.settings import Settings
from stockyard.yard import check, ledger, materials, pieces, places, search, undo
from stockyard.yard.model import Form, Storage

MM = TICKS_PER_MM
LOT = 5000
QUESTIONS = (
    "500 x 600 18 birch",
    "20in x 30in ply",
    "2400 x 150",
    "9000 x 9000",
    "oak",
    "100 x 100",
    "2390 x 1190 6 oak",
)


def build(path: Path, count: int, entries: int, seed: int = 1) -> None:
    """Make a yard of `count` pieces at 500 places and at least `entries` ledger entries."""
    r = random.Random(seed)
    with yard.new(path, Settings()) as y:
        stuff = [
            materials.add_material(
                y, f"{wood} ply", Form.SHEET, f"{t} mm", t * MM, grain=True, density=680
            ).id
            for wood in ("birch", "poplar", "oak", "beech")
            for t in (6, 9, 12, 18)
        ]
        spots = [
            places.add_place(y, f"R{i}-B{j}-S{k}", Storage.FLAT).code
            for i in range(5)
            for j in range(5)
            for k in range(20)
        ]
        for start in range(0, count, LOT):
            pieces.shelve(y, [_arrival(r, stuff, spots) for _ in range(min(LOT, count - start))])
        tags = [row["tag"] for row in y.rows("SELECT tag FROM piece")]
        have = y.one("SELECT count(*) FROM entry")
        y.connection.execute("PRAGMA synchronous = OFF")
        while have < entries:
            lot = r.sample(tags, min(len(tags), 40, entries - have))
            have += len(pieces.move(y, lot, r.choice(spots)))


def _arrival(r: random.Random, stuff: list[int], spots: list[str]) -> pieces.Arrival:
    length, width = r.randint(200, 2400) * MM, r.randint(150, 1200) * MM
    return pieces.Arrival(
        material_id=r.choice(stuff), kind=Kind.OFFCUT, length=length, width=width, place=r.choice(spots)
    )


def measure(path: Path, rounds: int = 7, seed: int = 2) -> list[tuple[str, float, float]]:
    """Return (what, best, worst) in milliseconds for the everyday questions."""
    r = random.Random(seed)
    table: list[tuple[str, float, float]] = []

    def time(what: str, run: Callable[[], object], times: int = rounds) -> None:
        took = []
        for _ in range(times):
            start = perf_counter()
            run()
            took.append((perf_counter() - start) * 1000)
        table.append((what, min(took), max(took)))

    with yard.open(path) as y:
        tags = [row["tag"] for row in y.rows("SELECT tag FROM piece ORDER BY random() LIMIT 50")]
        one = pieces.Arrival(
            material_id=1, kind=Kind.FULL, length=MM, width=MM, place=places.places(y)[0].code
        )
        time("open", lambda: yard.open(path).close())
        for question in QUESTIONS:
            time(f"find {question}", lambda q=question: search.find(y, search.read_wanted(y, q)))  # type: ignore[misc]
        time("tag", lambda: pieces.by_tag(y, r.choice(tags)))
        time("history", lambda: ledger.history(y, r.choice(tags)))
        time("shelve one", lambda: pieces.shelve(y, [one]))
        time("undo it", lambda: undo.undo(y))
        time("check", lambda: check.check(y), 1)
    return table


def main() -> None:
    """Build the yard, or take the one kept, and print the table."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--pieces", type=int, default=100_000)
    words.add_argument("--entries", type=int, default=1_000_000)
    words.add_argument("--keep", type=Path, default=None)
    given = words.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = given.keep or Path(folder) / "large.db"
        if not path.exists():
            start = perf_counter()
            build(path, given.pieces, given.entries)
            print(f"built {given.pieces} pieces, {given.entries} entries in {perf_counter() - start:.0f} s")
        for what, best, worst in measure(path):
            print(f"{what:24} best {best:10.2f} ms   worst {worst:10.2f} ms")


if __name__ == "__main__":
    main()
