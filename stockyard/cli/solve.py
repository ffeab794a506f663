"""`stockyard solve`: a problem file in, a plan out, no yard needed."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from stockyard.cli.progress import INTERRUPTED, SHORT, Progress, keeping_all, until_interrupted
from stockyard.errors import BadInput


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command("solve")(solve_file)


def solve_file(
    problem: Annotated[
        str, typer.Argument(metavar="PROBLEM", help="A problem as JSON, or - for standard input.")
    ],
    seconds: Annotated[float, typer.Option(min=0.0, max=86_400.0, help="Stop after this long.")] = 10.0,
    seed: Annotated[int, typer.Option(min=0, help="Another seed may find another plan.")] = 0,
    work: Annotated[
        int | None, typer.Option(min=0, help="Stop after this many rounds: the same plan on any machine.")
    ] = None,
) -> None:
    """Plan the cuts of a problem file and write the plan as JSON.

    Ends with 0 when every part is placed, 3 when some cannot be, 130 when it was interrupted (Ctrl-C keeps
    the best plan so far).
    """
    from stockyard.desk.ready import at_hand

    with keeping_all(), until_interrupted() as interrupts, at_hand(begun=True):
        from stockyard.desk import solving

        question = solving.read(_content(problem))
        for note in question.notes:
            typer.echo(f"stockyard: note: {note}", err=True)
        progress = Progress(question.unit)

        def stop() -> bool:
            progress.tick()
            return bool(interrupts)

        limits = solving.Limits(seconds=None if work is not None and seconds == 10.0 else seconds, work=work)
        done = solving.solve(question, limits, seed=seed, report=progress.show, stop=stop)
        progress.end()
        typer.echo(done.text, nl=False)
    if interrupts:
        raise typer.Exit(INTERRUPTED)
    if done.missing:
        raise typer.Exit(SHORT)


def _content(name: str) -> bytes:
    from stockyard.desk.solving import LARGEST_FILE

    if name == "-":
        return sys.stdin.buffer.read(LARGEST_FILE + 1)
    try:
        with Path(name).open("rb") as file:
            return file.read(LARGEST_FILE + 1)
    except OSError as e:
        raise BadInput(f"{name}: {e.strerror or e}") from None
