"""An invented small shop for the tests of the yard, and ways to look at a whole yard at once."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import count
from pathlib import Path

from stockyard import yard
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.problem import Kind
from stockyard.settings import Settings
from stockyard.yard import Yard, jobs, materials, pieces, places, plans, schema
from stockyard.yard.model import Form, Job, JobPart, Material, Piece, Storage
from stockyard.yard.planned import Making, NewPlan, PlannedLeftover, PlannedPart, StoredLayout, StoredPlan

MM = TICKS_PER_MM
SHEET = (2440 * MM, 1220 * MM)


def ticking_clock() -> object:
    """Return a clock that moves a second at each look."""
    seconds = count()
    return lambda: f"2026-03-01T{(n := next(seconds)) // 3600 % 24:02}:{n // 60 % 60:02}:{n % 60:02}Z"


@dataclass(frozen=True, slots=True)
class Shop:
    """An open yard with two materials, three places, four sheets and an offcut of birch ply."""

    yard: Yard
    ply: Material
    oak: Material
    sheets: tuple[Piece, ...]
    offcut: Piece


def make_shop(path: Path) -> Shop:
    """Put a copy of the shop's yard at `path` and open it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(_template(), path)
    y = yard.open(path, clock=ticking_clock())  # type: ignore[arg-type]
    oak, ply = sorted(materials.materials(y), key=lambda m: m.form)
    *sheets, offcut = pieces.at_place(y, "R1-B2-S3")[::-1]
    return Shop(y, ply, oak, tuple(sheets), offcut)


@cache
def _template() -> Path:
    """Make the shop's yard once for all tests."""
    folder = Path(tempfile.mkdtemp(prefix="shop"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    with yard.new(folder / "yard.db", Settings(), clock=ticking_clock()) as y:  # type: ignore[arg-type]
        ply = materials.add_material(
            y, "birch ply", Form.SHEET, "18 mm", 17_700 * MM // 1000, grain=True, density=680
        )
        materials.add_material(y, "white oak", Form.BOARD, "4/4", 24 * MM, grain=True)
        places.add_place(y, "R1-B2-S3", Storage.FLAT)
        places.add_place(y, "R1-B1", Storage.UPRIGHT)
        places.add_place(y, "R2", Storage.BRACKETS, supports=4)
        pieces.shelve(y, [full(ply, 4)])
        pieces.shelve(y, [cut_off(ply, 1200, 600)])
        y.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return folder / "yard.db"


def full(material: Material, n: int = 1, at: str = "R1-B2-S3", cost: int = 600_000) -> pieces.Arrival:
    """Return full sheets to shelve."""
    return pieces.Arrival(
        material_id=material.id, kind=Kind.FULL, length=SHEET[0], width=SHEET[1], place=at, count=n, cost=cost
    )


def cut_off(material: Material, length: int, width: int, at: str = "R1-B2-S3") -> pieces.Arrival:
    """Return one offcut to shelve, in millimetres."""
    return pieces.Arrival(
        material_id=material.id, kind=Kind.OFFCUT, length=length * MM, width=width * MM, place=at, cost=70_001
    )


def add_job(y: Yard, name: str = "kitchen") -> Job:
    """Store a job of two sides."""
    return jobs.add_job(
        y, name, "2 sides 700 x 500", [JobPart(name="side", count=2, length=700 * MM, width=500 * MM)]
    )


def planned(name: str, length: int, width: int, count: int = 1) -> tuple[PlannedPart, ...]:
    """Return equal parts of a layout, in ticks; where they lie does not matter to the yard."""
    return (PlannedPart(name=name, length=length, width=width),) * count


def layout(
    n: int, piece: Piece, *, parts: int = 2, leftovers: tuple[tuple[int, int], ...] = ()
) -> StoredLayout:
    """Return a layout of a piece: sides of 700 x 500 and leftovers in millimetres."""
    return StoredLayout(
        number=n,
        tag=piece.tag,
        material_id=piece.material_id,
        length=piece.length,
        width=piece.width,
        placed=planned("side", 700 * MM, 500 * MM, parts),
        leftovers=tuple(PlannedLeftover(length=a * MM, width=b * MM) for a, b in leftovers),
    )


MAKING = Making(
    kerf=3 * MM, seed=0, time_limit=1000, work_limit=None, program="0.0.test", settings='{"kerf": 9600}'
)


def store(
    y: Yard,
    job_id: int,
    layouts: Sequence[StoredLayout],
    *,
    status: str = "feasible",
    replaces: int | None = None,
) -> StoredPlan:
    """Store a plan that nobody verifies: the yard keeps what it is given."""
    new = NewPlan(status=status, layouts=tuple(layouts), questions=(), making=MAKING)
    return plans.store_plan(y, job_id, new, verify=lambda *_: None, replaces=replaces)


def plan_for(shop: Shop, *chosen: Piece, job: Job | None = None) -> StoredPlan:
    """Promise pieces to a job, each giving two sides and an offcut of 1000 x 400."""
    wanted = job or add_job(shop.yard)
    return store(
        shop.yard, wanted.id, [layout(n, p, leftovers=((1000, 400),)) for n, p in enumerate(chosen, 1)]
    )


def state_of(y: Yard) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of every journalled table."""
    return {
        table: sorted(tuple(row) for row in y.rows(f"SELECT * FROM {table}"))
        for table in schema.journalled(y.connection)
    }


def whole(y: Yard) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of the yard, ledger included."""
    grown = {t: sorted(tuple(row) for row in y.rows(f"SELECT * FROM {t}")) for t in schema.GROW_ONLY}
    return state_of(y) | grown
