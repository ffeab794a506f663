"""Cut cards: one piece each, half a page where it fits, the drawing above the numbered cuts.

No letter is smaller than `page.SMALLEST`; the fence figure is the largest thing on a card.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.measure import show
from stockyard.printing import fonts
from stockyard.printing.card_lines import HeadLine, LeftoverLine, Line, NoteLine, StepLine
from stockyard.printing.cautions import AT_THE_SAW
from stockyard.printing.drawing import Toward
from stockyard.printing.drawing_pdf import draw_pdf, paper_metrics
from stockyard.printing.output import Paper
from stockyard.printing.page import MARGIN, SMALLEST, bold, page_size, plain, wrap, write_lines
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
GAP = 12.0
# What the caution at the foot takes of the page, besides the margin it stands in.
FOOT = 8.0
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
# The share of a card that goes on over the page whatever its drawing.
OVER_PAGES = 0.42
# Over the leftovers, on each page anew.
PUT_BACK = HeadLine("Label and put back")


@dataclass(frozen=True, slots=True)
class Slot:
    """The rectangle on the page that a card may fill."""

    x: float
    top: float
    width: float
    height: float


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


def print_cards(paper: Paper, cards: Sequence[CutCard], size: str) -> None:
    """Draw the cards in order, more than one to a page where they fit, the last page left open.

    Raises:
        BadInput: a name with a character the typefaces lack, a card whose steps contradict each other.
    """
    wide, high = page_size(size)
    full = Slot(MARGIN, high - MARGIN, wide - 2 * MARGIN, high - 2 * MARGIN - FOOT)
    free: Slot | None = None
    for n, card in enumerate(cards):
        laid = _fitting(card, full, free)
        if laid is None or free is None:
            if n:
                paper.next_page()
            _caution(paper, full)
            free = full
            laid = laid or _fitting(card, full, full)
        else:
            _fold_line(paper, full, free.top + GAP)
        if laid is None:
            whole = lay(card, full.width, full.height, must_fit=False)
            assert whole is not None
            used = _draw_over_pages(paper, whole, full)
            free = full
        else:
            _draw(paper, laid, free)
            used = laid.used
        used += 2 * GAP
        free = Slot(full.x, free.top - used, full.width, free.height - used)


def _fitting(card: CutCard, full: Slot, free: Slot | None) -> Laid | None:
    """Return the card in half a page or in what is free of this one, None when it needs a page of its own."""
    half = full.height / 2 - GAP
    heights = [half] if free is None or free.height > half else []
    heights += [free.height] if free is not None and HEAD < free.height < full.height else []
    return next((laid for height in heights if (laid := lay(card, full.width, height, must_fit=True))), None)


def cards_pdf(cards: Sequence[CutCard], size: str = "letter") -> bytes:
    """Return the cut cards of a job as one PDF; `size` is letter or a4."""
    paper = Paper(page_size(size), f"Cut cards: {cards[0].job}" if cards else "Cut cards")
    print_cards(paper, cards, size)
    return paper.finish()


def lay(card: CutCard, width: float, height: float, *, must_fit: bool) -> Laid | None:
    """Return the card fitted into `width` x `height`, None when it must fit and does not."""
    room = height - HEAD
    for share in SHARES if must_fit else WHOLE_PAGE:
        laid = _lay(card, width, room, share)
        if not laid.spill and not (must_fit and _too_small(laid)):
            return laid
    return None if must_fit else _lay(card, width, room, OVER_PAGES)


def _lay(card: CutCard, width: float, room: float, share: float) -> Laid:
    """Drawing over the whole width, the cuts under it, then the notes in two columns."""
    drawing = draw_piece(card, width, room * share, paper_metrics())
    left = room - drawing.drawing.height
    aside = width - drawing.drawing.width - COLUMN_GAP
    steps = _steps(card, drawing)
    notes = [*_notes(card, drawing), *_letters(drawing), *_back(card, drawing)]
    beside = aside >= LEAST_ASIDE and _height(notes, aside) + 6 <= drawing.drawing.height
    first, notes = (tuple(notes), []) if beside else ((), notes)
    cuts = _height(steps, width)
    if cuts > left:
        fit, used = 0, 0.0
        while used + steps[fit].height(width) <= left:
            used += steps[fit].height(width)
            fit += 1
        return Laid(card, drawing, first, tuple(steps[:fit]), (), (*steps[fit:], *notes), HEAD + room)
    column = (width - COLUMN_GAP) / 2
    columns, spill = _level(notes, column, left - cuts - NOTES_GAP)
    under = max(_height(lines, column) for lines in columns)
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


def _level(
    lines: list[Line], width: float, height: float
) -> tuple[tuple[tuple[Line, ...], ...], tuple[Line, ...]]:
    """Fill two columns as level as they go: that reads better than one full and one short."""
    for share in (0.5, 0.6, 0.7, 0.85):
        columns, spill = _into_columns(lines, width, max(height * share, _height(lines, width) / 2))
        if not spill and max(_height(column, width) for column in columns) <= height:
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


def _height(lines: Sequence[Line], width: float) -> float:
    return sum(line.height(width) for line in lines)


def _draw_over_pages(paper: Paper, laid: Laid, slot: Slot) -> float:
    """Draw a card and what goes on over the page; return the height used of the last page."""
    _draw(paper, laid, slot)
    used = laid.used
    lines = list(laid.spill)
    while lines:
        paper.next_page()
        _caution(paper, slot)
        _head(paper, laid.card, slot, "continued")
        top, bottom = slot.top - HEAD, slot.top - slot.height
        if isinstance(lines[0], LeftoverLine):
            lines.insert(0, PUT_BACK)
        while lines and isinstance(lines[0], StepLine) and top - lines[0].height(slot.width) >= bottom:
            top = _draw_lines(paper, [lines.pop(0)], slot.x, top, slot.width)
        if lines and not isinstance(lines[0], StepLine):
            columns, rest = _level(lines, (slot.width - COLUMN_GAP) / 2, top - bottom)
            assert len(rest) < len(lines) or top < slot.top - HEAD, "a line is higher than a page"
            _draw_columns(paper, columns, slot, top)
            top -= max(_height(column, (slot.width - COLUMN_GAP) / 2) for column in columns)
            lines = list(rest)
        used = slot.top - top
    return used


def _draw(paper: Paper, laid: Laid, slot: Slot) -> None:
    drawn = laid.drawing.remark and f"drawing: {laid.drawing.remark}"
    more = "more on the next page" if laid.spill else ""
    _head(paper, laid.card, slot, ", ".join(word for word in (more, drawn) if word))
    drawing = laid.drawing.drawing
    top = slot.top - HEAD - drawing.height
    aside = slot.width - drawing.width - COLUMN_GAP
    draw_pdf(paper, drawing, slot.x + (0 if laid.beside else (slot.width - drawing.width) / 2), top)
    _draw_lines(paper, laid.beside, slot.x + slot.width - aside, slot.top - HEAD - 6, aside)
    top = _draw_lines(paper, laid.steps, slot.x, top, slot.width)
    _draw_columns(paper, laid.columns, slot, top - NOTES_GAP)


def _draw_columns(paper: Paper, columns: Sequence[Sequence[Line]], slot: Slot, top: float) -> None:
    width = (slot.width - COLUMN_GAP) / 2
    for i, lines in enumerate(columns):
        _draw_lines(paper, lines, slot.x + i * (width + COLUMN_GAP), top, width)


def _draw_lines(paper: Paper, lines: Sequence[Line], x: float, top: float, width: float) -> float:
    for line in lines:
        line.draw(paper, x, top, width)
        top -= line.height(width)
    return top


def _head(paper: Paper, card: CutCard, slot: Slot, remark: str) -> None:
    """The tag on a black ground as on the edge of the piece, then what and from where."""
    canvas = paper.canvas
    tag = card.tag or "BUY"
    style = bold(25)
    block = style.width(tag) + 18
    canvas.setFillGray(0)
    canvas.rect(slot.x, slot.top - 34, block, 34, stroke=0, fill=1)
    canvas.setFillGray(1)
    paper.text(slot.x + 9, slot.top - 26, tag, style.face, style.size)
    canvas.setFillGray(0)
    count = f"card {card.number} of {card.of}"
    end = bold(11).width(count)
    paper.text(slot.x + slot.width, slot.top - 12, count, fonts.BOLD, 11, align="right")
    x, room = slot.x + block + 10, slot.width - block - 20 - end
    size = size_text(card.length, card.width, card.unit, card.finest)
    what = f"{card.material}   {'FULL  ' if card.full else ''}{size}"
    bold(14).write(paper, x, slot.top - 13, what, room)
    x += bold(12).write(paper, x, slot.top - 29, card.place, room * 0.5) + 10
    facts = (remark, f"kerf {show(card.kerf, card.unit, mark=True)}", card.job, card.date)
    small = " · ".join(fact for fact in facts if fact)
    plain(SMALLEST).write(paper, x, slot.top - 28.5, small, slot.x + slot.width - x)
    canvas.setLineWidth(1.6)
    canvas.line(slot.x, slot.top - 34, slot.x + slot.width, slot.top - 34)


def _caution(paper: Paper, slot: Slot) -> None:
    """The usual caution at the foot of the page, under the cards."""
    style = plain(SMALLEST)
    lines = wrap(AT_THE_SAW, style, slot.width)
    write_lines(paper, slot.x, slot.top - slot.height, lines, style)


def _fold_line(paper: Paper, slot: Slot, y: float) -> None:
    canvas = paper.canvas
    canvas.setLineWidth(0.5)
    canvas.setDash([2, 4])
    canvas.line(slot.x, y, slot.x + slot.width, y)
    canvas.setDash([])
