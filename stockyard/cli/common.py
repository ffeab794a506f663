"""What the commands share: which yard, how to print, and how to ask."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stockyard.cli import completing
from stockyard.cli.streams import watch
from stockyard.errors import BadInput
from stockyard.text import leaving

if TYPE_CHECKING:
    from stockyard.desk.door import Yard, Yardkeeper
    from stockyard.desk.shown import BrokenPlan
    from stockyard.figures import Terms

YardFile = Annotated[
    Path | None,
    typer.Option(
        "--yard", metavar="FILE", envvar="STOCKYARD_YARD", show_envvar=True, help="The yard to use."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON.")]
Yes = Annotated[bool, typer.Option("--yes", "-y", help="Do not ask.")]
Tag = Annotated[str, typer.Argument(metavar="TAG", help="The tag on its label.")]
Flaws = Annotated[
    list[str] | None,
    typer.Option(
        "--flaw", metavar="FLAW",
        help="Size along and across, and where it begins: '80 x 120 at 300, 45', from the near left corner, "
        "good face up, length left to right. Chalk a 0 there.",
    ),
]  # fmt: skip
Sure = Annotated[bool, typer.Option("--sure", help="The thickness is right, however odd.")]
Later = Annotated[bool, typer.Option("--later", help="Do not plan again now.")]
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
        if completing.asked():
            completing.attach(command)
        app.command(name)(command)


def yard_path(given: Path | None) -> Path:
    """Return the yard meant: the one given, or `yard.db` in the platform's folder for user data."""
    try:
        if given is not None:
            return given.expanduser()
        return data_folder(sys.platform, os.environ) / "yard.db"
    except RuntimeError:
        if given is not None and given.parts[0] != "~":
            raise BadInput(f"there is no home folder {given.parts[0]}: write the whole path") from None
        raise BadInput("your home folder is not known: say which yard with --yard FILE") from None


def data_folder(platform: str, environment: Any) -> Path:
    """Return the folder for this program's data on a platform, as its own conventions say."""
    home = Path(environment.get("HOME") or Path.home())
    if platform == "darwin":
        return home / "Library" / "Application Support" / "stockyard"
    if platform == "win32":
        return Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local") / "stockyard"
    return Path(environment.get("XDG_DATA_HOME") or home / ".local" / "share") / "stockyard"


def keeper(given: Path | None) -> Yardkeeper:
    """Return the keeper of the yard meant; STOCKYARD_STATION names this station in the ledger."""
    from stockyard.desk.door import STATION, Yardkeeper

    return Yardkeeper(yard_path(given), os.environ.get("STOCKYARD_STATION") or STATION)


def open_yard(given: Path | None) -> Yard:
    """Open the yard meant, for one command."""
    return watch(keeper(given).open())


def terms_of(y: Yard) -> Terms:
    """Return the unit and the currency that the yard's figures are printed in."""
    from stockyard.figures import Terms

    return Terms(y.unit, y.settings.currency)


def print_json(value: object, terms: Terms | None = None) -> None:
    """Print a value as JSON; figures come in the shop's units, which are named beside them."""
    from stockyard.figures import Terms, plain
    from stockyard.measure import Unit

    data = plain(value, terms or Terms(Unit.MM, ""))
    typer.echo(json.dumps(data, ensure_ascii=False, indent=1, default=str))


def print_table(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Print rows under headings, no wider than the window; headings are bold on a terminal only."""
    from stockyard.cli.narrow import fitted

    cells = [["" if c is None else leaving(str(c)) for c in row] for row in rows]
    bold = sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    first, *others = fitted(list(headings), cells, _window())
    typer.echo(typer.style(first, bold=True) if bold else first)
    for line in others:
        typer.echo(line)


def _window() -> int | None:
    """Return how many letters a line may have; None where nobody looks at a window."""
    said = os.environ.get("COLUMNS", "")
    if said.isdecimal() and int(said):
        return int(said)
    return shutil.get_terminal_size().columns if sys.stdout.isatty() else None


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


def tell_remarks(remarks: Iterable[str]) -> None:
    """Remark, on standard error, where pieces were put that the place does not suit."""
    for remark in remarks:
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


def tell_left(on_bench: Sequence[str], job: str) -> None:
    """Say which pieces that were pulled for a job lie on the bench now and are wanted no more."""
    if on_bench:
        typer.echo(
            f"On the bench, not wanted for {job} any more: {', '.join(on_bench)}. "
            "Put each back with 'stockyard return TAG --at PLACE'."
        )


def tell_broken(broken: Iterable[BrokenPlan | None], *, at_once: bool = False) -> None:
    """Say which jobs must be planned again; `at_once`: that follows."""
    for b in broken:
        if b is not None:
            told = "it is made again" if at_once else "plan it again"
            typer.echo(f"The plan of {b.job_name} needed {b.tag}: {told}.")


def bytes_of(path: Path, most: int) -> bytes:
    """Return what a file of the person holds, or just over `most` bytes of it.

    Raises:
        BadInput: it cannot be read.
    """
    try:
        with path.open("rb") as file:
            return file.read(most + 1)
    except OSError as error:
        raise BadInput(f"cannot read {path}: {error.strerror}") from None


def make_folder(folder: Path) -> None:
    """Make a folder for what is printed.

    Raises:
        BadInput: it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(f"cannot use the folder {folder}: {(error.strerror or str(error)).lower()}") from None


def read_file(path: Path) -> bytes:
    """Return what a file holds.

    Raises:
        BadInput: it cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as e:
        raise BadInput(f"{path}: {e.strerror or e}") from None
