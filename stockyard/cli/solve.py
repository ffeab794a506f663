"""`stockyard solve`: a problem file in, a plan out, no yard needed."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from stockyard.cli.progress import INTERRUPTED, SHORT, Progress, until_interrupted
from stockyard.errors import BadInput, Refused


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
    with until_interrupted() as interrupts:
        from stockyard.planning.child import plan_in_child
        from stockyard.planning.files import read_problem
        from stockyard.planning.limits import Limits
        from stockyard.planning.verify import faults
        from stockyard.planning.written import plan_text

        question, notes = read_problem(_content(problem))
        for note in notes:
            typer.echo(f"stockyard: note: {note}", err=True)
        progress = Progress(question.unit)
        plan = plan_in_child(
            question,
            Limits(seconds=None if work is not None and seconds == 10.0 else seconds, work=work),
            progress.show,
            seed=seed,
            stop=lambda: bool(interrupts),
        )
        progress.end()
        found = faults(question, plan)
        if found:
            raise Refused(f"internal error: the plan failed its check and is not written: {found[0]}")
        typer.echo(plan_text(question, plan), nl=False)
    if interrupts:
        raise typer.Exit(INTERRUPTED)
    if plan.unplaced:
        raise typer.Exit(SHORT)


def _content(name: str) -> bytes:
    from stockyard.planning.files import LARGEST_FILE

    if name == "-":
        return sys.stdin.buffer.read(LARGEST_FILE + 1)
    try:
        with Path(name).open("rb") as file:
            return file.read(LARGEST_FILE + 1)
    except OSError as e:
        raise BadInput(f"{name}: {e.strerror or e}") from None
