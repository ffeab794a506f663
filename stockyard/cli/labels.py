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
    from stockyard.desk.label_data import pieces_to_label, print_edge_labels, shop_layout

    with open_yard(file) as y:
        chosen = shop_layout(y, layout)
        pieces = pieces_to_label(y, tags_given(tags) if tags else (), at or (), unprinted=unprinted)
        for remark in print_edge_labels(y, pieces, chosen, out, start=start):
            typer.echo(remark)
    typer.echo(f"{out}: {len(pieces)} edge labels on {chosen.name}. Print at 100 %.")


def part_labels(
    job: Annotated[str, typer.Argument(metavar="JOB", help="The job's name or number.")],
    layout: LayoutName = None,
    start: Start = 1,
    out: Out = Path("part-labels.pdf"),
    file: YardFile = None,
) -> None:
    """Print a label for every part that a job's plan still has to give."""
    from stockyard.desk.label_data import print_part_labels, shop_layout
    from stockyard.yard.jobs import job as job_named

    with open_yard(file) as y:
        chosen = shop_layout(y, layout)
        printed = print_part_labels(y, job_named(y, job), chosen, out, start=start)
    typer.echo(f"{out}: {printed} part labels on {chosen.name}. Print at 100 %.")


def label_layouts(file: YardFile = None, as_json: AsJson = False) -> None:
    """List the label layouts; the shop's own sheet is the setting own_label."""
    from stockyard.printing.layouts import LAYOUTS, OWN, OWN_EXAMPLE, describe, layout_named

    with open_yard(file) as y:
        unit, own, used = y.unit, y.settings.own_label, y.settings.label
    rows = [{"name": one.name, "labels": describe(one, unit), "used": one.name == used} for one in LAYOUTS]
    if own:
        rows.append(
            {"name": OWN, "labels": describe(layout_named(OWN, own, unit), unit), "used": used == OWN}
        )
    if as_json:
        print_json(rows)
        return
    print_table(
        ("layout", "labels", ""), [(r["name"], r["labels"], "in use" if r["used"] else "") for r in rows]
    )
    if not own:
        typer.echo(f"For another sheet: stockyard yard settings label=own own_label='{OWN_EXAMPLE}'")


def calibrate(layout: LayoutName = None, out: Out = Path("calibration.pdf"), file: YardFile = None) -> None:
    """Print a page that shows how far the printer is off, and where the labels lie."""
    from stockyard.desk.label_data import calibration_of, shop_layout
    from stockyard.printing.output import write_whole

    with open_yard(file) as y:
        chosen = shop_layout(y, layout)
        write_whole(out, calibration_of(y, chosen))
    typer.echo(f"{out}: the calibration page of {chosen.name}. Print it on plain paper at 100 %.")
