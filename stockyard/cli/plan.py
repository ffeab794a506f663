"""Planning: a stored job to a promised plan, the planner made ready, and a tour of it all."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stockyard.cli.common import AsJson, YardFile, add_commands, make_folder, open_yard
from stockyard.cli.planned import plan_now


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"plan": plan, "warm-up": warm_up, "demo": demo})


def plan(
    job: Annotated[list[str], typer.Argument(metavar="JOB...", help="A job; several: planned as one.")],
    seconds: Annotated[
        float | None,
        typer.Option(min=0.1, max=86_400.0, help="Stop after this long; the shop's setting otherwise."),
    ] = None,
    seed: Annotated[int, typer.Option(min=0, help="Another seed may find another plan.")] = 0,
    work: Annotated[
        int | None, typer.Option(min=1, help="Stop after this many rounds: the same plan on any machine.")
    ] = None,
    anew: Annotated[
        bool, typer.Option("--anew", help="A wholly new plan, whatever cut cards are in hand.")
    ] = False,
    look: Annotated[bool, typer.Option("--look", help="Only show the plan: promise nothing.")] = False,
    as_json: AsJson = False,
    yard: YardFile = None,
) -> None:
    """Plan a job from the yard: offcuts first, then full pieces, then what to buy.

    The pieces of the plan are promised to the job. Planning again keeps the cut cards that still hold,
    unless a new plan saves more than the change costs. Several jobs share one plan and its pieces, until it
    is released; it is said what that saves against planning them one after another. Ends with 3 when some
    parts cannot be placed, 130 when it was interrupted (Ctrl-C keeps the best plan so far).
    """
    from stockyard.desk.ready import at_hand

    with at_hand(begun=True), open_yard(yard) as y:
        plan_now(y, *job, seconds=seconds, work=work, seed=seed, anew=anew, look=look, as_json=as_json)


def warm_up() -> None:
    """Compile the planner now instead of at the first plan; once is enough for an installation."""
    from stockyard.desk import solving

    typer.echo("Compiling the planner (about half a minute) ...")
    typer.echo(f"Ready after {solving.warm_up():.0f} s.")


def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A new folder for the demo's yard and papers.")
    ] = Path("demo-yard"),
    seconds: Annotated[float, typer.Option(min=0.1, max=60.0, help="For planning each of the jobs.")] = 3.0,
) -> None:
    """Build an invented shop, plan and print seven jobs, cut one, and put the offcuts back."""
    from stockyard.desk.tour import tour
    from stockyard.whole import write_whole

    def keep(name: str, data: bytes) -> Path:
        write_whole(folder / name, data)
        return folder / name

    make_folder(folder)
    story = tour(folder / "yard.db", lambda words: typer.echo(words, err=True), keep, seconds=seconds)
    for line in story.lines:
        typer.echo(line)
    typer.echo("\nThe yard is in " + str(folder / "yard.db") + ". Papers to look at:")
    for path in story.papers:
        typer.echo(f"  {path}")
