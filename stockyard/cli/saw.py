"""At the saw: what a piece gave, and which part of it is no good."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import AsJson, Later, Tag, YardFile, add_commands, open_yard, print_json, terms_of
from stockyard.errors import BadInput
from stockyard.wording import count

if TYPE_CHECKING:
    from stockyard.desk.cutting import PieceCut
    from stockyard.desk.door import Yard
    from stockyard.measure import Unit


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"cut": cut, "spoiled": spoiled})


def cut(
    tag: Annotated[str | None, typer.Argument(metavar="[TAG]", help="The tag on its label.")] = None,
    parts: Annotated[
        list[str] | None,
        typer.Option(
            "--part", metavar="PART", help="Parts cut, if not all: as the card numbers them, 'side 1-3'."
        ),
    ] = None,
    offcuts: Annotated[
        list[str] | None,
        typer.Option("--offcut", metavar="SIZE", help="An offcut as measured, if not as planned."),
    ] = None,
    no_offcuts: Annotated[bool, typer.Option("--no-offcuts", help="All that was left is scrap.")] = False,
    whole: Annotated[
        bool,
        typer.Option("--whole", help="What is left stays one piece, an L or a frame; holes are flaws."),
    ] = False,
    job: Annotated[
        str | None, typer.Option("--job", metavar="JOB", help="All that was pulled for this job, as planned.")
    ] = None,
    later: Later = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Confirm that a piece was cut, as planned unless told otherwise.

    Parts that the plan lacks then are planned again, from what is in hand first.
    """
    from stockyard.desk import cutting

    if (tag is None) == (job is None):
        raise BadInput("say the tag of the piece that was cut, or --job for all that was pulled for a job")
    if job and (parts or offcuts or no_offcuts or whole):
        raise BadInput("say what one piece gave with its tag, not with --job")
    if whole and (parts or offcuts or no_offcuts):
        raise BadInput("--whole goes with all parts as planned: say what else was left with --offcut")
    with open_yard(file) as y:
        terms = terms_of(y)
        if job is not None:
            done = cutting.cut_job(y, job)
        else:
            lefts = offcuts or [] if offcuts or no_offcuts else None
            done = (cutting.cut(y, tag or "", parts=parts or None, offcuts=lefts, whole=whole),)
        if as_json:
            print_json(done if job else done[0], terms)
            return
        for one in done:
            _tell_cut(one, terms.unit)
        _tell_still(y, done[-1], later=later)


def spoiled(
    tag: Tag,
    parts: Annotated[
        list[str], typer.Argument(metavar="PART...", help="As the card numbers them: 'side 3'.")
    ],
    left: Annotated[
        list[str] | None, typer.Option("--left", metavar="SIZE", help="What is left of it, as measured.")
    ] = None,
    later: Later = False,
    file: YardFile = None,
) -> None:
    """Record that a part of a piece is no good: cut wrong, torn out, with a flaw; all else is as planned.

    The part is planned again, from what is in hand first. What is left of it is scrap unless measured.
    """
    from stockyard.desk import cutting

    with open_yard(file) as y:
        done = cutting.spoiled(y, tag, parts, left or [])
        _tell_cut(done, y.unit)
        _tell_still(y, done, later=later)


def _tell_still(y: Yard, done: PieceCut, *, later: bool) -> None:
    """Say what is still to be cut for the job, and plan again what its plan does not give."""
    from stockyard.cli.planned import plan_now

    if done.still:
        names = ", ".join(f"{n} × {name}" for name, n in done.still)
        typer.echo(f"Still to be cut for {done.job}: {names}.")
    elif done.job:
        typer.echo(f"All of {done.job} is cut.")
    if done.missing:
        names = ", ".join(f"{n} × {name}" for name, n in done.missing)
        typer.echo(f"Its plan does not give {names}.")
        if later:
            typer.echo(f"Next: stockyard plan {done.job!r}")
        else:
            plan_now(y, done.job)


def _tell_cut(done: PieceCut, unit: Unit) -> None:
    from stockyard.figures import area, size

    parts = count(sum(g.count for g in done.parts), "part")
    if done.parts:
        typer.echo(f"Cut {done.piece.tag}: {parts}, scrap {area(done.scrap, unit)} with kerf.")
    for p in done.offcuts:
        flaws = f", {count(len(p.flaws), 'flaw')}" if p.flaws else ""
        typer.echo(f"On the bench: {p.tag} {size(p.length, p.width, unit)}{flaws}")
    if done.piece.flaws and done.offcuts and not done.job:
        typer.echo(
            f"{done.piece.tag} had a flaw: what holds it now is told with 'stockyard measure TAG --flaw'."
        )
    if done.plan_done:
        typer.echo("That was the last piece of the plan.")
