"""Labels from the yard: pieces become edge labels, the parts of a plan part labels."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from stockyard.desk.allowances import rough_words
from stockyard.desk.band_words import band_words
from stockyard.desk.cards import drawn_parts
from stockyard.desk.papers import DONE, is_cut, lines_of, plan_to_print
from stockyard.desk.set_marks import copies_of, with_words
from stockyard.desk.stored_layouts import layouts_of
from stockyard.errors import Refused
from stockyard.flaws import flaws_text
from stockyard.kinds import Form
from stockyard.measure import show
from stockyard.printing.calibration import calibration_pdf
from stockyard.printing.edge_labels import Layout, place_edge_labels, remarks
from stockyard.printing.edge_strip import EdgeLabel
from stockyard.printing.layouts import layout_named
from stockyard.printing.outline_name import outline_name
from stockyard.printing.pages import draw
from stockyard.printing.papers import DrawnPart
from stockyard.printing.part_labels import Arrow, PartLabel, part_labels_pdf
from stockyard.printing.sheets import SheetLayout
from stockyard.settings import Settings
from stockyard.yard.jobs import named_parts
from stockyard.yard.labels import unlabelled
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, JobPart, Material, Piece, State, full_sheet
from stockyard.yard.pieces import at_place, by_tags
from stockyard.yard.planned import StoredLayout, StoredPlan
from stockyard.yard.store import Yard

_GONE = (State.CUT, State.GONE)


def pieces_to_label(
    yard: Yard, tags: Sequence[str] = (), at: Sequence[str] = (), *, unprinted: bool = False
) -> tuple[Piece, ...]:
    """Return the pieces named by tag or place, each once; named none, those whose label was never printed.

    `unprinted` keeps only such of the named ones too.

    Raises:
        BadInput: no such tag or place.
        Refused: a piece is cut or gone, or none is left to print.
    """
    named = [*by_tags(yard, tags), *(p for place in at for p in at_place(yard, place))]
    gone = next((p for p in named if p.state in _GONE), None)
    if gone is not None:
        raise Refused(f"piece {gone.tag} is {gone.state}: it has no edge to label")
    if not named and not tags and not at:
        named, unprinted = list(unlabelled(yard)), True
    chosen = {p.tag: p for p in named if not (unprinted and p.labelled)}
    if not chosen:
        raise Refused("every label was printed already" if unprinted else "there is no piece to label")
    return tuple(chosen.values())


def edge_labels_of(yard: Yard, pieces: Iterable[Piece]) -> tuple[EdgeLabel, ...]:
    """Return the edge label of each piece; a thickness not measured on the piece is its material's."""
    known = {m.id: m for m in materials(yard)}
    return tuple(edge_label(piece, known[piece.material_id], yard) for piece in pieces)


def edge_label(piece: Piece, material: Material, yard: Yard) -> EdgeLabel:
    """Return the edge label of one piece."""
    return EdgeLabel(
        tag=piece.tag,
        full=full_sheet(piece, material),
        board=material.form is Form.BOARD,
        length=piece.length,
        width=piece.width,
        material=material.name,
        thickness_name=material.thickness_name,
        measured_thickness=piece.thickness or material.thickness,
        unit=yard.unit,
        grain=material.grain,
        finest=yard.settings.fence,
        flaws=flaws_text(piece.flaws, yard.unit),
    )


def edge_labels_printed(
    yard: Yard, pieces: Sequence[Piece], layout: Layout, *, start: int = 1
) -> tuple[bytes, list[str]]:
    """Return the edge labels of `pieces` as a PDF, and the remarks on them.

    Raises:
        BadInput: a label that cannot be read on this layout.
    """
    settings = yard.settings
    placed = place_edge_labels(edge_labels_of(yard, pieces), layout, start=start, dpi=settings.printer_dpi)
    pdf = draw(placed, "Edge labels", settings.printer_dpi, _nudge(settings, layout))
    return pdf, remarks(placed, layout)


