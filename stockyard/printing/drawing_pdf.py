"""Draw on a PDF page."""

from __future__ import annotations

from typing import Any

from stockyard.printing import fonts
from stockyard.printing.drawing import (
    Arrow,
    Badge,
    Box,
    Drawing,
    Fill,
    Line,
    Metrics,
    Region,
    Words,
    arrow_parts,
)
from stockyard.printing.output import MM, Paper
from stockyard.printing.page import SMALLEST

HATCH_STEP = 1.5 * MM


def face(*, bold: bool) -> str:
    """Return the typeface of bold or regular words."""
    return fonts.BOLD if bold else fonts.REGULAR


BROAD, SLIM = 27.0, 15.0
"""How broad the narrowest part of a board is drawn: for name and size in two lines, or in one."""


def paper_metrics(largest: float = 13, *, strip: float = BROAD) -> Metrics:
    """Return the metrics of paper in points, words no larger than `largest`, boards drawn for `strip`."""
    return Metrics(
        width=lambda text, size, bold: fonts.width(text, face(bold=bold), size),
        sizes=tuple(s for s in (16, 13, 11.5, 10.5, SMALLEST) if s <= largest),
        leading=1.22,
        margin=1.8,
        badge=SMALLEST,
        gap=0.6,
        padding=2.0,
        tip=4.5,
        gutter=7 * MM,
        foot=10,
        least=13 * MM,
        most=32 * MM,
        strip=strip,
        tall=1.0,
        may_turn=True,
        snap=lambda value: value,
    )


def draw_pdf(paper: Paper, drawing: Drawing, x: float, y: float) -> None:
    """Put `drawing` on the page with its lower left corner at (x, y)."""
    canvas = paper.canvas
    canvas.saveState()
    canvas.translate(x, y)
    for shape in drawing.shapes:
        if isinstance(shape, Box):
            _box(canvas, shape)
        elif isinstance(shape, Line):
            _line(canvas, shape)
        elif isinstance(shape, Arrow):
            _arrow(canvas, shape)
        elif isinstance(shape, Words):
            _words(canvas, shape)
        else:
            draw_badge(canvas, shape)
    canvas.restoreState()


def hatch(canvas: Any, at: Region, *, both_ways: bool = False) -> None:
    """Hatch a rectangle with lines rising to the right, and falling too where `both_ways`."""
    path = canvas.beginPath()
    path.rect(at.x, at.y, at.w, at.h)
    canvas.saveState()
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.setLineWidth(0.45)
    lines = canvas.beginPath()
    start = at.x - at.h
    for i in range(int((at.w + at.h) / HATCH_STEP) + 2):
        lines.moveTo(start + i * HATCH_STEP, at.y)
        lines.lineTo(start + i * HATCH_STEP + at.h, at.y + at.h)
        if both_ways:
            lines.moveTo(start + i * HATCH_STEP, at.y + at.h)
            lines.lineTo(start + i * HATCH_STEP + at.h, at.y)
    canvas.drawPath(lines, stroke=1, fill=0)
    canvas.restoreState()


def _box(canvas: Any, box: Box) -> None:
    canvas.setFillGray(0 if box.fill is Fill.BLACK else 1)
    canvas.rect(box.at.x, box.at.y, box.at.w, box.at.h, stroke=0, fill=1)
    canvas.setFillGray(0)
    if box.fill in (Fill.HATCH, Fill.CROSS):
        hatch(canvas, box.at, both_ways=box.fill is Fill.CROSS)
    canvas.setLineWidth(box.weight)
    canvas.setDash([4, 2] if box.broken else [])
    canvas.rect(box.at.x, box.at.y, box.at.w, box.at.h, stroke=1, fill=0)
    canvas.setDash([])


def _line(canvas: Any, line: Line) -> None:
    canvas.setLineWidth(line.weight)
    canvas.line(line.x1, line.y1, line.x2, line.y2)
    if line.dot:
        canvas.circle(line.x2, line.y2, 1.1, stroke=0, fill=1)


def _arrow(canvas: Any, arrow: Arrow) -> None:
    canvas.setLineWidth(1.3)
    shaft, heads = arrow_parts(arrow)
    canvas.line(*shaft)
    for head in heads:
        path = canvas.beginPath()
        path.moveTo(*head[0])
        path.lineTo(*head[1])
        path.lineTo(*head[2])
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)


def _words(canvas: Any, words: Words) -> None:
    name, at = face(bold=words.bold), words.at
    text = fonts.check(words.text, name)
    canvas.setFont(name, words.size)
    step = at.w if words.turned else at.h
    base = (step - fonts.CAP_HEIGHT * words.size) / 2
    if not words.turned:
        canvas.drawString(at.x, at.y + base, text)
        return
    canvas.saveState()
    canvas.translate(at.x + at.w - base, at.y)
    canvas.rotate(90)
    canvas.drawString(0, 0, text)
    canvas.restoreState()


def draw_badge(canvas: Any, badge: Badge) -> None:
    """Draw a badge with its point, as on the drawing and beside the step it stands for."""
    at = badge.body
    canvas.setFillGray(0 if badge.black else 1)
    canvas.setLineWidth(0.7)
    canvas.roundRect(at.x, at.y, at.w, at.h, min(at.w, at.h) * 0.3, stroke=1, fill=1)
    if badge.point:
        tip, *foot = badge.point
        path = canvas.beginPath()
        path.moveTo(*tip)
        for corner in foot:
            path.lineTo(*corner)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)
    canvas.setFillGray(1 if badge.black else 0)
    text = fonts.check(badge.text, fonts.BOLD)
    canvas.setFont(fonts.BOLD, badge.size)
    canvas.drawCentredString(at.x + at.w / 2, at.y + (at.h - fonts.CAP_HEIGHT * badge.size) / 2, text)
    canvas.setFillGray(0)
