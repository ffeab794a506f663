"""A job planned at the terminal: progress, Ctrl-C, the plan told, and how the command ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from stockyard.cli.common import print_table, tell_left
from stockyard.cli.progress import INTERRUPTED, SHORT, Progress, keeping_all, until_interrupted

if TYPE_CHECKING:
    from collections.abc import Mapping

    from stockyard.desk.door import Yard
    from stockyard.desk.job_change import JobChanged
    from stockyard.desk.planning import PlanMade


def plan_now(
    y: Yard,
    *names: str,
    seconds: float | None = None,
    work: int | None = None,
    seed: int = 0,
    anew: bool = False,
    look: bool = False,
    as_json: bool = False,
    called: Mapping[str, str] | None = None,
) -> None:
    """Plan a job, or several together, and print the plan.

    Ends with 3 when parts are left over, 130 when it was interrupted.
    """
    from stockyard.desk import planning, together

    progress = Progress(y.unit, money=False)
    with keeping_all(), until_interrupted() as interrupts:

        def stop() -> bool:
            progress.tick()
            return bool(interrupts)

        how = planning.How(
            seconds=seconds,
            work=work,
            seed=seed,
            anew=anew,
            report=progress.show,
            stop=stop,
        )
        if len(names) > 1:
            made = together.look_together(y, names, how) if look else together.plan_together(y, names, how)
        else:
            made = planning.look(y, names[0], how) if look else planning.plan(y, names[0], how, called)
        progress.end()
    if as_json:
        typer.echo(made.body, nl=False)
    else:
        _tell(made)
    if interrupts:
        raise typer.Exit(INTERRUPTED)
    if made.missing:
        raise typer.Exit(SHORT)


def mend_now(y: Yard, done: JobChanged, *, later: bool = False) -> None:
    """Plan a job again that was changed, where its plan no longer fits; say what is wanted no more."""
    if done.to_plan and later:
        typer.echo(f"Its plan no longer fits. Next: stockyard plan {done.name!r}")
    elif done.to_plan:
        plan_now(y, str(done.number), called=done.called)
    else:
        tell_left(done.on_bench, done.name)


def _next(made: PlanMade) -> str:
    """Say which papers are to be printed now."""
    cards = made.cards
    if cards is not None and cards.stand and not (cards.changed or cards.new):
        return "The cut cards in hand still hold."
    return f"Next: stockyard papers {made.job!r}" + (" --changed" if cards and cards.stand else "")


def _tell(made: PlanMade) -> None:
    """Print a plan: one line a piece, then what it means in plain words."""
    if made.rows:
        print_table(tuple(made.rows[0]), [tuple(row.values()) for row in made.rows])
        typer.echo("")
    for sentence in made.says:
        typer.echo(sentence)
    if made.promised:
        typer.echo(f"Promised. {_next(made)}")
    tell_left(made.on_bench, made.job)
