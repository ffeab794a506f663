"""A cut card for a terminal: drawing, letters, steps and leftovers as lines of text."""

from __future__ import annotations

from collections.abc import Iterator

from stockyard.measure import show
from stockyard.printing.drawing_text import draw_text, plain_signs, terminal_metrics
from stockyard.printing.papers import CutCard
from stockyard.printing.piece_drawing import PieceDrawing, draw_piece, size_text
from stockyard.printing.step_rows import StepRow, light_cautions, names_note, no_cuts, step_rows


def card_text(card: CutCard, width: int, height: int, *, ascii_only: bool = False) -> str:
    """Return the card in lines of up to `width` columns, its drawing at most `height` rows high.

    Raises:
        BadInput: the steps of the card contradict each other.
    """
    drawing = draw_piece(card, width - 1, height, terminal_metrics())
    text = draw_text(drawing.drawing, ascii_only=ascii_only)
    lines = [*_head(card, drawing.remark), text.rstrip("\n"), *_tail(card, drawing)]
    whole = "\n".join(lines) + "\n"
    return plain_signs(whole) if ascii_only else whole


def _head(card: CutCard, remark: str) -> Iterator[str]:
    size = size_text(card.length, card.width, card.unit)
    what = f"{card.material}  {'FULL ' if card.full else ''}{size}"
    yield f"{card.tag or 'BUY'}  {what}  {card.place}  (card {card.number} of {card.of})"
    if remark:
        yield f"drawing: {remark}"


def _tail(card: CutCard, drawing: PieceDrawing) -> Iterator[str]:
    for c in drawing.called:
        yield f"  {c.letter}  {c.name}  {c.size}" + c.which
    rows = step_rows(card)
    numbers = max((len(row.numbers) for row in rows), default=0)
    figures = max((len(row.figure) for row in rows), default=0)
    for row in rows:
        yield from _step(row, numbers, figures)
    for text in (*light_cautions(card), *names_note(card, turned=drawing.turned)):
        yield f"  {text}"
    if not rows:
        yield f"  no saw cuts: {no_cuts(card)}"
    for left in card.leftovers:
        size = size_text(left.dx, left.dy, card.unit)
        yield f"  back: {left.tag or 'leftover'}  {size}" + (f"  to {left.place}" if left.place else "")
    if rows:
        yield f"  kerf {show(card.kerf, card.unit, mark=True)}"


def _step(row: StepRow, numbers: int, figures: int) -> Iterator[str]:
    said = "off" if row.trim else "stays" if row.stays else "set"
    fence = f"{said:>5} {row.figure:>{figures}}" + "".join(f" ({text})" for text in row.small)
    times = f"  ({row.times} cuts)" if row.times > 1 else ""
    yield (
        f"  {row.numbers:>{numbers}}  {row.word.lower():<9} {fence}  {row.takes}  {row.size}"
        f"  → {row.keeps}, rest {row.rest}{times}"
    )
    for text in row.grave:
        yield f"  {'':>{numbers}}  !! {text}"
