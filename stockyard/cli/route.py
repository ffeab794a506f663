"""`stockyard route`: routed sheets, of a job or of a plan in a file, as files for the machine's software."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import YardFile, add_commands, make_folder, open_yard, read_file
from stockyard.errors import BadInput
from stockyard.measure import Unit

if TYPE_CHECKING:
    from stockyard.desk.router import Drawn


# What follows the job's name in that of a drawing.
_CARD = " - card "


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    add_commands(app, {"route": route})


def route(
    job: Annotated[
        str, typer.Argument(metavar="JOB", help="The job's name or number; with PLAN, a problem file.")
    ],
    plan: Annotated[
        Path | None, typer.Argument(metavar="[PLAN]", help="Its plan, as solve wrote it.")
    ] = None,
    to: Annotated[Path, typer.Option(metavar="FOLDER", help="Where the files go.")] = Path(),
    svg: Annotated[bool, typer.Option("--svg", help="Write SVG in place of DXF.")] = False,
    r12: Annotated[bool, typer.Option("--r12", help="Write the oldest form of DXF.")] = False,
    unit: Annotated[Unit | None, typer.Option(help="mm or in.")] = None,
    origin: Annotated[
        str | None,
        typer.Option(help="Where zero is: lower left, lower right, upper left, upper right, centre."),
    ] = None,
    along: Annotated[
        str | None, typer.Option(metavar="AXIS", help="The axis along which a sheet's length lies: x or y.")
    ] = None,
    layer: Annotated[
        list[str] | None, typer.Option(metavar="WHAT=NAME", help="Name a layer, such as parts=OUTSIDE.")
    ] = None,
    paper: Annotated[
        str | None, typer.Option(metavar="SIZE", help="With PLAN: the operator's sheets, letter or a4.")
    ] = None,
    outline: Annotated[
        list[str] | None, typer.Option(metavar="PART=FILE", help="With PLAN: the shape of a part, as DXF.")
    ] = None,
    file: YardFile = None,
) -> None:
    """Draw the sheets of a planned job for the router: outlines, labels, clamps; no tool paths.

    What is not said here is as the settings have it.
    """
    from stockyard.desk import router
    from stockyard.whole import write_set

    form = "SVG" if svg else "R12" if r12 else None
    wanted = router.Drawn(
        form=form, unit=unit, origin=origin, along=along, layers=tuple(_pairs(layer, "layer"))
    )
    if plan is None:
        if paper or outline:
            raise BadInput("--paper and --outline go with a problem file: a job has papers and 'change'")
        with open_yard(file) as y:
            made = router.drawings(y, job, wanted)
    else:
        made = tuple(_of_files(Path(job), plan, wanted, paper, _pairs(outline, "outline")))
    make_folder(to)
    write_set(to, made)
    for name, _ in made:
        typer.echo(str(to / name))
    if plan is None and (older := _older(to, [name for name, _ in made])):
        typer.echo(f"Drawings of another plan of this job lie there too: {', '.join(older)}", err=True)


def _older(folder: Path, names: list[str]) -> list[str]:
    """Return the drawings of the same job that lie in a folder and are of none of its sheets now."""
    now = {name.rpartition(" ")[0] for name in names}
    job = names[0].partition(_CARD)[0] + _CARD
    there = sorted(p.name for p in folder.iterdir() if p.name.startswith(job))
    return [name for name in there if name.rpartition(" ")[0] not in now]


def _of_files(
    problem: Path, plan: Path, wanted: Drawn, paper: str | None, outlines: list[tuple[str, str]]
) -> list[tuple[str, bytes]]:
    """Return the drawings of a plan that solve wrote, and its operator's sheets."""
    from stockyard.desk.routed_sheets import layouts_in, routed_sheets, sheet_files
    from stockyard.desk.router import rules_for
    from stockyard.desk.solving import read
    from stockyard.printing.outline_file import read_outline
    from stockyard.printing.router_sheet import router_sheets_pdf
    from stockyard.settings import Settings

    question = read(read_file(problem)).problem
    shapes = {
        part: replace(read_outline(read_file(Path(name)), name, question.unit), file=Path(name).name)
        for part, name in outlines
    }
    try:
        layouts = layouts_in(read_file(plan).decode("utf-8"))
    except (ValueError, KeyError, TypeError) as e:
        raise BadInput(f"{plan}: not a plan that solve wrote ({e})") from None
    rules, svg = rules_for(Settings(unit=question.unit), wanted)
    sheets = routed_sheets(question, layouts, shapes)
    files = sheet_files(sheets, rules, svg=svg)
    if paper:
        files.append(("router sheets.pdf", router_sheets_pdf(sheets, rules, question.unit, paper)))
    return files


def _pairs(given: list[str] | None, what: str) -> list[tuple[str, str]]:
    found = []
    for text in given or []:
        left, mark, right = text.partition("=")
        if not (mark and left and right):
            raise BadInput(f"--{what} {text!r}: write it as a name, an equals sign and a name")
        found.append((left, right))
    return found
