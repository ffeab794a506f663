"""`stockyard route`: the sheets of a routed plan as files for the machine's own software."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from stockyard.cli.common import add_commands
from stockyard.errors import BadInput
from stockyard.measure import Unit


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    add_commands(app, {"route": route})


def route(
    problem: Annotated[Path, typer.Argument(metavar="PROBLEM", help="The problem as JSON, method router.")],
    plan: Annotated[Path, typer.Argument(metavar="PLAN", help="Its plan, as solve wrote it.")],
    to: Annotated[Path, typer.Option(metavar="FOLDER", help="Where the files go.")],
    svg: Annotated[bool, typer.Option("--svg", help="Write SVG in place of DXF.")] = False,
    r12: Annotated[bool, typer.Option("--r12", help="Write the oldest form of DXF.")] = False,
    unit: Annotated[Unit | None, typer.Option(help="mm or in; else that of the problem.")] = None,
    origin: Annotated[
        str, typer.Option(help="Where zero is: lower left, lower right, upper left, upper right, centre.")
    ] = "lower left",
    along_y: Annotated[bool, typer.Option("--along-y", help="The sheet's length lies along y.")] = False,
    layer: Annotated[
        list[str] | None, typer.Option(metavar="WHAT=NAME", help="Name a layer, such as parts=OUTSIDE.")
    ] = None,
    paper: Annotated[
        str | None, typer.Option(metavar="SIZE", help="Print the operator's sheets too: letter or a4.")
    ] = None,
    outline: Annotated[
        list[str] | None, typer.Option(metavar="PART=FILE", help="The shape of a part, as a DXF file.")
    ] = None,
) -> None:
    """Draw each sheet of a routed plan for the machine: outlines, labels and clamps; no tool paths."""
    from stockyard.desk.routed_sheets import layouts_in, routed_sheets, sheet_files
    from stockyard.desk.solving import read
    from stockyard.printing.outline_file import read_outline
    from stockyard.printing.routed_sheet import DrawingRules, Layers, Origin, Release
    from stockyard.printing.router_sheet import router_sheets_pdf

    question = read(_read(problem)).problem
    shapes = {
        part: read_outline(_read(Path(file)), file, question.unit)
        for part, file in _pairs(outline, "outline")
    }
    try:
        layouts = layouts_in(_read(plan).decode("utf-8"))
    except (ValueError, KeyError, TypeError) as e:
        raise BadInput(f"{plan}: not a plan that solve wrote ({e})") from None
    names = dict(_pairs(layer, "layer"))
    known = Layers.__slots__
    for name in names:
        if name not in known:
            raise BadInput(f"there is no layer for {name!r}; there are {', '.join(known)}")
    if origin not in list(Origin):
        raise BadInput(f"the origin {origin!r} is none of {', '.join(Origin)}")
    rules = DrawingRules(
        unit=unit or question.unit,
        origin=Origin(origin),
        along_y=along_y,
        release=Release.R12 if r12 else Release.R2000,
        layers=Layers(**names),
    )
    sheets = routed_sheets(question, layouts, shapes)
    files = sheet_files(sheets, rules, svg=svg)
    if paper:
        files.append(("router sheets.pdf", router_sheets_pdf(sheets, rules, question.unit, paper)))
    _write_all(to, files)
    for name, _ in files:
        typer.echo(str(to / name))


def _pairs(given: list[str] | None, what: str) -> list[tuple[str, str]]:
    found = []
    for text in given or []:
        left, mark, right = text.partition("=")
        if not (mark and left and right):
            raise BadInput(f"--{what} {text!r}: write it as a name, an equals sign and a name")
        found.append((left, right))
    return found


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as e:
        raise BadInput(f"{path}: {e.strerror or e}") from None


def _write_all(folder: Path, files: list[tuple[str, bytes]]) -> None:
    """Write all files or none that was not there before."""
    from stockyard.whole import write_whole

    if not folder.is_dir():
        raise BadInput(f"cannot write to {folder}: there is no such folder")
    new: list[Path] = []
    try:
        for name, data in files:
            path = folder / name
            if not path.exists():
                new.append(path)
            write_whole(path, data)
    except BadInput:
        for path in new:
            path.unlink(missing_ok=True)
        raise
