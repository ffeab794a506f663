"""Thickness that is not what its name says: what is asked about it, and what the papers warn of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import suppress

from stockyard.errors import BadInput, Refused
from stockyard.figures import caliper
from stockyard.kinds import Form
from stockyard.measure import Unit, named_thickness
from stockyard.tolerances import Range, board, panel
from stockyard.wording import count
from stockyard.yard.jobs import named_parts
from stockyard.yard.model import Job, Material, Piece
from stockyard.yard.pieces import by_tag
from stockyard.yard.planned import StoredPlan
from stockyard.yard.store import Yard


def doubt(material: Material, thickness: int | None, unit: Unit) -> str:
    """Say why a measured thickness can hardly be that of a material, empty when it can.

    It may be within the tolerance of the name, or of what the material measures.
    """
    if thickness is None:
        return ""
    ranges = tuple(_ranges(material, unit))
    if any(thickness in found for found in ranges):
        return ""
    usual = ranges[0]
    least, most = (caliper(t, unit) for t in (usual.least, usual.most))
    by = f" by {usual.source}" if usual.source else ""
    return f"{caliper(thickness, unit)} is not {material.title}, which is {least} to {most}{by}"


def refuse_doubtful(material: Material, thickness: int | None, unit: Unit) -> None:
    """Ask about a measured thickness that can hardly be that of its material.

    Raises:
        Refused: it is beyond the tolerance.
    """
    if why := doubt(material, thickness, unit):
        raise Refused(why, "off thickness")


def _ranges(material: Material, unit: Unit) -> Iterator[Range]:
    """Yield what a material may measure, by its name first."""
    if material.form is Form.BOARD:
        yield board(material.thickness)
        return
    name = material.thickness_name
    inches = "mm" not in name and ("/" in name or '"' in name or "in" in name or unit is Unit.INCH)
    with suppress(BadInput):  # of a trade name that is no length only what it measures is known
        yield panel(named_thickness(name, unit), inches=inches)
    yield panel(material.thickness, inches=inches)


def measured_as(piece: Piece, material: Material, unit: Unit) -> str:
    """Say that a piece measures what its material hardly does, empty where it may."""
    odd = piece.thickness is not None and doubt(material, piece.thickness, unit)
    return f"measures {caliper(piece.thickness or 0, unit)}: another material?" if odd else ""


def mixed_parts(yard: Yard, plan: StoredPlan, known: Mapping[int, Material]) -> tuple[str, ...]:
    """Warn of equal parts from pieces that measure differently: "side from 16.8 and 17.7 mm".

    A piece that nobody measured counts as its material measures. Differences up to the shop's
    `batch_spread` are no news.
    """
    found: defaultdict[str, set[int]] = defaultdict(set)
    for layout in plan.layouts:
        if layout.tag is not None:
            thick = by_tag(yard, layout.tag).thickness or known[layout.material_id].thickness
            for part in layout.placed:
                found[part.name].add(thick)
    spread = yard.settings.batch_spread
    warned: defaultdict[tuple[int, ...], list[str]] = defaultdict(list)
    for name, thick_ones in found.items():
        if max(thick_ones) - min(thick_ones) > spread:
            warned[tuple(sorted(thick_ones))].append(name)
    return tuple(_mixed(names, sizes, yard.unit) for sizes, names in warned.items())


def batch_stock(yard: Yard, job: Job, plan: StoredPlan) -> Iterator[str]:
    """Yield what the pieces of each batch measure: "batch dado (side, shelf): 17.4 to 17.5 mm stock"."""
    batch = {name: part.batch for name, part in named_parts(job) if part.batch}
    found: defaultdict[str, set[int | None]] = defaultdict(set)
    for layout in plan.layouts:
        thick = by_tag(yard, layout.tag).thickness if layout.tag else None
        for name in {batch[p.name] for p in layout.placed if p.name in batch}:
            found[name].add(thick)
    for name, every in found.items():
        known = sorted(t for t in every if t is not None)
        says = " to ".join(dict.fromkeys(caliper(t, yard.unit) for t in known[:1] + known[-1:]))
        parts = ", ".join(part for part, of in batch.items() if of == name)
        yield f"batch {name} ({parts}): " + (
            f"{says} stock" if known else "one delivery that nobody measured"
        )


def _mixed(names: list[str], sizes: tuple[int, ...], unit: Unit) -> str:
    what = ", ".join(names[:4]) + (f" and {count(len(names) - 4, 'other')}" if len(names) > 4 else "")
    *others, last = (caliper(t, unit) for t in sizes)
    first = ", ".join(text.removesuffix(f" {unit}") for text in others)
    return f"{what} from {first} and {last} stock: joints fit one of them."
