"""Edge labels on label sheets, tape and rolls: as high as the edge carries, or a flag over a thin edge."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from math import ceil

from stockyard.errors import BadInput
from stockyard.printing.codes import dot
from stockyard.printing.edge_strip import LEAST_MATERIAL, LEAST_TAG, EdgeLabel, Room, design
from stockyard.printing.fonts import BOLD, REGULAR
from stockyard.printing.marks import Frame, Line, Mark, Shape, Word, box, natural
from stockyard.printing.pages import Design, Placed, draw, millimetres, on_cell, on_own_page
from stockyard.printing.sheets import SheetLayout
from stockyard.printing.tapes import TAPES, RollLayout, TapeLayout

Layout = SheetLayout | TapeLayout | RollLayout

FLAG_UP_TO = 6.6
"""Thickness in millimetres up to which an edge is too thin to read: every 1/4 in sheet, and below."""

TALLEST = 25.4
_SIDE = 1.5
_TAPE_END = 2.0
_FOLD_MARGIN = 0.8
# Paper bent over a corner takes up a little more than the thickness.
_BEND = 0.4
_TALLEST_PANEL = 16.0
_CUT = (2.0, 1.2)
_FOLD = (0.3, 1.1)


def printed_height(thickness: float) -> float:
    """Return how high a label on an edge of `thickness` may be: a ninth less, at least 1 mm less."""
    return thickness - max(1.0, thickness / 9)


def edge_labels_pdf(
    labels: Sequence[EdgeLabel],
    layout: Layout,
    *,
    start: int = 1,
    nudge: tuple[int, int] = (0, 0),
    dpi: int = 203,
) -> bytes:
    """Return the PDF of `labels` in the order given (on several tapes: narrow tapes first).

    `start` is the first label of a part-used sheet; `nudge` (ticks right, ticks down) corrects the printer.

    Raises:
        BadInput: nothing to print, no such start, a label that cannot be read on this layout (named).
        fonts.MissingGlyph: a character the typefaces lack.
    """
    return draw(place_edge_labels(labels, layout, start=start, dpi=dpi), "Edge labels", dpi, nudge)


def place_edge_labels(
    labels: Sequence[EdgeLabel], layout: Layout, *, start: int = 1, dpi: int = 203
) -> list[Placed]:
    """Return where each label goes; arguments and errors as `edge_labels_pdf`."""
    if not labels:
        raise BadInput("there are no labels to print")
    if isinstance(layout, SheetLayout):
        cells = layout.cells(len(labels), start)
        size = millimetres(layout.width), millimetres(layout.height)
        return [
            on_cell(cell, layout, _on_cell(label, *size, die_cut=layout.die_cut, dpi=dpi))
            for cell, label in zip(cells, labels, strict=True)
        ]
    if isinstance(layout, TapeLayout):
        designs = sorted((_on_tape(label, layout, dpi) for label in labels), key=lambda d: d.height)
    else:
        designs = [_on_roll(label, layout, dpi) for label in labels]
    return [on_own_page(page, one) for page, one in enumerate(designs)]


def remarks(placed: Sequence[Placed], layout: Layout) -> list[str]:
    """Return what a person must know before printing: which tape when, which labels have no code."""
    said = []
    if isinstance(layout, TapeLayout) and len(layout.tapes) > 1:
        for width, group in groupby(placed, key=lambda p: p.design.height):
            pages = [p.page + 1 for p in group]
            which = f"pages {pages[0]} to {pages[-1]}" if len(pages) > 1 else f"page {pages[0]}"
            said.append(f"{width:g} mm tape: {which}")
    bare = [p.design.name for p in placed if not p.design.coded]
    if bare:
        more = f" and {len(bare) - 8} more" if len(bare) > 8 else ""
        said.append(f"no code fits the labels {', '.join(bare[:8])}{more}: type those tags")
    return said


def _on_cell(label: EdgeLabel, width: float, height: float, *, die_cut: bool, dpi: int) -> Design:
    thickness = millimetres(label.measured_thickness)
    if thickness <= FLAG_UP_TO:
        made = _flag(label, width - 2 * _SIDE, _SIDE, height, outer_margin(height / 2), dpi)
    else:
        made = _plain(label, width, min(height, printed_height(thickness), TALLEST), dpi)
    if made.height > height - 0.3 and die_cut:
        return made
    # The label lies at the top of its cell, so that one cut sets it free.
    waste = height - made.height
    cuts: list[Mark] = [cut_line(width, 0.0), *_scissors(waste)]
    if not die_cut:
        cuts.append(cut_line(width, -waste))
    return Design(
        label.tag, width, made.height, (*made.pieces, (Frame(0, 0, width, 0), tuple(cuts))), made.coded
    )


def _on_tape(label: EdgeLabel, layout: TapeLayout, dpi: int) -> Design:
    thickness = millimetres(label.measured_thickness)
    tape = layout.for_edge(thickness, printed_height(thickness))
    if tape is None:
        tape = layout.widest
        if thickness >= TAPES[0].width:
            raise BadInput(
                f"edge label {label.tag}: a tape of {tape.width:g} mm hangs over its edge of "
                f"{thickness:.1f} mm; choose a narrower one, or the layout 'tape' for the widest that fits"
            )
        margin = (tape.width - tape.printable) / 2
        return _in_whole_dots(_flag(label, None, _TAPE_END, tape.width, margin, dpi), dpi)
    above = (tape.width - tape.printable) / 2
    strip = design(label, Room(None, tape.printable, _TAPE_END, above), dpi)
    frame = Frame(_TAPE_END, above, strip.width, tape.printable)
    width, coded = strip.width + 2 * _TAPE_END, strip.code is not None
    return _in_whole_dots(Design(label.tag, width, tape.width, ((frame, strip.marks),), coded), dpi)


def _in_whole_dots(made: Design, dpi: int) -> Design:
    """Return a label whose length is whole dots: a page of 907.5 would be stretched, and its code with it."""
    return replace(made, width=ceil(made.width / dot(dpi)) * dot(dpi))


def _on_roll(label: EdgeLabel, layout: RollLayout, dpi: int) -> Design:
    thickness = millimetres(label.measured_thickness)
    side = (layout.width - layout.printable) / 2
    if thickness <= FLAG_UP_TO:
        height = 2 * _TALLEST_PANEL + thickness + _BEND
        return _flag(label, layout.printable, side, height, outer_margin(_TALLEST_PANEL), dpi)
    made = _plain(label, layout.width, min(printed_height(thickness), TALLEST), dpi, side)
    waste = layout.least_feed - made.height
    if waste <= 0:
        return made
    cuts: tuple[Mark, ...] = (cut_line(layout.width, 0.0), *_scissors(waste))
    lifted = [(Frame(f.x, f.y + waste, f.width, f.height, f.turned), marks) for f, marks in made.pieces]
    pieces = (*lifted, (Frame(0, waste, layout.width, 0), cuts))
    return Design(label.tag, layout.width, layout.least_feed, pieces, made.coded)


def outer_margin(height: float) -> float:
    """Return the white kept at the upper and lower edge of a label for what the printer is off."""
    return min(max(0.08 * height, 0.5), 1.2)


def _plain(label: EdgeLabel, width: float, height: float, dpi: int, side: float = _SIDE) -> Design:
    margin = outer_margin(height)
    strip = design(label, Room(width - 2 * side, height - 2 * margin, side, margin), dpi)
    frame = Frame(side, margin, width - 2 * side, height - 2 * margin)
    return Design(label.tag, width, height, ((frame, strip.marks),), strip.code is not None)


def _flag(
    label: EdgeLabel, width: float | None, side: float, height: float, margin: float, dpi: int
) -> Design:
    """Return a label that folds over the edge: a panel for each face, the edge itself between them.

    The upper panel stands on its head, so that both read upright with the piece on edge.
    `margin` is the unprinted white above and below the whole label.
    """
    edge = millimetres(label.measured_thickness) + _BEND
    panel = min((height - edge) / 2, _TALLEST_PANEL)
    inner = panel - margin - _FOLD_MARGIN
    if inner < 4.4:
        least = 2 * (4.4 + margin + _FOLD_MARGIN) + edge
        raise BadInput(
            f"edge label {label.tag}: an edge of {millimetres(label.measured_thickness):.1f} mm needs a flag "
            f"{least:.0f} mm high and this layout has {height:.1f}; choose another layout"
        )
    strip = design(label, Room(width, inner, side, min(margin, _FOLD_MARGIN)), dpi)
    wide, whole, total = strip.width, strip.width + 2 * side, 2 * panel + edge
    pieces = (
        (Frame(side, margin, wide, inner), strip.marks),
        (Frame(side, panel, wide, edge), tuple(_edge_marks(label, wide, edge))),
        (Frame(side, total - margin - inner, wide, inner, True), strip.marks),
        (Frame(0, panel, whole, edge), tuple(Line((0, y), (whole, y), 0.15, _FOLD) for y in (0.0, edge))),
    )
    return Design(label.tag, whole, total, pieces, strip.code is not None)


def _edge_marks(label: EdgeLabel, width: float, height: float) -> Iterator[Mark]:
    """Yield what shows on the thin edge: the tag, between two bars (full) or two short wedges if no board.

    On an edge too thin for letters that can be read there is no tag, under 1 mm nothing at all.
    """
    low, high = 0.7, height - 0.7
    cap = min((high - low) / 1.3, LEAST_TAG)
    if high - low < 0.5:
        return
    half = 0.0
    if cap >= LEAST_MATERIAL:
        half = cap * natural(label.tag, BOLD) / 2
        yield Word(width / 2 - half, (low + high - cap) / 2 + 0.1 * cap, label.tag, BOLD, cap)
        half += 1.5
    for sign in () if label.board else (-1, 1):
        near, far = width / 2 + sign * half, width / 2 + sign * width / 2
        if label.full:
            yield box(min(near, far), low, abs(far - near), high - low)
        else:
            yield Shape(((near, low), (near, high), (near + (far - near) / 4, low)))


def cut_line(width: float, y: float) -> Line:
    """Return the dashed line along which a label is cut off."""
    return Line((0, y), (width, y), 0.15, _CUT)


def _scissors(waste: float) -> list[Word]:
    """Return the scissors under a cut line, where there is room for them."""
    return [Word(_SIDE, -3.2, "✂", REGULAR, 2.4)] if waste >= 4.5 else []
