"""One table three ways: for the eye, as JSON, as CSV."""

from __future__ import annotations

import csv
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from stockyard.cli.common import print_json, print_table

AsCsv = Annotated[bool, typer.Option("--csv", help="Print CSV.")]
Cell = str | int | float | None


def emit(headings: Sequence[str], rows: Sequence[Sequence[Cell]], *, as_json: bool, as_csv: bool) -> None:
    """Print rows as asked; JSON is a list of objects by heading, CSV keeps formulas out of spreadsheets."""
    if as_json:
        print_json([dict(zip(headings, row, strict=True)) for row in rows])
    elif as_csv:
        writer = csv.writer(sys.stdout)
        writer.writerow(headings)
        writer.writerows([_safe(cell) for cell in row] for row in rows)
    else:
        print_table(headings, [[_shown(cell) for cell in row] for row in rows])


def _safe(cell: Cell) -> Cell:
    return "'" + cell if isinstance(cell, str) and cell.startswith(("=", "+", "-", "@", "\t")) else cell


def _shown(cell: Cell) -> object:
    return f"{cell:,.2f}" if isinstance(cell, float) else cell
