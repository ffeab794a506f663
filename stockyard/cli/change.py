"""A stored job changed from the command line, and its plan mended."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import Later, YardFile, add_commands, open_yard, read_file
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.desk.job_change import Wishes

Texts = list[str] | None
Apart = Callable[[str], tuple[str, str]]
"""Takes `PART=TEXT` apart."""


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
    machine: Annotated[
        Texts,
        typer.Option("--on", metavar="[PART=]MACHINE", help="Cut on the saw, the router, or as usual."),
    ] = None,
    outline: Annotated[
        Texts,
        typer.Option(metavar="PART=FILE", help="The shape of a part, as a DXF file; 'PART=' for none."),
    ] = None,
    rough: Annotated[
        Texts,
        typer.Option(metavar="PART=OVER", help="Sawn larger: 'leg=1/2 x 1/4', 'leg=usual', 'leg=as is'."),
    ] = None,
    later: Later = False,
    file: YardFile = None,
) -> None:
    """Change a stored job; its plan is mended, and cut cards that still hold stay as they are.

    Say the same option again for another part. A whole list pasted again does it too: stockyard paste.
    """
    from stockyard.cli.planned import mend_now
    from stockyard.desk import job_change

    with open_yard(file) as y:
        apart = partial(job_change.told_apart, y, job)
        wishes = _wishes(apart, count, size, rename, note, add, remove, name)
        wishes = _on_machines(replace(wishes, outlines=_outlines(apart, outline)), apart, machine)
        wishes = replace(wishes, allowances=_pairs(apart, rough, "leg=1/2 x 1/4"))
        done = job_change.change_job(y, job, wishes)
        for line in done.lines:
            typer.echo(line[0].upper() + line[1:])
        typer.echo(f"Changed job {done.number} '{done.name}'.")
        mend_now(y, done, later=later)


def _wishes(
    apart: Apart, count: Texts, size: Texts, rename: Texts, note: Texts, add: Texts, remove: Texts, name: str
) -> Wishes:
    from stockyard.desk.job_change import Wishes

    return Wishes(
        counts=_pairs(apart, count, "side=4"), sizes=_pairs(apart, size, "side=720 x 560"),
        renames=_pairs(apart, rename, "side=left side"), notes=_pairs(apart, note, "side=show face out"),
        added=tuple(add or ()), removed=tuple(remove or ()), name=name,
    )  # fmt: skip


def _on_machines(wishes: Wishes, apart: Apart, given: Texts) -> Wishes:
    parts = [one for one in given or () if "=" in one]
    whole = [one.strip() for one in given or () if "=" not in one]
    if len(whole) > 1:
        raise BadInput(f"--on {whole[0][:20]} and --on {whole[1][:20]}: the job is cut on one of them")
    return replace(wishes, machines=_pairs(apart, parts, "side=router"), machine="".join(whole))


def _outlines(apart: Apart, given: Texts) -> dict[str, tuple[bytes, str]]:
    files = _pairs(apart, given, "side=side.dxf")
    return {part: (read_file(Path(name)), name) if name else (b"", "") for part, name in files.items()}


def _pairs(apart: Apart, given: Sequence[str] | None, example: str) -> dict[str, str]:
    pairs = {}
    for one in given or ():
        part, text = apart(one)
        if not part:
            raise BadInput(f"'{one[:40]}' does not say which part: write it like '{example}'")
        pairs[part] = text
    return pairs
