"""Commands typed at a yard, and what tests of them share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from typer.testing import CliRunner, Result

from stockyard import yard
from stockyard.cli.main import build
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.yard import jobs
from stockyard.yard.model import JobPart
from stockyard.yard.planned import PlannedLeftover, StoredLayout
from tests.yard.shop import planned, store

Run = Callable[..., Result]


def typist(path: Path) -> Run:
    """Return what types a command at the yard there, and looks that it ends as it is said to."""
    app = build()

    def type_(*words: str, ends: int = 0, given: str | None = None, wide: int = 200) -> Result:
        environment = {"STOCKYARD_YARD": str(path), "COLUMNS": str(wide)}
        result = CliRunner().invoke(app, list(words), env=environment, input=given)
        assert result.exit_code == ends, (words, result.stdout, result.stderr, result.exception)
        if ends:
            assert result.stderr.startswith("stockyard: ")
        return result

    return type_


def tags_of(result: Result) -> list[str]:
    return [line.split()[0] for line in result.stdout.splitlines()[1:]]


def plan_on(path: Path, tag: str) -> None:
    """Store a job and a plan of it on one sheet, as the planner would."""
    with yard.open(path) as y:
        job = jobs.add_job(
            y, "kitchen", "2 sides", [JobPart(name="side", count=2, length=700 * MM, width=500 * MM)]
        )
        wanted = StoredLayout(
            number=1, tag=tag, material_id=1, length=2440 * MM, width=1220 * MM,
            placed=planned("side", 700 * MM, 500 * MM, 2),
            leftovers=(PlannedLeftover(length=1000 * MM, width=1220 * MM),),
        )  # fmt: skip
        store(y, job.id, [wanted])
