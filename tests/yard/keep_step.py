"""Write the yards that the upgrade tests keep of the newest step: `python -m tests.yard.keep_step`.

`step-N.db` holds something of everything; `plans-N.db`, written when the word `plans` is given too, holds
plans as the planner makes them.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

from stockyard import yard
from stockyard.desk.ask_planner import Asked
from stockyard.desk.plan_job import plan_and_store
from stockyard.planning.hunting.solve import Limits
from stockyard.planning.problem import MONEY, Kind
from stockyard.settings import Settings
from stockyard.yard import (
    Yard,
    cutting,
    jobs,
    materials,
    offers,
    pieces,
    places,
    plans,
    pulling,
    schema,
    undo,
)
from stockyard.yard.model import Form, JobPart, Storage
from tests.yard.shop import MM, make_shop, plan_for, ticking_clock

KEPT = Path(__file__).parent.parent / "data" / "yards"


def main(*, plans_too: bool) -> None:
    """Make the yards and keep their files, named after the schema step."""
    with tempfile.TemporaryDirectory() as folder:
        shop = make_shop(Path(folder) / "yard.db")
        plan_for(shop, shop.sheets[0], shop.sheets[1])
        pulling.pull(shop.yard, [shop.sheets[0].tag])
        done = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
        cutting.return_offcut(shop.yard, done.offcuts[0].tag, "R1-B1")
        pulling.report_gone(shop.yard, shop.sheets[3].tag, "warped")
        undo.undo(shop.yard)
        _keep(shop.yard, "step")
        if not plans_too:
            return
        with yard.new(Path(folder) / "plans.db", Settings(), clock=ticking_clock()) as y:  # type: ignore[arg-type]
            planned_yard(y)
            _keep(y, "plans")


def _keep(y: Yard, name: str) -> None:
    y.connection.execute("PRAGMA journal_mode = DELETE")
    y.close()
    shutil.copy(y.path, KEPT / f"{name}-{schema.latest()}.db")


def planned_yard(y: Yard) -> None:
    """Fill a new yard: a job whose plan stands (sheets, boards, a sheet to buy), one half cut, one broken,
    one done and one released.
    """
    ply = materials.add_material(y, "birch ply", Form.SHEET, "18 mm", 17_700 * MM // 1000, grain=True)
    pine = materials.add_material(y, "pine", Form.BOARD, "27 mm", 27 * MM, grain=True)
    places.add_place(y, "R1", Storage.FLAT)
    places.add_place(y, "WALL", Storage.BRACKETS)
    offers.add_price(y, ply.id, 2440 * MM, 1220 * MM, 58 * MONEY)
    offers.add_price(y, pine.id, 4000 * MM, 200 * MM, 30 * MONEY)
    for made, kind, length, width, place, n in (
        (ply, Kind.FULL, 2440, 1220, "R1", 5), (ply, Kind.OFFCUT, 1180, 610, "R1", 1),
        (ply, Kind.OFFCUT, 900, 700, "R1", 1), (pine, Kind.FULL, 4000, 200, "WALL", 4),
        (pine, Kind.OFFCUT, 1300, 200, "WALL", 2),
    ):  # fmt: skip
        size = {"length": length * MM, "width": width * MM}
        pieces.shelve(y, [pieces.Arrival(material_id=made.id, kind=kind, place=place, count=n, **size)])
    _plan(y, "stool", 1)
    _cut(y, "stool", 9)
    _plan(y, "bench", 4)
    _cut(y, "bench", 1)
    _plan(y, "shelf", 2)
    shelf = jobs.job(y, "shelf")
    lost = pulling.to_pull(y, shelf.id)[0]
    pulling.report_gone(y, lost.tag, "water damage")
    _plan(y, "crate", 1)
    crate = plans.standing_plan(y, jobs.job(y, "crate").id)
    assert crate is not None
    plans.release_plan(y, crate.id)
    _plan(y, "wardrobe", 15)


def _plan(y: Yard, name: str, n: int) -> None:
    parts = [
        JobPart(name="side", count=2 * n, length=720 * MM, width=560 * MM, materials=("birch ply 18 mm",)),
        JobPart(name="rail", count=n, length=900 * MM, width=90 * MM, materials=("pine 27 mm",)),
    ]
    asked = Asked(limits=Limits(seconds=None, work=20), compare=False)
    plan_and_store(y, jobs.add_job(y, name, f"{name}: sides and rails", parts), asked)


def _cut(y: Yard, name: str, most: int) -> None:
    """Pull what a job needs and cut its first pieces."""
    wanted = pulling.to_pull(y, jobs.job(y, name).id)[:most]
    pulling.pull(y, [p.tag for p in wanted])
    for p in wanted:
        cutting.confirm_cut(y, p.tag)


if __name__ == "__main__":
    main(plans_too="plans" in sys.argv[1:])
