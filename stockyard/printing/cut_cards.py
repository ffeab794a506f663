"""Cut cards: one piece each, half a page where it fits, drawing beside or above the numbered cuts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.measure import show
from stockyard.printing import fonts
from stockyard.printing.card_lines import HeadLine, LeftoverLine, Line, NoteLine, StepLine
from stockyard.printing.cautions import SAWING
from stockyard.printing.drawing_pdf import draw_pdf, paper_metrics
from stockyard.printing.output import Paper
from stockyard.printing.page import MARGIN, bold, page_size, plain, wrap, write_lines
from stockyard.printing.papers import CutCard
from stockyard.printing.piece_drawing import PieceDrawing, draw_piece, size_text
from stockyard.printing.step_rows import light_cautions, names_note, no_cuts, step_rows

HEAD = 46.0
GAP = 12.0
# What the cautions at the foot take of the page, besides the margin they stand in.
FOOT = 6.0
COLUMN_GAP = 16.0
# A drawing this many times as broad as high goes above the steps, not beside them.
WIDE = 3.2
# So many parts called out by letters do not ask for a larger drawing; nothing is drawn larger than this.
FEW_CALLED = 2
LARGEST = 540.0
# How much of its height a card may give to a drawing above the cuts: the most that leaves them room.
SHARES = (0.5, 0.35, 0.25)
# On a whole page the drawing stays broad; where the cuts go over the page all the same, it fills the width.
WHOLE_PAGE = (0.6, 0.5, 0.78)


@dataclass(frozen=True, slots=True)
class Slot:
    """The rectangle on the page that a card may fill."""

    x: float
    top: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Laid:
    """A card fitted into a slot's width and height: its drawing and its lines, column by column."""

    card: CutCard
    drawing: PieceDrawing
    beside: bool
    under: tuple[Line, ...]
    columns: tuple[tuple[Line, ...], ...]
    spill: tuple[Line, ...]


def print_cards(paper: Paper, cards: Sequence[CutCard], size: str) -> None:
    """Draw the cards in order, two to a page where they fit, each page ended by the caller's next one.

    Raises:
        BadInput: a name with a character the typefaces lack, a card whose steps contradict each other.
    """
    wide, high = page_size(size)
    full = Slot(MARGIN, high - MARGIN, wide - 2 * MARGIN, high - 2 * MARGIN - FOOT)
    half = (full.height - 2 * GAP) / 2
    upper = Slot(full.x, full.top, full.width, half)
    lower = Slot(full.x, full.top - half - 2 * GAP, full.width, half)
    free = [upper, lower]
    for n, card in enumerate(cards):
        small = lay(card, full.width, half, must_fit=True)
        if small is None or not free:
            if n and free != [upper, lower]:
                paper.next_page()
            free = [upper, lower]
        if free == [upper, lower]:
            _caution(paper, full)
        if small is None:
            whole = lay(card, full.width, full.height, must_fit=False)
            assert whole is not None
            _draw_over_pages(paper, whole, full)
            free = []
            continue
        slot = free.pop(0)
        if slot is lower:
            _fold_line(paper, full, full.top - half - GAP)
        _draw(paper, small, slot)


def cards_pdf(cards: Sequence[CutCard], size: str = "letter") -> bytes:
    """Return the cut cards of a job as one PDF; `size` is letter or a4."""
    paper = Paper(page_size(size), f"Cut cards: {cards[0].job}" if cards else "Cut cards")
    print_cards(paper, cards, size)
    return paper.finish()


def lay(card: CutCard, width: float, height: float, *, must_fit: bool) -> Laid | None:
    """Return the card fitted into `width` x `height`, None when it must fit and does not."""
    room = height - HEAD
    long, short = max(card.length, card.width), min(card.length, card.width)
    if not must_fit:
        return _above(card, width, room, WHOLE_PAGE)
    for way in [_above] if long > WIDE * short else [_beside, _above]:
        laid = way(card, width, room)
        if not (laid.spill or _too_small(laid)):
            return laid
    return None


def _too_small(laid: Laid) -> bool:
    """Whether much that a larger drawing would name is only called out by a letter."""
    called = sum(len(c.copies) for c in laid.drawing.called)
    if called <= FEW_CALLED:
        return False
    largest = draw_piece(laid.card, LARGEST, LARGEST, paper_metrics())
    return called > FEW_CALLED + sum(len(c.copies) for c in largest.called)


def _steps(card: CutCard, drawing: PieceDrawing) -> list[Line]:
    if not card.steps:
        return [HeadLine("No saw cuts"), NoteLine(no_cuts(card))]
    minded = [
        NoteLine(text, mark="•") for text in (*light_cautions(card), *names_note(card, turned=drawing.turned))
    ]
    return [*(StepLine(row) for row in step_rows(card)), *minded]


def _back(card: CutCard) -> list[Line]:
    if not card.leftovers:
        return [NoteLine("Nothing goes back to the rack.")]
    lines: list[Line] = [
        LeftoverLine(left.tag, size_text(left.dx, left.dy, card.unit), left.place) for left in card.leftovers
    ]
    return [HeadLine("Label and put back"), *lines]


