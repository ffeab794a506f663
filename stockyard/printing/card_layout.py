"""How a cut card fills its room: the drawing, the cuts under it, the notes beside it or in two columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.printing.card_lines import HeadLine, LeftoverLine, Line, NoteLine, StepLine
from stockyard.printing.drawing import Toward
from stockyard.printing.drawing_pdf import BROAD, SLIM, paper_metrics
from stockyard.printing.page import whole
from stockyard.printing.papers import CutCard
from stockyard.printing.piece_drawing import PieceDrawing, draw_piece
from stockyard.printing.step_rows import (
    band_notes,
    drawn_side,
    factory_text,
    known_damage,
    light_cautions,
    names_note,
    no_cuts,
    size_text,
    step_rows,
)

HEAD = 48.0
COLUMN_GAP = 16.0
# Between the last cut and the notes under it.
NOTES_GAP = 4.0
# Notes stand beside a drawing that leaves them this much.
LEAST_ASIDE = 200.0
# So many parts called out by letters do not ask for a larger drawing; nothing is drawn larger than this.
FEW_CALLED = 2
LARGEST = 540.0
# On less than a page, a drawing is this high or twice as wide.
LEAST_DRAWING = 140.0
# How much of its height a card may give to the drawing: the most that leaves the cuts room.
SHARES = (0.55, 0.45, 0.35)
WHOLE_PAGE = (0.6, 0.5, 0.42, 0.34)
# The share of a card that goes on over the page whatever its drawing, and where that spares a cut going on.
OVER_PAGES, SMALL = 0.42, 0.34
# What letters stand for keeps to so much of what the drawing of such a card leaves.
FOR_LETTERS = 0.2
# So much more height a card may take for its leftovers to stay together.
TOGETHER = 36.0
# Over the leftovers, on each page anew.
PUT_BACK = HeadLine("Label and put back")


@dataclass(frozen=True, slots=True)
class Laid:
    """A card fitted into a slot's width and height: its drawing, its cuts, and its notes.

    The notes stand `beside` the drawing where they fit, else in two `columns` under the cuts; `spill` is what
    goes on over the page; `used` is the height it takes.
    """

    card: CutCard
    drawing: PieceDrawing
    beside: tuple[Line, ...]
    steps: tuple[Line, ...]
    columns: tuple[tuple[Line, ...], ...]
    spill: tuple[Line, ...]
    used: float


def lay(card: CutCard, width: float, height: float, *, must_fit: bool) -> Laid | None:
    """Return the card fitted into `width` x `height`, None when it must fit and does not."""
    room = height - HEAD
    for strip in (BROAD, SLIM):
        for share in SHARES if must_fit else WHOLE_PAGE:
            laid = _lay(card, width, room, share, strip)
            if not laid.spill and not (must_fit and _too_small(laid)):
                return laid
        if not laid.drawing.remark:  # drawn to scale it comes out the same
            break
    if must_fit:
        return None
    # Rather a smaller drawing than a last cut over the page.
    large, small = (_lay(card, width, room, share) for share in (OVER_PAGES, SMALL))
    return small if _cuts_go_on(large) and not _cuts_go_on(small) else large


def _cuts_go_on(laid: Laid) -> bool:
    return any(isinstance(line, StepLine) for line in laid.spill)


def _lay(card: CutCard, width: float, room: float, share: float, strip: float = BROAD) -> Laid:
    """Drawing over the whole width, the cuts under it, then the notes in two columns.

    What the letters on the drawing stand for comes before all other notes, and on the page of the drawing.
    """
    drawing = draw_piece(card, width, room * share, paper_metrics(strip=strip))
    left = room - drawing.drawing.height
    aside = width - drawing.drawing.width - COLUMN_GAP
    steps = _steps(card, drawing)
    notes = [*_letters(drawing), *_notes(card, drawing), *_back(card, drawing)]
    beside = aside >= LEAST_ASIDE and height_of(notes, aside) + 6 <= drawing.drawing.height
    first, notes = (tuple(notes), []) if beside else ((), notes)
    cuts = height_of(steps, width)
    if cuts > left:
        letters = _all_letters(drawing)
        if drawing.called and not beside and letters.height(width) <= left * FOR_LETTERS:
            steps = [letters, *steps]
            notes = notes[len(drawing.called) :]
        fit, used = 0, 0.0
        while used + steps[fit].height(width) <= left:
            used += steps[fit].height(width)
            fit += 1
        return Laid(card, drawing, first, tuple(steps[:fit]), (), (*steps[fit:], *notes), HEAD + room)
    column = (width - COLUMN_GAP) / 2
    columns, spill = level(notes, column, left - cuts - NOTES_GAP)
    under = max(height_of(lines, column) for lines in columns)
    used = HEAD + drawing.drawing.height + cuts + (NOTES_GAP + under if under else 0.0)
    return Laid(card, drawing, first, tuple(steps), columns, spill, used)


def _too_small(laid: Laid) -> bool:
    """Whether it is hard to read, or calls out by letters much that a larger drawing would name."""
    drawing = laid.drawing.drawing
    if drawing.height < LEAST_DRAWING and drawing.width < LEAST_DRAWING * 2:
        return True
    called = len(laid.drawing.called)
    if called <= FEW_CALLED:
        return False
    largest = draw_piece(laid.card, LARGEST, LARGEST, paper_metrics())
    return called > FEW_CALLED + len(largest.called)


def _steps(card: CutCard, drawing: PieceDrawing) -> list[Line]:
    if not card.steps:
        return [HeadLine("No saw cuts"), NoteLine(no_cuts(card))]
    rows = step_rows(card, turned=drawing.turned)
    return [StepLine(row, Toward(drawn_side(row.edge, turned=drawing.turned))) for row in rows]


def _notes(card: CutCard, drawing: PieceDrawing) -> list[Line]:
    texts = [
        *known_damage(card),
        *band_notes(card),
        *(light_cautions(card) if card.steps else ()),
        *(names_note(card, turned=drawing.turned) if card.steps else ()),
    ]
    return [NoteLine(text, mark="•") for text in texts]


def _back(card: CutCard, drawing: PieceDrawing) -> list[Line]:
    if not card.leftovers:
        return [NoteLine("Nothing goes back to the rack.")]
    lines: list[Line] = [
        LeftoverLine(
            left.tag,
            size_text(left.dx, left.dy, card.unit, card.finest),
            left.place,
            factory_text(left.factory, turned=drawing.turned),
        )
        for left in card.leftovers
    ]
    return [PUT_BACK, *lines]


def _letters(drawing: PieceDrawing) -> list[Line]:
    return [NoteLine(f"{c.name}  {c.size}", mark=c.letter) for c in drawing.called]


def _all_letters(drawing: PieceDrawing) -> Line:
    """Return in one note what all letters stand for, where a line for each has no room."""
    return NoteLine("; ".join(whole(f"{c.letter}: {c.name}  {c.size}") for c in drawing.called))


def level(
    lines: list[Line], width: float, height: float
) -> tuple[tuple[tuple[Line, ...], ...], tuple[Line, ...]]:
    """Fill two columns as level as they go: that reads better than one full and one short.

    What goes back stays together in the second where that takes little more height.
    """
    columns, spill = _leveled(lines, width, height)
    back = lines.index(PUT_BACK) if PUT_BACK in lines else 0
    apart = tuple(lines[:back]), tuple(lines[back:])
    used = max(height_of(column, width) for column in apart)
    least = max(height_of(column, width) for column in columns)
    if back and not spill and used <= min(height, least + TOGETHER):
        return apart, ()
    return columns, spill


def _leveled(
    lines: list[Line], width: float, height: float
) -> tuple[tuple[tuple[Line, ...], ...], tuple[Line, ...]]:
    for share in (0.5, 0.6, 0.7, 0.85):
        columns, spill = _into_columns(lines, width, max(height * share, height_of(lines, width) / 2))
        if not spill and max(height_of(column, width) for column in columns) <= height:
            return columns, spill
    return _into_columns(lines, width, height)


def _into_columns(
    lines: list[Line], width: float, height: float
) -> tuple[tuple[tuple[Line, ...], ...], tuple[Line, ...]]:
    columns: list[tuple[Line, ...]] = []
    for _ in range(2):
        take, used = 0, 0.0
        while take < len(lines) and used + lines[take].height(width) <= height:
            used += lines[take].height(width)
            take += 1
        # A heading never stands alone at the foot of a column.
        if 0 < take < len(lines) and isinstance(lines[take - 1], HeadLine):
            take -= 1
        columns.append(tuple(lines[:take]))
        lines = lines[take:]
    return tuple(columns), tuple(lines)


def height_of(lines: Sequence[Line], width: float) -> float:
    """Return the height of lines under each other in a column of `width`."""
    return sum(line.height(width) for line in lines)
