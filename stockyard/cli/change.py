"""A stored job changed from the command line, and its plan mended."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import Later, YardFile, add_commands, open_yard
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.desk.job_change import Wishes

Texts = list[str] | None


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    add_commands(app, {"change": change})


def change(
    job: Annotated[str, typer.Argument(metavar="JOB", help="Its name, a start of it, or its number.")],
    count: Annotated[Texts, typer.Option(metavar="PART=COUNT", help="How many: 'side=4'.")] = None,
    size: Annotated[Texts, typer.Option(metavar="PART=SIZE", help="Cut size: 'side=720 x 560'.")] = None,
    add: Annotated[
        Texts, typer.Option(metavar="LINE", help="A line of a cut list, along the grain first.")
    ] = None,
    remove: Annotated[Texts, typer.Option(metavar="PART", help="A part to take out.")] = None,
    rename: Annotated[Texts, typer.Option(metavar="PART=NAME", help="Call a part something else.")] = None,
    note: Annotated[Texts, typer.Option(metavar="PART=NOTE", help="A note on a part.")] = None,
    name: Annotated[str, typer.Option(help="The job's new name.")] = "",
    later: Later = False,
    file: YardFile = None,
) -> None:
    """Change a stored job; its plan is mended, and cut cards that still hold stay as they are.

    Say the same option again for another part. A whole list pasted again does it too: stockyard paste.
    """
    from stockyard.cli.planned import mend_now
    from stockyard.desk import job_change

    with open_yard(file) as y:
        wishes = _wishes(count, size, rename, note, add, remove, name)
        done = job_change.change_job(y, job, wishes)
        for line in done.lines:
            typer.echo(line[0].upper() + line[1:])
        typer.echo(f"Changed job {done.number} '{done.name}'.")
        mend_now(y, done, later=later)


def _wishes(
    count: Texts, size: Texts, rename: Texts, note: Texts, add: Texts, remove: Texts, name: str
) -> Wishes:
    from stockyard.desk.job_change import Wishes

    return Wishes(
        counts=_pairs(count, "side=4"), sizes=_pairs(size, "side=720 x 560"),
        renames=_pairs(rename, "side=left side"), notes=_pairs(note, "side=show face out"),
        added=tuple(add or ()), removed=tuple(remove or ()), name=name,
    )  # fmt: skip


def _pairs(given: Sequence[str] | None, example: str) -> dict[str, str]:
    pairs = {}
    for one in given or ():
        part, equals, text = one.rpartition("=")
        if not equals or not part.strip():
            raise BadInput(f"'{one[:40]}' does not say which part: write it like '{example}'")
        pairs[part.strip()] = text.strip()
    return pairs
