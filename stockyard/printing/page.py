"""What every page of a job shares: its size, its margins, wrapped words and a few plain signs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from stockyard.errors import BadInput
from stockyard.printing import codes, fonts
from stockyard.printing.output import INCH, MM, Paper
from stockyard.printing.words import NO_BREAK, unbroken

SIZES = {"letter": (8.5 * INCH, 11 * INCH), "a4": (210 * MM, 297 * MM)}
"""Page sizes by name, width and height in points."""

MARGIN = 0.5 * INCH

LEAST_HEIGHT = 2.5
"""No capital or figure on a paper of the shop is lower than this, in millimetres."""

SMALLEST = 9.8
"""The type size in points whose capitals are that high: 9.8 x 0.729 is 7.14 points, 2.52 mm."""


def page_size(name: str) -> tuple[float, float]:
    """Return the width and height of a named page in points.

    Raises:
        BadInput: not letter or a4.
    """
    if name.lower() not in SIZES:
        raise BadInput(f"paper '{name[:40]}' is not known: use {' or '.join(SIZES)}")
    return SIZES[name.lower()]


@dataclass(frozen=True, slots=True)
class Style:
    """A typeface at a size in points."""

    face: str
    size: float

    def width(self, text: str) -> float:
        """Return how wide `text` prints."""
        return fonts.width(text, self.face, self.size)

    @property
    def step(self) -> float:
        """From one base line to the next."""
        return self.size * 1.22

    def shrunk(self, text: str, room: float, least: float = SMALLEST) -> Style:
        """Return this style, smaller where `text` would be wider than `room`, but at least `least`."""
        wide = self.width(text)
        return self if wide <= room else Style(self.face, max(least, self.size * room / wide * 0.999))

    def write(self, paper: Paper, x: float, y: float, text: str, room: float) -> float:
        """Write `text` in at most `room`: smaller, then cut short with a mark; return its width."""
        style, text = self.fitted(text, room)
        return paper.text(x, y, text, style.face, style.size)

    def fitted(self, text: str, room: float) -> tuple[Style, str]:
        """Return style and text no wider than `room`: smaller, then cut short with a mark."""
        style = self.shrunk(text, room)
        if style.width(text) > room:
            kept = next(n for n in range(len(text), -1, -1) if style.width(text[:n] + "…") <= room or not n)
            text = text[:kept].rstrip() + "…"
        return style, text


def bold(size: float) -> Style:
    """Return the bold face at `size` points."""
    return Style(fonts.BOLD, size)


def plain(size: float) -> Style:
    """Return the regular face at `size` points."""
    return Style(fonts.REGULAR, size)


def wrap(text: str, style: Style, room: float) -> list[str]:
    """Return `text` in lines no wider than `room`, broken at spaces, inside a word only when it must be.

    A no-break space (see `whole`) is never broken at and comes out as a plain one; neither is a figure, its
    fraction and its unit, nor a size.
    """
    lines: list[str] = []
    line = ""
    for word in unbroken(text).split(" "):
        longer = f"{line} {word}" if line else word
        if style.width(longer) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
        while style.width(word) > room and len(word) > 1:
            fits = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or style.width(word[:n]) <= room)
            lines.append(word[:fits])
            word = word[fits:]
        line = word
    return [done.replace(NO_BREAK, " ") for done in (*lines, line) if done]


def whole(text: str) -> str:
    """Return `text` so that `wrap` keeps it on one line."""
    return text.replace(" ", NO_BREAK)


def write_lines(paper: Paper, x: float, top: float, lines: Sequence[str], style: Style) -> float:
    """Write lines downward from `top`; return where the next thing may start."""
    drop = (style.step + style.size * fonts.CAP_HEIGHT) / 2
    for line in lines:
        paper.text(x, top - drop, line, style.face, style.size)
        top -= style.step
    return top


def tick_box(canvas: Any, x: float, y: float, size: float) -> None:
    """Draw an empty box to tick, its lower left corner at (x, y)."""
    canvas.setLineWidth(1.2)
    canvas.rect(x, y, size, size, stroke=1, fill=0)


def warning_sign(canvas: Any, x: float, y: float, size: float) -> None:
    """Draw a black triangle with a white bar and dot, `size` wide, standing on `y`."""
    high = size * 0.92
    path = canvas.beginPath()
    path.moveTo(x, y)
    path.lineTo(x + size, y)
    path.lineTo(x + size / 2, y + high)
    path.close()
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.setFillGray(1)
    canvas.rect(x + size * 0.45, y + high * 0.3, size * 0.1, high * 0.36, stroke=0, fill=1)
    canvas.circle(x + size / 2, y + high * 0.16, size * 0.07, stroke=0, fill=1)
    canvas.setFillGray(0)


def chalk_triangle(canvas: Any, x: float, y: float, size: float) -> None:
    """Draw an open triangle, `size` wide, standing on `y`: the mark that a joiner chalks on a face."""
    path = canvas.beginPath()
    path.moveTo(x + 0.6, y)
    path.lineTo(x + size - 0.6, y)
    path.lineTo(x + size / 2, y + size * 0.92)
    path.close()
    canvas.setLineWidth(1.2)
    canvas.drawPath(path, stroke=1, fill=0)


def draw_code(canvas: Any, tag: str, x: float, y: float, module: float) -> None:
    """Draw the QR code of `tag` from (x, y), the corner inside its quiet zone; `module` is points."""
    path = canvas.beginPath()
    for left, low, wide, high in codes.square(tag).bars:
        path.rect(x + left * module, y + low * module, wide * module, high * module)
    canvas.drawPath(path, stroke=0, fill=1)


def person(canvas: Any, x: float, y: float, high: float) -> float:
    """Draw somebody standing at `x`, `high` tall; return where the next one stands."""
    head = high * 0.18
    body = high * 0.5
    canvas.circle(x + body / 2, y + high - head, head, stroke=0, fill=1)
    canvas.roundRect(x, y, body, high - 2.3 * head, body * 0.34, stroke=0, fill=1)
    return x + body * 1.25


def cart(canvas: Any, x: float, y: float, high: float) -> None:
    """Draw a panel cart: a sheet standing on a low platform with two wheels."""
    wide = high * 1.5
    canvas.circle(x + wide * 0.25, y + high * 0.14, high * 0.14, stroke=0, fill=1)
    canvas.circle(x + wide * 0.75, y + high * 0.14, high * 0.14, stroke=0, fill=1)
    canvas.rect(x, y + high * 0.28, wide, high * 0.12, stroke=0, fill=1)
    canvas.setLineWidth(1)
    canvas.rect(x + wide * 0.14, y + high * 0.4, wide * 0.72, high * 0.56, stroke=1, fill=0)