def _letters(drawing: PieceDrawing) -> list[Line]:
    return [NoteLine(f"{c.name}  {c.size}{c.which}", mark=c.letter) for c in drawing.called]


def _beside(card: CutCard, width: float, room: float) -> Laid:
    """Drawing on the left with what goes back under it, the cuts on the right."""
    column = width * 0.48
    left = width - column - COLUMN_GAP
    back = _back(card)
    below = _height(back, left)
    drawing = draw_piece(card, left, min(room * 0.8, room - below), paper_metrics())
    under = [*_letters(drawing), *back]
    fits = drawing.drawing.height + _height(under, left) <= room and drawing.drawing.height > room * 0.25
    steps = _steps(card, drawing)
    good = fits and _height(steps, column) <= room
    return Laid(card, drawing, True, tuple(under), (tuple(steps),), () if good else tuple(steps))


def _above(card: CutCard, width: float, room: float, shares: Sequence[float] = SHARES) -> Laid:
    """Drawing over the whole width, lines under it in two columns; the drawing gives way first."""
    column = (width - COLUMN_GAP) / 2
    for share in shares:
        drawing = draw_piece(card, width, room * share, paper_metrics())
        left = room - drawing.drawing.height
        columns, spill = _level(_lines_above(card, drawing), column, left)
        if not spill:
            break
    return Laid(card, drawing, False, (), columns, spill)


def _lines_above(card: CutCard, drawing: PieceDrawing) -> list[Line]:
    return [*_steps(card, drawing), *_letters(drawing), *_back(card)]


def _level(
    lines: list[Line], width: float, height: float
) -> tuple[tuple[tuple[Line, ...], ...], tuple[Line, ...]]:
    """Fill two columns as level as they go: that reads better than one full and one short."""
    for share in (0.5, 0.6, 0.7, 0.85):
        columns, spill = _into_columns(lines, width, max(height * share, _height(lines, width) / 2))
        if not spill and _height(lines, width) <= 2 * height * share:
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


def _draw_over_pages(paper: Paper, laid: Laid, slot: Slot) -> None:
    _draw(paper, laid, slot)
    lines = list(laid.spill)
    while lines:
        paper.next_page()
        _caution(paper, slot)
        _head(paper, laid.card, slot, "continued")
        columns, rest = _into_columns(lines, (slot.width - COLUMN_GAP) / 2, slot.height - HEAD)
        assert len(rest) < len(lines), "a line is higher than a page"
        _draw_columns(paper, columns, slot, slot.top - HEAD)
        lines = list(rest)


def _draw(paper: Paper, laid: Laid, slot: Slot) -> None:
    _head(paper, laid.card, slot, laid.drawing.remark and f"drawing: {laid.drawing.remark}")
    drawing = laid.drawing.drawing
    top = slot.top - HEAD
    draw_pdf(paper, drawing, slot.x, top - drawing.height)
    if not laid.beside:
        _draw_columns(paper, laid.columns, slot, top - drawing.height)
        return
    column = slot.width * 0.48
    left = slot.width - column - COLUMN_GAP
    _draw_lines(paper, laid.under, slot.x, top - drawing.height, left)
    _draw_lines(paper, laid.columns[0], slot.x + left + COLUMN_GAP, top, column)


def _draw_columns(paper: Paper, columns: Sequence[Sequence[Line]], slot: Slot, top: float) -> None:
    width = (slot.width - COLUMN_GAP) / 2
    for i, lines in enumerate(columns):
        _draw_lines(paper, lines, slot.x + i * (width + COLUMN_GAP), top, width)


def _draw_lines(paper: Paper, lines: Sequence[Line], x: float, top: float, width: float) -> None:
    for line in lines:
        line.draw(paper, x, top, width)
        top -= line.height(width)


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
    end = bold(10).width(count)
    paper.text(slot.x + slot.width, slot.top - 12, count, fonts.BOLD, 10, align="right")
    x, room = slot.x + block + 10, slot.width - block - 20 - end
    what = f"{card.material}   {'FULL  ' if card.full else ''}{size_text(card.length, card.width, card.unit)}"
    bold(14).write(paper, x, slot.top - 13, what, room)
    x += bold(12).write(paper, x, slot.top - 29, card.place, room * 0.5) + 10
    facts = (f"kerf {show(card.kerf, card.unit, mark=True)}", card.job, card.date, remark)
    small = " · ".join(fact for fact in facts if fact)
    plain(8.6).write(paper, x, slot.top - 28.5, small, slot.x + slot.width - x)
    canvas.setLineWidth(1.6)
    canvas.line(slot.x, slot.top - 34, slot.x + slot.width, slot.top - 34)


def _caution(paper: Paper, slot: Slot) -> None:
    """The usual cautions at the foot of the page, under the cards."""
    style = plain(6.4)
    write_lines(paper, slot.x, slot.top - slot.height, wrap(SAWING, style, slot.width), style)


def _fold_line(paper: Paper, slot: Slot, y: float) -> None:
    canvas = paper.canvas
    canvas.setLineWidth(0.5)
    canvas.setDash([2, 4])
    canvas.line(slot.x, y, slot.x + slot.width, y)
    canvas.setDash([])
