"""Labels as PDFs: for the edges of pieces, for cut parts, and the sheets they are printed on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.desk.label_data import (
    calibration_of,
    edge_labels_printed,
    part_labels_printed,
    pieces_to_label,
    shop_layout,
)
from stockyard.printing.layouts import LAYOUTS, OWN, OWN_EXAMPLE, describe, layout_named
from stockyard.yard import Yard, jobs
from stockyard.yard.labels import mark_printed, unlabelled_tags

__all__ = [
    "OWN", "OWN_EXAMPLE", "LabelsMade", "LayoutLine", "calibration", "edge_labels", "label_layouts",
    "look_at_layout", "note_printed", "part_labels", "unprinted",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelsMade:
    """Labels as a PDF: how many, for which tags (none of parts), on which layout, and remarks on them."""

    pdf: bytes
    count: int
    tags: tuple[str, ...]
    layout: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutLine:
    """A label layout: its name, what it is in words, and whether the shop uses it."""

    name: str
    labels: str
    used: bool


def unprinted(yard: Yard) -> tuple[str, ...]:
    """Return the tags of the pieces whose label was never printed, in the order in which they came."""
    return unlabelled_tags(yard)


def edge_labels(
    yard: Yard,
    tags: Sequence[str] = (),
    at: Sequence[str] = (),
    *,
    unprinted: bool = False,
    layout: str | None = None,
    start: int = 1,
) -> LabelsMade:
    """Return edge labels of pieces by tag or place; of none named, of those never printed.

    Say `note_printed` once they are safely with the person. `start` is the first free label of a sheet.

    Raises:
        BadInput: no such tag, place or layout, or a label that cannot be read on it.
        Refused: a piece is cut or gone, nothing is left to print, or the yard can only be read.
    """
    yard.refuse_read_only()
    with yard.reading():
        chosen = shop_layout(yard, layout)
        pieces = pieces_to_label(yard, tags, at, unprinted=unprinted)
        pdf, remarks = edge_labels_printed(yard, pieces, chosen, start=start)
    return LabelsMade(
        pdf=pdf, count=len(pieces), tags=tuple(p.tag for p in pieces), layout=chosen.name,
        remarks=tuple(remarks),
    )  # fmt: skip


def note_printed(yard: Yard, tags: Sequence[str]) -> int:
    """Note that the labels of these pieces are printed: one deed if any was not; return how many."""
    return mark_printed(yard, tags)


def part_labels(yard: Yard, name: str, *, layout: str | None = None, start: int = 1) -> LabelsMade:
    """Return a label for every part that a job's plan still has to give.

    Raises:
        BadInput: no such job or layout, or a label that cannot be read on it.
        Refused: the job has no plan that holds, or all its parts are cut.
    """
    with yard.reading():
        chosen = shop_layout(yard, layout)
        pdf, count = part_labels_printed(yard, jobs.planned_job(yard, name), chosen, start=start)
    return LabelsMade(pdf=pdf, count=count, tags=(), layout=chosen.name, remarks=())


def look_at_layout(yard: Yard, layout: str | None = None) -> str:
    """Return the name of a layout, or of the shop's own setting.

    Raises:
        BadInput: there is none of that name, or the shop's own cannot be read.
    """
    return shop_layout(yard, layout).name


def label_layouts(yard: Yard) -> tuple[LayoutLine, ...]:
    """Return the label layouts there are; the shop's own sheet comes last, if it has one."""
    settings = yard.settings
    own = (layout_named(OWN, settings.own_label, settings.unit),) if settings.own_label else ()
    return tuple(
        LayoutLine(name=x.name, labels=describe(x, settings.unit), used=x.name == settings.label)
        for x in (*LAYOUTS, *own)
    )


def calibration(yard: Yard, layout: str | None = None) -> tuple[bytes, str]:
    """Return the page that shows how far the printer is off, and the name of its layout.

    Raises:
        BadInput: no such layout.
    """
    with yard.reading():
        chosen = shop_layout(yard, layout)
        return calibration_of(yard, chosen), chosen.name
