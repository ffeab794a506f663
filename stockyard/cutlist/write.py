"""Rows back to text: a tab-separated table that reads as exactly the same rows."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from stockyard.cutlist.model import Row
from stockyard.measure import Unit, decimal
from stockyard.rough import OWN

_HEADER = (
    "Name", "Count", "Cut length (mm)", "Cut width (mm)", "Thickness (mm)", "Material", "Grain", "Edges",
    "Matched set", "Batch", "Oversize", "Nominal", "Rip from", "Note",
)  # fmt: skip


def write(rows: Iterable[Row]) -> str:
    """Return a headed table of the rows, sizes as cut, in exact millimetres."""
    lines = ["\t".join(_HEADER)]
    for row in rows:
        thickness = _mm(row.thickness) if row.thickness is not None else ""
        material = " ".join(w for w in (row.material, row.thickness_name or "") if w)
        cells = (
            row.name, str(row.count), _mm(row.length), _mm(row.width), thickness, material, row.grain or "",
            _edges(row), _set(row), row.batch, _rough(row), row.nominal or "", row.rip_from or "", row.note,
        )  # fmt: skip
        lines.append("\t".join(" ".join(cell.split()) for cell in cells))
    return "\n".join(lines) + "\n"


def _edges(row: Row) -> str:
    """Write the banded edges and the band: "L1 W2 in 1 mm oak"."""
    thick = "" if row.band_thickness is None else f"{_mm(row.band_thickness)} mm"
    own = " ".join(w for w in (thick, row.band_material) if w)
    return " ".join(row.bands) + (f" in {own}" if row.bands and own else "")


def _rough(row: Row) -> str:
    own = " x ".join(f"{_mm(ticks)} mm" for ticks in (row.over_length, row.over_width))
    return own if row.rough == OWN else row.rough


def _set(row: Row) -> str:
    return f"{row.set_name} {row.set_run}" if row.set_name else ""


def _mm(ticks: int) -> str:
    """Write exact millimetres, never with just three decimals, which could be a thousand."""
    value: Decimal = decimal(ticks, Unit.MM)
    text = f"{value.normalize():f}"
    return text + "0" if "." in text and len(text.partition(".")[2]) == 3 else text
