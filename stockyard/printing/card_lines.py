"""The kinds of line under the drawing of a cut card, each knowing its height."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from stockyard.printing import fonts
from stockyard.printing.drawing import Badge, Region, Toward
from stockyard.printing.drawing_pdf import draw_badge
from stockyard.printing.figures import draw_figure, fitting_size
from stockyard.printing.output import Paper
from stockyard.printing.page import (
    SMALLEST,
    bold,
    chalk_triangle,
    plain,
    tick_box,
    warning_sign,
    whole,
    wrap,
    write_lines,
)
from stockyard.printing.step_rows import StepRow

NUMBER = 54.0
FENCE = 104.0
FIGURE = 27.0
"""The size of a fence figure: the largest thing on a card, 7 mm high, read at two metres."""

WORDS = plain(SMALLEST)
STRONG = bold(11.5)
CAUTION = bold(10.5)
AIR = 4.0
_BOX = 29.0
_TIP = 5.5
SETTING = 64.0


class Line(Protocol):
    """Something of a known height that draws itself downward from `top`."""

    def height(self, width: float) -> float:
        """Return the height it takes in a column of `width`."""

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it."""


@dataclass(frozen=True, slots=True)
class HeadLine:
    """A few bold words over what follows."""

    text: str

    def height(self, width: float) -> float:  # noqa: ARG002
        """Return the height it takes in a column of `width`."""
        return 20.0

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it with a rule under it."""
        paper.text(x, top - 13.5, self.text, fonts.BOLD, 10.5)
        paper.canvas.setLineWidth(0.8)
        paper.canvas.line(x, top - 17, x + width, top - 17)


@dataclass(frozen=True, slots=True)
class NoteLine:
    """Plain words, with a letter of the drawing before them where `mark` is set."""

    text: str
    mark: str = ""

    def height(self, width: float) -> float:
        """Return the height it takes in a column of `width`."""
        return len(wrap(self.text, WORDS, width - self._indent)) * WORDS.step + 2

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it."""
        lines = wrap(self.text, WORDS, width - self._indent)
        if self.mark:
            write_lines(paper, x, top, [self.mark], bold(WORDS.size))
        write_lines(paper, x + self._indent, top, lines, WORDS)

    @property
    def _indent(self) -> float:
        return 22.0 if self.mark else 0.0


