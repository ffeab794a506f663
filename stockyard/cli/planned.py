"""A job planned at the terminal: progress, Ctrl-C, the plan told, and how the command ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from stockyard.cli.common import print_table, tell_left
from stockyard.cli.progress import INTERRUPTED, SHORT, Progress, until_interrupted

if TYPE_CHECKING:
    from stockyard.desk.door import Yard
    from stockyard.desk.planning import PlanMade


def plan_now(
    y: Yard,
    job: str,
    *,
    seconds: float | None = None,
    work: int | None = None,
    seed: int = 0,
    look: bool = False,
    as_json: bool = False,
) -> None:
    """Plan a job, print the plan, and end with 3 when parts are left over, 130 when it was interrupted."""
    from stockyard.desk import planning

    progress = Progress(y.unit, money=False)
    with until_interrupted() as interrupts:
        how = planning.How(
            seconds=seconds, work=work, seed=seed, report=progress.show, stop=lambda: bool(interrupts)
        )
        made = (planning.look if look else planning.plan)(y, job, how)
        progress.end()
    if as_json:
        typer.echo(made.body, nl=False)
    else:
        _tell(made)
    if interrupts:
        raise typer.Exit(INTERRUPTED)
    if made.missing:
        raise typer.Exit(SHORT)


def _tell(made: PlanMade) -> None:
    """Print a plan: one line a piece, then what it means in plain words."""
    if made.rows:
        print_table(tuple(made.rows[0]), [tuple(row.values()) for row in made.rows])
        typer.echo("")
    for sentence in made.says:
        typer.echo(sentence)
    typer.echo(f"Promised. Next: stockyard papers {made.job!r}" if made.promised else "")
    tell_left(made.on_bench, made.job)
