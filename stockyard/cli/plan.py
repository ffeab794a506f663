"""Planning: a stored job to a promised plan, the planner made ready, and a tour of it all."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import AsJson, YardFile, open_yard, print_table, tell_left
from stockyard.cli.progress import INTERRUPTED, SHORT, Progress, until_interrupted

if TYPE_CHECKING:
    from stockyard.desk.plan_job import Answer
    from stockyard.yard import Yard


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    app.command("plan")(plan)
    app.command("warm-up")(warm_up)
    app.command("demo")(demo)


def plan(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's name or number.")],
    seconds: Annotated[
        float | None,
        typer.Option(min=0.1, max=86_400.0, help="Stop after this long; the shop's setting otherwise."),
    ] = None,
    seed: Annotated[int, typer.Option(min=0, help="Another seed may find another plan.")] = 0,
    look: Annotated[bool, typer.Option("--look", help="Only show the plan: promise nothing.")] = False,
    as_json: AsJson = False,
    yard: YardFile = None,
) -> None:
    """Plan a job from the yard: offcuts first, then full pieces, then what to buy.

    The pieces of the plan are promised to the job. Planning again replaces the plan. Ends with 3 when some
    parts cannot be placed, 130 when it was interrupted (Ctrl-C keeps the best plan so far).
    """
    with open_yard(yard) as open_file:
        from stockyard.desk.plan_job import Asked, plan_and_store, plan_job
        from stockyard.planning.limits import Limits
        from stockyard.yard.jobs import job as job_named
        from stockyard.yard.pulling import pulled_for

        wanted = job_named(open_file, job)
        pulled = pulled_for(open_file, wanted.id)
        progress = Progress(open_file.unit, money=False)
        with until_interrupted() as interrupts:
            asked = Asked(
                limits=Limits(seconds=seconds or open_file.settings.plan_seconds),
                seed=seed,
                report=progress.show,
                stop=lambda: bool(interrupts),
            )
            answer = (
                plan_job(open_file, wanted, asked) if look else plan_and_store(open_file, wanted, asked)[0]
            )
            progress.end()
        if as_json:
            typer.echo(answer.body, nl=False)
        else:
            show_answer(open_file, answer)
            promised = not look and bool(answer.plan.layouts)
            typer.echo(f"Promised. Next: stockyard papers {wanted.name!r}" if promised else "")
            tell_left(open_file, pulled, wanted.name)
    if interrupts:
        raise typer.Exit(INTERRUPTED)
    if answer.plan.unplaced:
        raise typer.Exit(SHORT)


def show_answer(yard: Yard, answer: Answer) -> None:
    """Print a plan: one line a piece, then what it means in plain words."""
    from stockyard.desk.summary import layout_rows, summary
    from stockyard.yard.model import State
    from stockyard.yard.pieces import on_hand
    from stockyard.yard.places import places

    at_hand = (State.RACKED, State.PROMISED, State.PULLED, State.BENCH)
    codes = {p.id: p.code for p in places(yard)}
    where = {p.tag: codes.get(p.place_id or 0, "bench") for p in on_hand(yard, states=at_hand)}
    rows = layout_rows(answer, where)
    if rows:
        print_table(tuple(rows[0]), [tuple(r.values()) for r in rows])
        typer.echo("")
    for sentence in summary(answer, yard.unit, yard.settings.currency, yard.settings.seconds):
        typer.echo(sentence)


def warm_up() -> None:
    """Compile the planner now instead of at the first plan; once is enough for an installation."""
    from stockyard.planning.hunting.warm_up import compile_all

    typer.echo("Compiling the planner (about half a minute) ...")
    typer.echo(f"Ready after {compile_all():.0f} s.")


def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A new folder for the demo's yard and papers.")
    ] = Path("demo-yard"),
    seconds: Annotated[
        float, typer.Option(min=0.1, max=60.0, help="For planning each of the five jobs.")
    ] = 3.0,
) -> None:
    """Build an invented shop, plan and print five jobs, cut one, and put the offcuts back."""
    from stockyard.desk.tour import tour

    story = tour(folder, lambda words: typer.echo(words, err=True), seconds=seconds)
    for line in story.lines:
        typer.echo(line)
    typer.echo("\nThe yard is in " + str(folder / "yard.db") + ". Papers to look at:")
    for path in story.papers:
        typer.echo(f"  {path}")
