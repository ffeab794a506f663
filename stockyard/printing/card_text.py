"""A cut card for a terminal: drawing, letters, steps and leftovers as lines of text."""

from __future__ import annotations

from collections.abc import Iterator

from stockyard.measure import show
from stockyard.printing.drawing_text import draw_text, plain_signs, terminal_metrics
from stockyard.printing.papers import CutCard
from stockyard.printing.piece_drawing import PieceDrawing, draw_piece
from stockyard.printing.step_rows import (
    StepRow,
    factory_text,
    known_damage,
    light_cautions,
    names_note,
    no_cuts,
    size_text,
    step_rows,
)


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
    size = size_text(card.length, card.width, card.unit, card.finest)
    what = f"{card.material}  {'FULL ' if card.full else ''}{size}"
    yield f"{card.tag or 'BUY'}  {what}  {card.place}  (card {card.number} of {card.of})"
    if remark:
        yield f"drawing: {remark}"


def _tail(card: CutCard, drawing: PieceDrawing) -> Iterator[str]:
    for c in drawing.called:
        yield f"  {c.letter}  {c.name}  {c.size}"
    rows = step_rows(card, turned=drawing.turned)
    numbers = max((len(row.numbers) for row in rows), default=0)
    figures = max((len(row.figure) for row in rows), default=0)
    for row in rows:
        yield from _step(row, numbers, figures)
    for text in (*known_damage(card), *light_cautions(card), *names_note(card, turned=drawing.turned)):
        yield f"  {text}"
    if not rows:
        yield f"  no saw cuts: {no_cuts(card)}"
    for left in card.leftovers:
        size = size_text(left.dx, left.dy, card.unit, card.finest)
        yield f"  back: {left.tag or 'leftover'}  {size}" + (f"  to {left.place}" if left.place else "")
        if left.factory:
            yield f"        {factory_text(left.factory, turned=drawing.turned)}"
    if rows:
        yield f"  kerf {show(card.kerf, card.unit, mark=True)}"


def _step(row: StepRow, numbers: int, figures: int) -> Iterator[str]:
    said = "off" if row.trim else row.stays or ("about" if row.rough else "set")
    fence = f"{said:>5} {row.figure:>{figures}}" + (f" ({row.exact})" if row.exact else "")
    times = f"  ({row.times} cuts)" if row.times > 1 else ""
    if row.mark:
        yield f"  {'':>{numbers}}  {row.mark}"
    yield (
        f"  {row.numbers:>{numbers}}  {row.word.lower():<9} {fence}  {row.takes}  {row.size}, {row.at_fence}"
        f"  → {row.keeps}; rest {row.rest}{times}"
    )
    if row.must_measure:
        yield f"  {'':>{numbers}}  {row.must_measure}"
    for text in row.grave:
        yield f"  {'':>{numbers}}  !! {text}"