@dataclass(frozen=True, slots=True)
class LeftoverLine:
    """A leftover: a box to tick, its new tag, its size, the place it goes to, what to trim next time."""

    tag: str
    size: str
    place: str
    factory: str = ""

    def height(self, width: float) -> float:
        """Return the height it takes in a column of `width`."""
        return 21.0 + len(self._below(width)) * WORDS.step

    @property
    def _where(self) -> str:
        return f"to {self.place}" if self.place else "to the rack"

    def _in_one(self, width: float) -> bool:
        return 90 + WORDS.width(self.size) + 8 + STRONG.width(self._where) <= width

    def _below(self, width: float) -> list[str]:
        lines = [] if self._in_one(width) else wrap(self._where, STRONG, width - 90)
        return [*lines, *(wrap(self.factory, WORDS, width - 90) if self.factory else [])]

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it."""
        tick_box(paper.canvas, x + 1, top - 16, 11)
        paper.text(x + 19, top - 15, self.tag or "new tag", fonts.BOLD, 14)
        paper.text(x + 90, top - 14, self.size, WORDS.face, WORDS.size)
        if self._in_one(width):
            paper.text(x + width, top - 14, self._where, STRONG.face, STRONG.size, align="right")
        write_lines(paper, x + 90, top - 18, self._below(width), WORDS)


def fence_box(
    paper: Paper, x: float, top: float, figure: str, *, small: tuple[str, ...], said: str, set_it: bool
) -> None:
    """Draw where the fence goes: white on black when it must be set, outlined when it stands or is a trim.

    `said` stands before the figure; `small` below the box.
    """
    canvas, wide = paper.canvas, FENCE - 2
    aside = WORDS.width(said) + 5 if said else 0.0
    size = fitting_size(figure, FIGURE, wide - 8 - aside)
    canvas.setLineWidth(1.2)
    canvas.setFillGray(0 if set_it else 1)
    canvas.rect(x, top - _BOX, wide, _BOX, stroke=1, fill=1)
    canvas.setFillGray(1 if set_it else 0)
    if said:
        paper.text(x + 4, top - _BOX / 2 - 3.5, said, WORDS.face, WORDS.size)
    base = top - _BOX / 2 - size * fonts.CAP_HEIGHT / 2
    draw_figure(paper, x + aside + (wide - aside) / 2, base, figure, size)
    canvas.setFillGray(0)
    for n, text in enumerate(small):
        paper.text(x + wide / 2, top - _BOX - 10 - 11.5 * n, text, WORDS.face, WORDS.size, align="centre")


@dataclass(frozen=True, slots=True)
class StepLine:
    """One cut: its number, what to set, what to take, what comes out, what to mind.

    `toward` is where the fence lies in the drawing.
    """

    row: StepRow
    toward: Toward

    def height(self, width: float) -> float:
        """Return the height it takes in a column of `width`."""
        takes, gives, grave = self._texts(width)
        words = len(takes) * WORDS.step + len(gives) * STRONG.step
        words += sum(len(lines) for lines in grave) * CAUTION.step
        words += len(self._mark(width)) * CAUTION.step
        left = _BOX + 11.5 * max(len(self._small), 1 if self.row.times > 1 else 0)
        return max(words, left) + 2 * AIR

    @property
    def _small(self) -> tuple[str, ...]:
        return (self.row.exact,) if self.row.exact else ()

    @property
    def _setting(self) -> str:
        return f"setting {self.row.setting}" if self.row.setting else ""

    def _texts(self, width: float) -> tuple[list[str], list[str], list[list[str]]]:
        room, row = width - NUMBER - FENCE - 8, self.row
        takes = wrap(
            f"{row.takes} {whole(row.size)}, {row.at_fence}",
            WORDS,
            room - self._word_room - (SETTING if self._setting else 0),
        )
        gives = wrap(f"→ {row.keeps}; rest {row.rest}", STRONG, room)
        if len(gives) > 1:
            gives = [*wrap(f"→ {row.keeps};", STRONG, room), *wrap(f"rest {row.rest}", STRONG, room)]
        if row.must_measure:
            gives += wrap(row.must_measure, STRONG, room)
        return takes, gives, [wrap(text, CAUTION, room - 14) for text in row.grave]

    def _mark(self, width: float) -> list[str]:
        return wrap(self.row.mark, CAUTION, width - NUMBER - FENCE - 22) if self.row.mark else []

    @property
    def _word_room(self) -> float:
        return STRONG.width(self.row.word) + 6

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it over a thin rule."""
        takes, gives, grave = self._texts(width)
        row = self.row
        self._number(paper, x, top - AIR)
        said = "off" if row.trim else row.stays or ("about" if row.rough else "")
        fence_box(
            paper, x + NUMBER, top - AIR, row.figure, small=self._small, said=said,
            set_it=not (row.trim or row.stays),
        )  # fmt: skip
        left, y = x + NUMBER + FENCE + 8, top - AIR
        if row.mark:
            chalk_triangle(paper.canvas, left, y - CAUTION.step + 2, 10.5)
            y = write_lines(paper, left + 14, y, self._mark(width), CAUTION)
        write_lines(paper, left, y, [row.word], STRONG)
        paper.text(x + width, y - 10, self._setting, WORDS.face, WORDS.size, align="right")
        y = write_lines(paper, left + self._word_room, y - 1, takes, WORDS)
        y = write_lines(paper, left, y, gives, STRONG)
        for lines in grave:
            warning_sign(paper.canvas, left, y - CAUTION.step + 2, 10.5)
            y = write_lines(paper, left + 14, y, lines, CAUTION)
        bottom = top - self.height(width)
        paper.canvas.setLineWidth(0.35)
        paper.canvas.line(x, bottom, x + width, bottom)

    def _number(self, paper: Paper, x: float, top: float) -> None:
        """Draw the number with its point toward the fence, as it stands in the drawing."""
        style = bold(13).shrunk(self.row.numbers, NUMBER - 10 - 2 * _TIP)
        wide, high = max(style.width(self.row.numbers) + 8, 20.0), 20.0
        level = self.toward in (Toward.LEFT, Toward.RIGHT)
        # The point takes its room on its own side; the ground of the number stays where it is.
        left = x if self.toward is Toward.LEFT else x + _TIP
        low = top - _BOX / 2 - high / 2 - (_TIP if self.toward is Toward.LOWER else 0)
        at = Region(left, low, wide + (_TIP if level else 0), high + (0 if level else _TIP))
        draw_badge(paper.canvas, Badge(at, self.row.numbers, style.size, True, self.toward, _TIP))
        if self.row.times > 1:
            text = f"{self.row.times} cuts"
            paper.text(x + _TIP, top - _BOX - 10, text, WORDS.face, WORDS.size)
