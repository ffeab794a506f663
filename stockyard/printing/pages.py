"""Designs placed on pages, and the pages drawn. Millimetres from the lower left corner of the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from stockyard.measure import TICKS_PER_MM
from stockyard.printing.marks import Frame, Mark, put
from stockyard.printing.output import MM, Paper
from stockyard.printing.sheets import Cell, SheetLayout


@dataclass(frozen=True, slots=True)
class Design:
    """One label: what it names, its size, its marks in frames from its own lower left corner.

    `coded` is False when no scannable code fits.
    """

    name: str
    width: float
    height: float
    pieces: tuple[tuple[Frame, tuple[Mark, ...]], ...]
    coded: bool = False


@dataclass(frozen=True, slots=True)
class Placed:
    """A design on a page: the page's number and size, the design's corner."""

    page: int
    size: tuple[float, float]
    x: float
    y: float
    design: Design


def millimetres(ticks: int) -> float:
    """Return a length in millimetres."""
    return ticks / TICKS_PER_MM


def on_cell(cell: Cell, layout: SheetLayout, design: Design) -> Placed:
    """Place a design in a cell of a label sheet, at the cell's top left corner."""
    top = millimetres(cell.y + cell.height)
    page = millimetres(layout.page[0]), millimetres(layout.page[1])
    return Placed(cell.page, page, millimetres(cell.x), top - design.height, design)


def on_own_page(page: int, design: Design) -> Placed:
    """Place a design on a page of exactly its size."""
    return Placed(page, (design.width, design.height), 0.0, 0.0, design)


def draw(placed: Sequence[Placed], title: str, dpi: int, nudge: tuple[int, int]) -> bytes:
    """Return the PDF of `placed`, which go by page; `nudge` (ticks right, ticks down) shifts everything."""
    right, down = millimetres(nudge[0]), millimetres(nudge[1])
    paper: Paper | None = None
    for _, group in groupby(placed, key=lambda p: p.page):
        labels = list(group)
        size = labels[0].size[0] * MM, labels[0].size[1] * MM
        if paper is None:
            paper = Paper(size, title)
        else:
            paper.next_page(size)
        for label in labels:
            for frame, marks in label.design.pieces:
                x, y = label.x + frame.x + right, label.y + frame.y - down
                put(paper, marks, Frame(x, y, frame.width, frame.height, frame.turned), dpi)
    if paper is None:
        raise ValueError("there is nothing to draw")
    return paper.finish()
