"""What a label is made of: words, black shapes, thin lines and codes, in millimetres.

A design is a list of marks in its own frame (origin lower left). `put` draws them on a page, upright
or turned by 180 degrees, with every code moved onto the grid of the printer's dots.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from stockyard.printing import fonts
from stockyard.printing.codes import Code, dot
from stockyard.printing.output import MM, Paper

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Word:
    """Text with its base line starting at (x, y), its capitals `cap` high; `white` on a black shape."""

    x: float
    y: float
    text: str
    face: str
    cap: float
    white: bool = False


@dataclass(frozen=True, slots=True)
class Shape:
    """A filled black polygon."""

    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """A thin line, dashed where it is to be cut or folded."""

    start: Point
    end: Point
    weight: float = 0.2
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Printed:
    """A code with its lower left bar at (x, y), modules `module` wide, Code 128 `height` high."""

    x: float
    y: float
    code: Code
    module: float
    height: float


Mark = Word | Shape | Line | Printed


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a design lies on its page: its lower left corner, its size, and whether it is turned."""

    x: float
    y: float
    width: float
    height: float
    turned: bool = False

    def point(self, x: float, y: float) -> Point:
        """Return a place of the design on the page, in millimetres."""
        if self.turned:
            return self.x + self.width - x, self.y + self.height - y
        return self.x + x, self.y + y


def box(x: float, y: float, width: float, height: float) -> Shape:
    """Return a filled rectangle."""
    return Shape(((x, y), (x + width, y), (x + width, y + height), (x, y + height)))


def natural(text: str, face: str) -> float:
    """Return the width of `text` whose capitals are 1 high.

    Raises:
        fonts.MissingGlyph: a character that `face` does not hold.
    """
    return fonts.width(text, face, 1 / fonts.CAP_HEIGHT)


def put(paper: Paper, marks: Iterable[Mark], frame: Frame, dpi: int) -> None:
    """Draw `marks` on the page of `paper`."""
    for mark in marks:
        if isinstance(mark, Word):
            _put_word(paper.canvas, mark, frame)
        elif isinstance(mark, Shape):
            _put_shape(paper.canvas, [frame.point(*p) for p in mark.points])
        elif isinstance(mark, Line):
            _put_line(paper.canvas, mark, frame)
        else:
            _put_code(paper, mark, frame, dpi)


def _put_word(canvas: Any, word: Word, frame: Frame) -> None:
    text = fonts.check(word.text, word.face)
    x, y = frame.point(word.x, word.y)
    sign = -1 if frame.turned else 1
    line = canvas.beginText()
    line.setTextTransform(sign, 0, 0, sign, x * MM, y * MM)
    line.setFont(word.face, word.cap * MM / fonts.CAP_HEIGHT)
    line.setFillGray(1 if word.white else 0)
    line.textOut(text)
    canvas.drawText(line)


def _put_shape(canvas: Any, points: Sequence[Point]) -> None:
    path = canvas.beginPath()
    path.moveTo(points[0][0] * MM, points[0][1] * MM)
    for x, y in points[1:]:
        path.lineTo(x * MM, y * MM)
    path.close()
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


def _put_line(canvas: Any, line: Line, frame: Frame) -> None:
    (x0, y0), (x1, y1) = frame.point(*line.start), frame.point(*line.end)
    canvas.setLineWidth(line.weight * MM)
    canvas.setDash([d * MM for d in line.dashes])
    canvas.line(x0 * MM, y0 * MM, x1 * MM, y1 * MM)


def _put_code(paper: Paper, mark: Printed, frame: Frame, dpi: int) -> None:
    """Draw a code as one path, its corner on the dot grid counted from the page's top left."""
    code, module = mark.code, mark.module
    high = mark.height if code.rows == 1 else module
    wide, tall = code.columns * module, code.rows * high
    x0, y0 = frame.point(mark.x, mark.y)
    x1, y1 = frame.point(mark.x + wide, mark.y + tall)
    step, page_height = dot(dpi), paper.size[1] / MM
    left = round(min(x0, x1) / step) * step
    bottom = page_height - round((page_height - max(y0, y1)) / step) * step - tall
    canvas = paper.canvas
    canvas.saveState()
    canvas.setFillGray(0)
    if frame.turned:
        canvas.transform(-module * MM, 0, 0, -high * MM, (left + wide) * MM, (bottom + tall) * MM)
    else:
        canvas.transform(module * MM, 0, 0, high * MM, left * MM, bottom * MM)
    path = canvas.beginPath()
    for x, y, width, height in code.bars:
        path.rect(x, y, width, height)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.restoreState()