def part_labels_printed(
    yard: Yard, job: Job, layout: Layout, *, start: int = 1, cards: Collection[int] | None = None
) -> tuple[bytes, int]:
    """Return the part labels of the plan of `job` that stands or finished it as a PDF, and how many.

    `cards` are the numbers of the cards whose parts get one, None for all.

    Raises:
        Refused: the job has no plan that holds, it gives no part, or all its parts are cut.
        BadInput: a label that cannot be read on this layout.
    """
    plan = plan_to_print(yard, job)
    if plan is None or plan.state == "broken":
        raise Refused(f"job {job.name} has no plan that holds", "no plan", {"job": job.name})
    labels = part_labels_of(yard, job, plan, cards)
    if not labels:
        gives = any(layout.placed for layout in plan.layouts)
        why = f"every part of job {job.name} is cut" if gives else f"the plan of job {job.name} gives no part"
        raise Refused(f"{why}: there is no label to print")
    nudge = _nudge(yard.settings, layout)
    pdf = part_labels_pdf(labels, layout, start=start, nudge=nudge, dpi=yard.settings.printer_dpi)
    return pdf, len(labels)


def shop_layout(yard: Yard, name: str | None = None) -> Layout:
    """Return the label layout of that name, or the one in the shop's settings."""
    settings = yard.settings
    return layout_named(name or settings.label, settings.own_label, settings.unit)


def calibration_of(yard: Yard, layout: Layout) -> bytes:
    """Return the calibration page of a layout with the correction in force."""
    return calibration_pdf(layout, yard.unit, _nudge(yard.settings, layout))


def _nudge(settings: Settings, layout: Layout) -> tuple[int, int]:
    """Return the correction for label sheets; tape and rolls feed themselves."""
    return (settings.label_right, settings.label_down) if isinstance(layout, SheetLayout) else (0, 0)


def part_labels_of(
    yard: Yard, job: Job, plan: StoredPlan, cards: Collection[int] | None = None
) -> tuple[PartLabel, ...]:
    """Return a label for every part that `plan` still has to give, in the order of its pieces.

    Copies of a part are numbered as on the cut cards; a plan that is done is printed whole.
    """
    lines, wanted = lines_of(yard, job, plan), dict(named_parts(job))
    known = {m.id: m for m in materials(yard)}
    layouts = layouts_of(plan.layouts)
    labels = []
    sets = copies_of(job, plan, yard.settings)
    parts_of = drawn_parts(layouts, lines, plan.layouts)
    for stored, drawn, copies in zip(plan.layouts, parts_of, sets, strict=True):
        if plan.state != DONE and is_cut(yard, plan, stored):
            continue
        if cards is not None and stored.number not in cards:
            continue
        material = known[stored.material_id]
        for part in with_words(drawn, copies):
            labels.append(_part_label(yard, job, stored, material, wanted[part.line], part))
    return tuple(labels)


def _part_label(
    yard: Yard, job: Job, stored: StoredLayout, material: Material, part: JobPart, drawn: DrawnPart
) -> PartLabel:
    finished = part.finished_length or part.length, part.finished_width or part.width
    cut = part.length, part.width
    return PartLabel(
        job=part.job or job.name,
        part=part.name,
        length=finished[0],
        width=finished[1],
        unit=yard.unit,
        finest=yard.settings.fence,
        piece=stored.tag or "",
        k=drawn.number,
        n=drawn.of,
        bands=part.bands,
        grain=_arrow(drawn, material),
        stuff=material.title,
        cut=cut if cut != finished else None,
        band=band_words(part, yard.unit),
        matched=drawn.matched,
        then=_then(part, yard),
        shaped=bool(part.outline),
        outline=outline_name(part.outline),
    )


def _then(part: JobPart, yard: Yard) -> str:
    """Say what a part is milled to after the saw; its trimmed size only where the label's is another one."""
    words = rough_words(part, yard.unit, yard.settings.fence)
    shown = (part.finished_length or part.length, part.finished_width or part.width)
    if shown != part.trimmed or not words:
        return words
    planed = part.final_thickness
    return (
        f"plane to {show(planed, yard.unit, mark=True, finest=yard.settings.fence)}"
        if planed
        else "trim later"
    )


def _arrow(part: DrawnPart, material: Material) -> Arrow:
    """Return how the grain runs on the part as it is really cut: pieces lie with their length along it."""
    if not material.grain:
        return Arrow.NONE
    return Arrow.ACROSS if part.turned else Arrow.ALONG
