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
    tags_given,
    tell_broken,
    terms_of,
)
from stockyard.cli.faults import worded
from stockyard.errors import StockyardError

if TYPE_CHECKING:
    from stockyard.desk.counting import CountShown
    from stockyard.desk.door import Yard


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"ledger": ledger, "undo": undo, "count": count})


def ledger(
    last: Annotated[int, typer.Option(min=1, max=100_000, help="How many of the last deeds.")] = 20,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Show what was done last, and at which station."""
    from stockyard.desk.history import deeds

    with open_yard(file) as y:
        found = deeds(y, limit=last)
    if as_json:
        print_json(found)
        return
    rows = [(d.id, d.at, d.station, d.says, f"undone by {d.undone_by}" if d.undone_by else "") for d in found]
    print_table(("deed", "at (UTC)", "station", "what was done", ""), rows)


def undo(
    deed: Annotated[
        int | None, typer.Argument(metavar="[DEED]", help="Its number in the ledger; else the last.")
    ] = None,
    yes: Yes = False,
    file: YardFile = None,
) -> None:
    """Undo a deed by its opposite; what depends on it is named and nothing is done."""
    from stockyard.desk import history

    with open_yard(file) as y:
        line = history.to_undo(y, deed)
        if confirmed(f"Undo {line.id}: {line.says}?", yes):
            made = history.undo(y, line.id)
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
    from stockyard.desk import counting

    with open_yard(file) as y:
        number = counting.start(y, place).number
        if not_seen:
            counting.unsee(y, number, not_seen)
        if tags:
            counting.see(y, number, tags_given(tags))
        elif not (done or not_seen) and sys.stdin.isatty():
            _type_tags(y, number)
        current = counting.state(y, number)
        if as_json:
            print_json(current, terms_of(y))
        else:
            _tell(current)
        if done and confirmed(f"Close the count of {current.place} and settle this?", yes):
            tell_broken(counting.finish(y, number, why))
            if not as_json:
                typer.echo(f"Counted {current.place}.")


def _type_tags(y: Yard, number: int) -> None:
    """Take tags one a line until an empty line; a wrong one is told and asked again."""
    from stockyard.desk.counting import see

    typer.echo("Type or scan the tags, one a line; an empty line ends.")
    while word := typer.prompt("tag", default="", show_default=False).strip():
        try:
            if not see(y, number, [word]):
                typer.echo("  seen already")
        except StockyardError as error:
            typer.echo(f"  {worded(error)}")


def _tell(current: CountShown) -> None:
    lines = [(p.tag, "missing", "") for p in current.missing]
    lines += [(p.tag, "recorded elsewhere", p.says) for p in current.elsewhere]
    lines += [(p.tag, "gone from here since it was seen", p.says) for p in current.since]
    lines += [(t, "unknown", "no piece has this tag") for t in current.unknown]
    typer.echo(f"{current.place}: {len(current.seen)} of {len(current.seen) + len(current.missing)} seen.")
    if lines:
        print_table(("tag", "difference", "recorded"), lines)
