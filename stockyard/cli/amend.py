"""Putting right what is recorded of a piece: its size, its material, what it cost, its note."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import (
    Flaws,
    Later,
    Sure,
    Tag,
    YardFile,
    add_commands,
    open_yard,
    tell_broken,
    terms_of,
)
from stockyard.cli.shown import print_pieces, tell_clear
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.desk.door import Yard
    from stockyard.desk.racks import Measured


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"measure": measure, "correct": correct})


def measure(
    tag: Tag,
    size: Annotated[
        str | None, typer.Argument(help="length x width as measured, along the grain first; else as it is.")
    ] = None,
    thickness: Annotated[str | None, typer.Option(help="As measured.")] = None,
    flaw: Flaws = None,
    no_flaw: Annotated[
        bool, typer.Option("--no-flaw", help="Forget the flaws known; those given stay.")
    ] = False,
    larger: Annotated[
        bool, typer.Option("--larger", help="The recorded size was too small: a mistake to correct.")
    ] = False,
    later: Later = False,
    sure: Sure = False,
    file: YardFile = None,
) -> None:
    """Correct the size of a piece to what was really measured, or note its flaws: knots, splits, damage,
    what a wrong cut took. A plan that it no longer fits is mended.
    """
    from stockyard.desk import flaws, racks

    if not (size or thickness or flaw or no_flaw):
        raise BadInput("say what is so: its size, --thickness, --flaw or --no-flaw")
    with open_yard(file) as y:
        done = racks.measure(
            y, tag, size, thickness, larger=larger, sure=sure, flaws=flaw or (), instead=no_flaw
        )
        if flaw:
            tell_clear(flaws.clear(y, tag), terms_of(y))
        _tell(y, done, later=later)


def correct(
    tag: Tag,
    material: Annotated[str | None, typer.Option(help="What it is really of: 'birch ply 12'.")] = None,
    cost: Annotated[str | None, typer.Option(help="What it cost.")] = None,
    supplier: Annotated[str | None, typer.Option("--from-supplier", help="Who sold it.")] = None,
    note: Annotated[str | None, typer.Option(help="Anything worth knowing.")] = None,
    later: Later = False,
    file: YardFile = None,
) -> None:
    """Correct the material, the cost or the note of a piece; a plan that counted on it is mended."""
    from stockyard.desk import racks

    wanted = racks.Facts(material=material, cost=cost, supplier=supplier, note=note)
    if wanted == racks.Facts():
        raise BadInput("say what is wrong: --material, --cost, --from-supplier or --note")
    with open_yard(file) as y:
        _tell(y, racks.correct(y, tag, wanted), later=later)


def _tell(y: Yard, done: Measured, *, later: bool) -> None:
    from stockyard.cli.planned import plan_now

    print_pieces((done.piece,), terms_of(y), as_json=False)
    if done.ripped:
        typer.echo(f"{done.piece.tag} is no longer FULL: it counts as an offcut now.")
    if done.relabel:
        typer.echo(f"Its label is not right any more: 'stockyard labels {done.piece.tag}' prints a new one.")
    tell_broken((done.broken,), at_once=not later)
    if done.broken is not None and not later:
        plan_now(y, str(done.broken.job_id))
