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
from stockyard.errors import BadInput, StockyardError

if TYPE_CHECKING:
    from stockyard.desk.counting import CountShown
    from stockyard.desk.door import Yard


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(app, {"ledger": ledger, "undo": undo, "count": count})


def ledger(
    last: Annotated[int, typer.Option(min=1, max=100_000, help="How many of the last entries.")] = 20,
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
    print_table(("entry", "at (UTC)", "station", "what was done", ""), rows)


def undo(
    deed: Annotated[
        int | None, typer.Argument(metavar="[ENTRY]", help="Its number in the ledger; else the last.")
    ] = None,
    yes: Yes = False,
    file: YardFile = None,
) -> None:
    """Undo what was done by its opposite; what depends on it is named and nothing is done."""
    from stockyard.desk import history

    with open_yard(file) as y:
        line = history.to_undo(y, deed)
        if confirmed(f"Undo {line.id}: {line.says}?", yes):
            made = history.undo(y, line.id)
            typer.echo(f"{made.says[0].upper()}{made.says[1:]} (entry {made.id}).")


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
    empty: Annotated[bool, typer.Option("--empty", help="Close it though nothing was seen there.")] = False,
    why: Annotated[str, typer.Option(help="Why pieces are missing, for the ledger.")] = "counted",
    yes: Yes = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Count a place: say the tags seen there, as often as you like, then --done.

    An open count is gone on with later. Closing it writes off what is missing and puts here what was
    recorded elsewhere. Without tags it only shows how the count stands.
    """
    from stockyard.desk import counting

    with open_yard(file) as y:
        if not_seen:
            counting.unsee(y, counting.start(y, place), not_seen)
        if tags:
            counting.see(y, counting.start(y, place), tags_given(tags))
        elif not (done or not_seen or as_json) and _typing():
            _type_tags(y, place)
        current = counting.look(y, place)
        if as_json:
            print_json(current, terms_of(y))
        else:
            _tell(current)
        if done and _is_empty(current, empty) and confirmed(_settle(current), yes):
            tell_broken(counting.finish(y, counting.start(y, place), why))
            if not as_json:
                typer.echo(f"Counted {current.place}.")


def _is_empty(current: CountShown, empty: bool) -> bool:
    """Ask once more before a count that saw nothing writes everything off; --yes does not answer that.

    Raises:
        BadInput: nobody is there to answer.
    """
    if current.seen or current.elsewhere or not current.missing or empty:
        return True
    lost = "the 1 piece" if len(current.missing) == 1 else f"all {len(current.missing)} pieces"
    asked = f"Nothing was seen at {current.place}: write off {lost} recorded there?"
    if not _typing():
        raise BadInput(f"{asked} Nobody is here to answer: say --empty if nothing lies there")
    return typer.confirm(asked)


def _typing() -> bool:
    return sys.stdin.isatty()


def _settle(current: CountShown) -> str:
    return f"Close the count of {current.place} and settle this?"


def _type_tags(y: Yard, place: str) -> None:
    """Take tags, several a line, until an empty line; a wrong one is told and asked again."""
    from stockyard.desk.counting import see, start

    typer.echo("Type or scan the tags, as many a line as you like; an empty line ends.")
    while words := typer.prompt("tag", default="", show_default=False).split():
        for word in words:
            try:
                if not see(y, start(y, place), [word]):
                    typer.echo(f"  {word} was seen already")
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
