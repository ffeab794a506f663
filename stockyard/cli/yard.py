"""`stockyard yard ...`: making, setting, checking, keeping and moving a yard's record."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import (
    AsJson,
    Commands,
    YardFile,
    Yes,
    add_group,
    confirmed,
    open_yard,
    print_json,
    print_table,
    yard_path,
)
from stockyard.errors import BadInput, Refused

if TYPE_CHECKING:
    from stockyard.yard.seal import LastSeal

Target = Annotated[Path, typer.Argument(metavar="FILE", help="The file to write; it must not exist.")]


def register(app: typer.Typer) -> None:
    """Add the group to the application."""
    commands: Commands = {
        "new": new, "settings": settings, "check": check, "backup": backup, "backups": backups,
        "restore": restore, "export": export, "import": import_, "rebuild": rebuild,
    }  # fmt: skip
    add_group(app, "yard", "The yard itself: its file, its settings, its record.", commands)


def new(
    file: YardFile = None,
    inches: Annotated[
        bool, typer.Option("--inches", help="Bare numbers are inches, paper is letter.")
    ] = False,
    sets: Annotated[
        list[str] | None, typer.Option("--set", metavar="NAME=VALUE", help="A setting, such as kerf=3.2.")
    ] = None,
) -> None:
    """Make an empty yard."""
    from stockyard import yard
    from stockyard.measure import Unit
    from stockyard.settings import Settings, change, inch_shop

    wanted = change(inch_shop() if inches else Settings(), _pairs(sets or []))
    path = yard_path(file)
    with yard.new(path, wanted) as y:
        strays = y.strays
    _tell_strays(strays)
    typer.echo(f"Made a yard in {'inches' if wanted.unit is Unit.INCH else 'millimetres'} at {path}.")


def settings(
    pairs: Annotated[
        list[str] | None, typer.Argument(metavar="[NAME=VALUE]...", help="Settings to change.")
    ] = None,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Show the shop's settings, or change some."""
    from stockyard import yard
    from stockyard.settings import change, names, show_value, write_value

    with open_yard(file) as y:
        if pairs:
            yard.change_settings(y, change(y.settings, _pairs(pairs)))
        write = write_value if as_json else show_value
        shown = {n: write(n, getattr(y.settings, n), y.settings.unit) for n in names()}
    if as_json:
        print_json(shown)
    else:
        print_table(("setting", "value"), shown.items())


def _pairs(words: list[str]) -> dict[str, str]:
    pairs = {}
    for word in words:
        name, sign, value = word.partition("=")
        if not sign:
            raise BadInput(f"'{word[:40]}' is not NAME=VALUE, such as kerf=3.2")
        pairs[name.strip().replace("-", "_")] = value.strip()
    return pairs


def check(file: YardFile = None, as_json: AsJson = False) -> None:
    """Replay the ledger, compare it with the yard, verify the plans that stand; name each difference."""
    from stockyard.desk.plan_check import check_yard
    from stockyard.wording import count
    from stockyard.yard.seal import last_seal

    with open_yard(file) as y:
        checked = check_yard(y)
        found = checked.differences
        last = last_seal(y.connection)
    if as_json:
        print_json(found)
    for difference in () if as_json else found:
        typer.echo(f"- {difference.what}\n  To mend it: {difference.mend}")
    for note in () if as_json else checked.notes:
        typer.echo(f"({note})")
    if found:
        one = len(found) == 1
        raise Refused(
            "1 thing is not as it must be" if one else f"{len(found)} things are not as they must be"
        )
    if not as_json:
        typer.echo("The record is true: the file is sound, and the ledger adds up to every row.")
        if checked.verified:
            typer.echo(f"{count(checked.verified, 'plan')} verified again, cut by cut.")
        _tell_seal(last)


def _tell_seal(last: LastSeal | None) -> None:
    """Say what the seals vouch for."""
    if last is None:
        return
    typer.echo(f"The seal of the last deed, {last.deed}, is {last.digest}.")
    if last.late_to:
        typer.echo(
            f"Deeds up to {last.late_to} are older than the seals, which vouch for them from the upgrade on."
        )


def backup(
    target: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="Where to; else beside the yard.")
    ] = None,
    file: YardFile = None,
) -> None:
    """Copy the yard while it is in use, and check the copy."""
    from stockyard.yard.backup import make

    with open_yard(file) as y:
        typer.echo(f"Backed up to {make(y, target)}.")


def backups(file: YardFile = None, as_json: AsJson = False) -> None:
    """List the backups beside the yard, the newest first."""
    from stockyard.yard.backup import backups as listed

    found = listed(yard_path(file))
    if as_json:
        print_json([{"file": str(p), "bytes": p.stat().st_size} for p in found])
    else:
        print_table(("backup", "bytes"), ((p, p.stat().st_size) for p in found))


def restore(
    source: Annotated[Path, typer.Argument(metavar="BACKUP", help="The backup to put in place.")],
    file: YardFile = None,
    yes: Yes = False,
) -> None:
    """Put a backup in the place of the yard; the yard as it was is put aside, not deleted."""
    from stockyard.yard.backup import look_for
    from stockyard.yard.backup import restore as put_back

    path = yard_path(file)
    look_for(source)
    if confirmed(f"Put {source} in the place of {path}?", yes):
        done = put_back(source, path)
        typer.echo(f"Restored {path}." + (f" The yard as it was is {done.old}." if done.old else ""))
        _tell_strays(done.strays)


def export(
    target: Annotated[
        Path, typer.Argument(metavar="TARGET", help="A .json file, or a folder for CSV tables.")
    ],
    file: YardFile = None,
) -> None:
    """Write everything, ledger included, as one JSON file or a folder of CSV tables."""
    from stockyard.yard.exchange import export_csv, export_json

    with open_yard(file) as y:
        (export_json if target.suffix.lower() == ".json" else export_csv)(y, target)
    typer.echo(f"Wrote {target}.")


def import_(
    source: Annotated[Path, typer.Argument(metavar="SOURCE", help="What 'yard export' wrote.")],
    file: YardFile = None,
) -> None:
    """Make a yard from an export; it equals the yard that was exported."""
    from stockyard.yard.exchange import import_yard

    path = yard_path(file)
    _tell_strays(import_yard(source, path))
    typer.echo(f"Made {path} from {source}.")


def rebuild(target: Target, file: YardFile = None) -> None:
    """Write a new yard in which every row is what the ledger of this one adds up to."""
    from stockyard.yard.exchange import rebuild as write_anew

    with open_yard(file) as y:
        write_anew(y, target)
    typer.echo(f"Wrote {target} from the ledger.")


def _tell_strays(strays: tuple[Path, ...]) -> None:
    """Say where a log was put that lay at a yard's place and was not part of it."""
    for stray in strays:
        typer.echo(f"A log that belongs to another yard lay there: it is {stray} now.", err=True)
