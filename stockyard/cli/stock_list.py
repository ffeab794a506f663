"""The whole stock as a list."""

from __future__ import annotations

from typing import Annotated

import typer

from stockyard.cli.common import AsJson, YardFile, add_commands, open_yard, print_json, terms_of
from stockyard.cli.tables import AsCsv, Cell, emit
from stockyard.errors import BadInput


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"stock": stock})


def stock(
    material: Annotated[
        list[str] | None, typer.Argument(metavar="[MATERIAL]...", help="Only this: birch ply 18.")
    ] = None,
    full: Annotated[bool, typer.Option("--full", help="Only full sheets.")] = False,
    offcuts: Annotated[bool, typer.Option("--offcuts", help="Only offcuts.")] = False,
    boards: Annotated[bool, typer.Option("--boards", help="Only boards.")] = False,
    at: Annotated[str | None, typer.Option("--at", metavar="PLACE", help="Only what lies there.")] = None,
    promised: Annotated[
        bool | None, typer.Option("--promised/--free", help="Only what a job holds, or what none holds.")
    ] = None,
    unlabelled: Annotated[
        bool, typer.Option("--unlabelled", help="Only what wants a label, new or again.")
    ] = False,
    file: YardFile = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """List what is in the yard, place by place, from the top down."""
    from stockyard.desk.stock_list import Sieve, stock_list, total_area
    from stockyard.figures import area, size
    from stockyard.wording import count

    asked = [word for word, on in (("full", full), ("offcut", offcuts), ("board", boards)) if on]
    if len(asked) > 1:
        raise BadInput("say one of --full, --offcuts and --boards, or none of them for all")
    sieve = Sieve(
        words=" ".join(material or ()), what=asked[0] if asked else None, at=at, promised=promised,
        unlabelled=unlabelled,
    )  # fmt: skip
    with open_yard(file) as y:
        found, terms = stock_list(y, sieve), terms_of(y)
    if as_json:
        print_json(found, terms)
        return
    rows: list[list[Cell]] = [
        [p.tag, p.material, p.word, size(p.length, p.width, terms.unit, mark=False), p.says] for p in found
    ]
    if rows or as_csv:
        emit(("tag", "material", "is", f"size {terms.unit}", "where"), rows, as_json=False, as_csv=as_csv)
    if not as_csv:
        typer.echo(f"{count(len(found), 'piece').capitalize()}, {area(total_area(found), terms.unit)}.")
