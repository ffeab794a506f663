"""Cut cards: one piece each, half a page where it fits, the drawing above the numbered cuts.

No letter is smaller than `page.SMALLEST`; the fence figure is the largest thing on a card.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.measure import show
from stockyard.printing import fonts
from stockyard.printing.card_layout import (
    COLUMN_GAP,
    HEAD,
    NOTES_GAP,
    PUT_BACK,
    Laid,
    height_of,
    lay,
    level,
)
from stockyard.printing.card_lines import LeftoverLine, Line, StepLine
from stockyard.printing.cautions import AT_THE_SAW
from stockyard.printing.drawing_pdf import draw_pdf
from stockyard.printing.output import Paper
from stockyard.printing.page import MARGIN, SMALLEST, bold, page_size, plain, wrap, write_lines
from stockyard.printing.papers import CutCard
from stockyard.printing.step_rows import (
    size_text,
)

GAP = 12.0
# What the caution at the foot takes of the page, besides the margin it stands in.
FOOT = 8.0


@dataclass(frozen=True, slots=True)
class Slot:
    """The rectangle on the page that a card may fill."""

    x: float
    top: float
    width: float
    height: float


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
            columns, rest = level(lines, (slot.width - COLUMN_GAP) / 2, top - bottom)
            assert len(rest) < len(lines) or top < slot.top - HEAD, "a line is higher than a page"
            _draw_columns(paper, columns, slot, top)
            top -= max(height_of(column, (slot.width - COLUMN_GAP) / 2) for column in columns)
            lines = list(rest)
        used = slot.top - top
    return used


def _draw(paper: Paper, laid: Laid, slot: Slot) -> None:
    more = "more on the next page" if laid.spill else ""
    _head(paper, laid.card, slot, ", ".join(word for word in (more, laid.drawing.remark) if word))
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
    # The name of the job stands last: only that may be cut short, it is on the job sheet too.
    facts = (remark, f"kerf {show(card.kerf, card.unit, mark=True)}", card.job)
    small, right = " · ".join(fact for fact in facts if fact), slot.x + slot.width
    dated = plain(SMALLEST).width(card.date) + 8
    paper.text(right, slot.top - 28.5, card.date, fonts.REGULAR, SMALLEST, align="right")
    plain(SMALLEST).write(paper, x, slot.top - 28.5, small, right - dated - x)
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
