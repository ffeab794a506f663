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
from stockyard.cli.faults import mending
from stockyard.errors import BadInput, Refused

if TYPE_CHECKING:
    from stockyard.desk.shop import LastSeal

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
    from stockyard.desk import door, shop
    from stockyard.measure import Unit

    wanted = shop.first_settings(_pairs(sets or []), inches=inches)
    path = yard_path(file)
    _tell_strays(door.make_yard(path, wanted))
    typer.echo(f"Made a yard in {'inches' if wanted.unit is Unit.INCH else 'millimetres'} at {path}.")


def settings(
    pairs: Annotated[
        list[str] | None,
        typer.Argument(metavar="[NAME|NAME=VALUE]...", help="Settings to explain, or to change."),
    ] = None,
    explain: Annotated[bool, typer.Option("--explain", help="Say what each does.")] = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Show the shop's settings, change some, or say what one does: settings kerf."""
    from stockyard.desk import shop

    asked = [word for word in pairs or () if "=" not in word]
    given = [word for word in pairs or () if "=" in word]
    with open_yard(file) as y:
        shop.explained(y, asked)  # looks at the names before anything is changed
        if given:
            shop.set_settings(y, _pairs(given))
        shown = shop.explained(y, asked)
    if as_json:
        print_json({line.name: line.exact for line in shown})
    elif asked or explain:
        rows = [(line.name, line.shown, line.effect) for line in shown]
        print_table(("setting", "value", "what it does"), rows)
    else:
        print_table(("setting", "value"), [(line.name, line.shown) for line in shown])


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
    from stockyard.desk import shop
    from stockyard.wording import count

    with open_yard(file) as y:
        checked, last = shop.check(y)
        found = checked.differences
    if as_json:
        print_json([{"what": d.what, "mend": mending(d)} for d in found])
    for d in () if as_json else found:
        typer.echo(f"- {d.what}\n  To mend it: {mending(d)}.")
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
    typer.echo(f"The seal of the last entry, {last.deed}, is {last.digest}.")
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
    from stockyard.desk import shop

    with open_yard(file) as y:
        typer.echo(f"Backed up to {shop.back_up(y, target)}.")


def backups(file: YardFile = None, as_json: AsJson = False) -> None:
    """List the backups beside the yard, the newest first."""
    from stockyard.desk import shop

    found = shop.backups(yard_path(file))
    if as_json:
        print_json([{"file": str(b.path), "bytes": b.bytes} for b in found])
    else:
        print_table(("backup", "bytes"), ((b.path, b.bytes) for b in found))


def restore(
    source: Annotated[Path, typer.Argument(metavar="BACKUP", help="The backup to put in place.")],
    file: YardFile = None,
    yes: Yes = False,
) -> None:
    """Put a backup in the place of the yard; the yard as it was is put aside, not deleted."""
    from stockyard.desk import shop

    path = yard_path(file)
    shop.look_for_backup(source)
    if confirmed(f"Put {source} in the place of {path}?", yes):
        done = shop.restore(source, path)
        typer.echo(f"Restored {path}." + (f" The yard as it was is {done.old}." if done.old else ""))
        _tell_strays(done.strays)


def export(
    target: Annotated[
        Path, typer.Argument(metavar="TARGET", help="A .json file, or a folder for CSV tables.")
    ],
    file: YardFile = None,
) -> None:
    """Write everything, ledger included, as one JSON file or a folder of CSV tables."""
    from stockyard.desk import shop

    with open_yard(file) as y:
        shop.export(y, target)
    typer.echo(f"Wrote {target}.")


def import_(
    source: Annotated[Path, typer.Argument(metavar="SOURCE", help="What 'yard export' wrote.")],
    file: YardFile = None,
) -> None:
    """Make a yard from an export; it equals the yard that was exported."""
    from stockyard.desk import shop

    path = yard_path(file)
    _tell_strays(shop.import_yard(source, path))
    typer.echo(f"Made {path} from {source}.")


def rebuild(target: Target, file: YardFile = None) -> None:
    """Write a new yard in which every row is what the ledger of this one adds up to."""
    from stockyard.desk import shop

    with open_yard(file) as y:
        shop.rebuild(y, target)
    typer.echo(f"Wrote {target} from the ledger.")


def _tell_strays(strays: tuple[Path, ...]) -> None:
    """Say where a log was put that lay at a yard's place and was not part of it."""
    for stray in strays:
        typer.echo(f"A log that belongs to another yard lay there: it is {stray} now.", err=True)
