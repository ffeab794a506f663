"""Labels: for the edges of pieces, for cut parts, and the sheets they are printed on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from stockyard.cli.common import (
    AsJson,
    YardFile,
    add_commands,
    open_yard,
    print_json,
    print_table,
    tags_given,
)
from stockyard.wording import count

LayoutName = Annotated[
    str | None,
    typer.Option("--layout", metavar="NAME", help="Label layout; the shop's own setting if left out."),
]
Start = Annotated[int, typer.Option("--start", min=1, help="First free label of a part-used sheet.")]
Out = Annotated[Path, typer.Option("--out", metavar="FILE", help="The PDF to write.")]


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    commands: dict[str, Callable[..., None]] = {
        "labels": labels,
        "part-labels": part_labels,
        "label-layouts": label_layouts,
        "calibrate": calibrate,
    }
    add_commands(app, commands)


def labels(
    tags: Annotated[
        list[str] | None, typer.Argument(metavar="[TAG]...", help="These pieces, or - to scan them in.")
    ] = None,
    at: Annotated[
        list[str] | None, typer.Option("--at", metavar="PLACE", help="All pieces at a place.")
    ] = None,
    unprinted: Annotated[
        bool, typer.Option("--unprinted", help="Only labels never printed (so it is without TAG or --at).")
    ] = False,
    layout: LayoutName = None,
    start: Start = 1,
    out: Out = Path("edge-labels.pdf"),
    file: YardFile = None,
) -> None:
    """Print the edge labels of pieces to a PDF, and note that they are printed."""
    from stockyard.desk.labels import edge_labels, note_printed
    from stockyard.whole import write_whole

    with open_yard(file) as y:
        given = tags_given(tags) if tags else ()
        made = edge_labels(y, given, at or (), unprinted=unprinted, layout=layout, start=start)
        write_whole(out, made.pdf)
        # Only what is safely on the disk counts as printed.
        note_printed(y, made.tags)
    for remark in made.remarks:
        typer.echo(remark)
    typer.echo(f"{out}: {count(made.count, 'edge label')} on {made.layout}. Print at 100 %.")


def part_labels(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's name or number.")],
    layout: LayoutName = None,
    start: Start = 1,
    out: Out = Path("part-labels.pdf"),
    file: YardFile = None,
) -> None:
    """Print a label for every part that a job's plan still has to give."""
    from stockyard.desk.labels import part_labels as printed
    from stockyard.whole import write_whole

    with open_yard(file) as y:
        made = printed(y, job, layout=layout, start=start)
    write_whole(out, made.pdf)
    typer.echo(f"{out}: {count(made.count, 'part label')} on {made.layout}. Print at 100 %.")


def label_layouts(file: YardFile = None, as_json: AsJson = False) -> None:
    """List the label layouts; the shop's own sheet is the setting own_label."""
    from stockyard.desk.labels import OWN, OWN_EXAMPLE
    from stockyard.desk.labels import label_layouts as known

    with open_yard(file) as y:
        rows = known(y)
    if as_json:
        print_json(rows)
        return
    print_table(("layout", "labels", ""), [(r.name, r.labels, "in use" if r.used else "") for r in rows])
    if all(r.name != OWN for r in rows):
        typer.echo(f"For another sheet: stockyard yard settings label=own own_label='{OWN_EXAMPLE}'")


def calibrate(layout: LayoutName = None, out: Out = Path("calibration.pdf"), file: YardFile = None) -> None:
    """Print a page that shows how far the printer is off, and where the labels lie."""
    from stockyard.desk.labels import calibration
    from stockyard.whole import write_whole

    with open_yard(file) as y:
        pdf, name = calibration(y, layout)
    write_whole(out, pdf)
    typer.echo(f"{out}: the calibration page of {name}. Print it on plain paper at 100 %.")
