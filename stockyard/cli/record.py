"""The record: the ledger, undo, and counting a place."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import (
    AsJson,
    YardFile,
    Yes,
    add_commands,
    confirmed,
    open_yard,
    print_json,
    print_table,
)
from stockyard.cli.work import tell_broken

if TYPE_CHECKING:
    from stockyard.yard import Yard
    from stockyard.yard.stocktake import Count


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"ledger": ledger, "undo": undo, "count": count})


def ledger(
    last: Annotated[int, typer.Option(min=1, max=100_000, help="How many of the last deeds.")] = 20,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Show what was done last."""
    from stockyard.yard.ledger import deeds

    with open_yard(file) as y:
        found = deeds(y, limit=last)
    if as_json:
        print_json(found)
        return
    rows = [(d.id, d.at, d.says, f"undone by {d.undone_by}" if d.undone_by else "") for d in found]
    print_table(("deed", "at (UTC)", "what was done", ""), rows)


def undo(
    deed: Annotated[
        int | None, typer.Argument(metavar="[DEED]", help="Its number in the ledger; else the last.")
    ] = None,
    yes: Yes = False,
    file: YardFile = None,
) -> None:
    """Undo a deed by its opposite; what depends on it is named and nothing is done."""
    from stockyard.yard import undo as undoing
    from stockyard.yard.ledger import deed_by_id

    with open_yard(file) as y:
        line = undoing.last_deed(y) if deed is None else deed_by_id(y, deed)
        if confirmed(f"Undo {line.id}: {line.says}?", yes):
            made = undoing.undo(y, line.id)
            typer.echo(f"{made.says[0].upper()}{made.says[1:]} (deed {made.id}).")


def count(
    place: Annotated[str, typer.Argument(metavar="PLACE", help="The place to count.")],
    tags: Annotated[
        list[str] | None,
        typer.Argument(metavar="[TAG]...", help="Tags seen there; or - to scan; or none to type."),
    ] = None,
    not_seen: Annotated[
        list[str] | None, typer.Option("--not-seen", metavar="TAG", help="Take back a tag typed by mistake.")
    ] = None,
    done: Annotated[bool, typer.Option("--done", help="Close the count and settle the differences.")] = False,
    why: Annotated[str, typer.Option(help="Why pieces are missing, for the ledger.")] = "counted",
    yes: Yes = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Count a place: say the tags seen there, as often as you like, then --done.

    An open count is gone on with later. Closing it writes off what is missing and puts here what was
    recorded elsewhere.
    """
    from stockyard.cli.common import tags_given
    from stockyard.yard import stocktake

    with open_yard(file) as y:
        current = stocktake.start_count(y, place)
        if not_seen:
            stocktake.unsee(y, current.id, not_seen)
        if tags:
            stocktake.sight(y, current.id, tags_given(tags))
        elif not (done or not_seen) and sys.stdin.isatty():
            _type_tags(y, current)
        current = stocktake.count(y, current.id)
        if as_json:
            print_json(current)
        else:
            _tell(y, current)
        if done and confirmed(f"Close the count of {current.place.code} and settle this?", yes):
            _, broken = stocktake.finish_count(y, current.id, why)
            tell_broken(broken)
            if not as_json:
                typer.echo(f"Counted {current.place.code}.")


def _type_tags(y: Yard, current: Count) -> None:
    """Take tags one a line until an empty line; a wrong one is told and asked again."""
    from stockyard.errors import StockyardError
    from stockyard.yard.stocktake import sight

    typer.echo("Type or scan the tags, one a line; an empty line ends.")
    while word := typer.prompt("tag", default="", show_default=False).strip():
        try:
            if not sight(y, current.id, [word]):
                typer.echo("  seen already")
        except StockyardError as error:
            typer.echo(f"  {error}")


def _tell(y: Yard, current: Count) -> None:
    from stockyard.yard.pieces import told

    lines = [(p.tag, "missing", "") for p in current.missing]
    lines += [(p.tag, "recorded elsewhere", told(y, p)) for p in current.elsewhere]
    lines += [(p.tag, "gone from here since it was seen", told(y, p)) for p in current.since]
    lines += [(t, "unknown", "no piece has this tag") for t in current.unknown]
    typer.echo(
        f"{current.place.code}: {len(current.seen)} of {len(current.seen) + len(current.missing)} seen."
    )
    if lines:
        print_table(("tag", "difference", "recorded"), lines)
