"""What the commands share: which yard, how to print, and how to ask."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, is_dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockyard.errors import BadInput
from stockyard.text import leaving

if TYPE_CHECKING:
    from stockyard.yard import Yard
    from stockyard.yard.model import Piece

YardFile = Annotated[
    Path | None,
    typer.Option(
        "--yard", metavar="FILE", envvar="STOCKYARD_YARD", show_envvar=True, help="The yard to use."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
Yes = Annotated[bool, typer.Option("--yes", "-y", help="Do not ask.")]
Commands = Mapping[str, Callable[..., None]]
MOST_INPUT = 1_000_000


def add_group(app: typer.Typer, name: str, text: str, commands: Commands) -> None:
    """Add a group of commands, `stockyard NAME COMMAND`, to the application."""
    group = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help=text)
    add_commands(group, commands)
    app.add_typer(group, name=name)


def add_commands(app: typer.Typer, commands: Commands) -> None:
    """Add commands by their names."""
    for name, command in commands.items():
        app.command(name)(command)


def yard_path(given: Path | None) -> Path:
    """Return the yard meant: the one given, or `yard.db` in the platform's folder for user data."""
    try:
        if given is not None:
            return given.expanduser()
        return data_folder(sys.platform, os.environ) / "yard.db"
    except RuntimeError:
        raise BadInput("your home folder is not known: say which yard with --yard FILE") from None


def data_folder(platform: str, environment: Any) -> Path:
    """Return the folder for this program's data on a platform, as its own conventions say."""
    home = Path(environment.get("HOME") or Path.home())
    if platform == "darwin":
        return home / "Library" / "Application Support" / "stockyard"
    if platform == "win32":
        return Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local") / "stockyard"
    return Path(environment.get("XDG_DATA_HOME") or home / ".local" / "share") / "stockyard"


def open_yard(given: Path | None) -> Yard:
    """Open the yard meant."""
    from stockyard import yard

    return yard.open(yard_path(given))


def print_json(value: object) -> None:
    """Print a value, dataclasses included, as JSON."""
    typer.echo(json.dumps(plain_data(value), ensure_ascii=False, indent=1))


def plain_data(value: object) -> Any:
    """Return a value made of dataclasses and tuples as JSON can hold it."""
    if is_dataclass(value) and not isinstance(value, type):
        return plain_data(asdict(value))
    if isinstance(value, dict):
        return {str(k): plain_data(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain_data(v) for v in value]
    return value


def print_table(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Print rows under headings, columns apart by two spaces; headings are bold on a terminal only."""
    cells = [["" if c is None else leaving(str(c)) for c in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(headings, *cells, strict=True)]
    bold = sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    typer.echo(typer.style(_line(headings, widths), bold=True) if bold else _line(headings, widths))
    for row in cells:
        typer.echo(_line(row, widths))


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "  ".join(c.ljust(w) for c, w in zip(cells, widths, strict=True)).rstrip()


def confirmed(question: str, yes: bool) -> bool:
    """Ask unless `yes`; with nobody there to answer, say how to go on.

    Raises:
        BadInput: standard input is not a terminal.
    """
    if yes:
        return True
    if not sys.stdin.isatty():
        raise BadInput(f"{question} Nobody is here to answer: say --yes")
    return typer.confirm(question)


def tell_misfits(y: Yard, pieces: Iterable[Piece]) -> None:
    """Remark, on standard error, where pieces were put that the place does not suit."""
    from stockyard.desk.shelve_advice import misfits

    for remark in misfits(y, pieces):
        typer.echo(f"Look again: {remark}.", err=True)


def words_given(words: Sequence[str]) -> list[str]:
    """Return the words of the command line; a single - stands for the lines of standard input."""
    if list(words) != ["-"]:
        return list(words)
    text = sys.stdin.read(MOST_INPUT + 1)
    if len(text) > MOST_INPUT:
        raise BadInput("that is too much to read: at most 1 MB")
    found = text.split()
    if not found:
        raise BadInput("nothing came on standard input")
    return found


def tags_given(words: Sequence[str]) -> list[str]:
    """Return tags typed, or scanned into standard input with -; read, without doubles.

    Raises:
        BadInput: one is not a tag.
    """
    from stockyard.tags import read_tag

    return list(dict.fromkeys(read_tag(word) for word in words_given(words)))


def tell_left(y: Yard, pulled: tuple[Piece, ...], job: str) -> None:
    """Say which pieces that were pulled for a job lie on the bench now and are wanted no more."""
    from stockyard.yard.model import State
    from stockyard.yard.pieces import by_tags

    left = [p.tag for p in by_tags(y, [p.tag for p in pulled]) if p.state is State.BENCH]
    if left:
        typer.echo(
            f"On the bench, not wanted for {job} any more: {', '.join(left)}. "
            "Put each back with 'stockyard return TAG --at PLACE'."
        )
