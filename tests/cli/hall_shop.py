"""An invented small shop with one job, for tests of commands: full sheets of birch ply on a rack."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from typer.testing import CliRunner

from stockyard import yard as yards
from stockyard.cli.main import build
from stockyard.kinds import Kind
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.problem import MONEY
from stockyard.settings import Settings
from stockyard.yard.jobs import planned_job
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.opening import open_yard
from stockyard.yard.pieces import Arrival, shelve
from stockyard.yard.places import add_place
from stockyard.yard.planned import StoredLayout
from stockyard.yard.plans import standing_plan

LIST = "name,count,length,width,material\nside,4,1200,590,birch ply 18\nshelf,2,560,300,birch ply 18\n"


def hall_shop(path: Path, sheets: int = 4) -> None:
    """Put a copy of the shop's yard at `path`, with the job `hall` of four sides and two shelves."""
    path.write_bytes(_pattern(sheets))


@cache
def _pattern(sheets: int) -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "yard.db"
        _make(path, sheets)
        return path.read_bytes()


def _make(path: Path, sheets: int) -> None:
    with yards.new(path, Settings()) as y:
        add_place(y, "RACK", Storage.FLAT, length=2500 * MM, width=1300 * MM, height=400 * MM)
        add_place(y, "SHORT", Storage.UPRIGHT, length=1250 * MM, width=600 * MM, height=1300 * MM)
        made = add_material(y, "birch ply", Form.SHEET, "18 mm", 18 * MM, grain=True)
        add_price(y, made.id, 2440 * MM, 1220 * MM, 60 * MONEY)
        full = Arrival(
            material_id=made.id, kind=Kind.FULL, length=2440 * MM, width=1220 * MM, place="RACK", count=sheets
        )
        shelve(y, [full])
    assert run(path, "paste", "--job", "hall", text=LIST)[0] == 0


def run(yard: Path, *words: str, text: str = "") -> tuple[int, str, str]:
    """Type one command; return how it ended and what it said."""
    done = CliRunner().invoke(build(), [*words, "--yard", str(yard)], input=text)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.exit_code, done.stdout, done.stderr


def layouts(yard: Path, name: str = "hall") -> tuple[StoredLayout, ...]:
    """Return the layouts of the plan that stands, none without one."""
    with open_yard(yard) as y:
        plan = standing_plan(y, planned_job(y, name).id)
    return plan.layouts if plan else ()
