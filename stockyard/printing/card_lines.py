"""The kinds of line under and beside the drawing of a cut card, each knowing its height."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from stockyard.printing import fonts
from stockyard.printing.output import Paper
from stockyard.printing.page import bold, plain, tick_box, warning_sign, whole, wrap, write_lines
from stockyard.printing.step_rows import StepRow

NUMBER = 28.0
FENCE = 67.0
WORDS = plain(8.6)
STRONG = bold(10)
CAUTION = bold(8.6)
AIR = 4.5


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
        return 19.0

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it with a rule under it."""
        paper.text(x, top - 12.5, self.text, fonts.BOLD, 9.5)
        paper.canvas.setLineWidth(0.8)
        paper.canvas.line(x, top - 16, x + width, top - 16)


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
        return 18.0 if self.mark else 0.0


@dataclass(frozen=True, slots=True)
class LeftoverLine:
    """A leftover: a box to tick, its new tag, its size, the place it goes to."""

    tag: str
    size: str
    place: str

    def height(self, width: float) -> float:
        """Return the height it takes in a column of `width`."""
        return 19.0 if self._in_one(width) else 31.0

    def _in_one(self, width: float) -> bool:
        return 86 + WORDS.width(self.size) + 8 + STRONG.width(self._where) <= width

    @property
    def _where(self) -> str:
        return f"to {self.place}" if self.place else "to the rack"

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it."""
        tick_box(paper.canvas, x + 1, top - 15, 10)
        paper.text(x + 18, top - 14, self.tag or "new tag", fonts.BOLD, 13)
        paper.text(x + 86, top - 13, self.size, WORDS.face, WORDS.size)
        if self._in_one(width):
            paper.text(x + width, top - 13, self._where, STRONG.face, STRONG.size, align="right")
        else:
            style = STRONG.shrunk(self._where, width - 86)
            paper.text(x + 86, top - 26, self._where, style.face, style.size)


@dataclass(frozen=True, slots=True)
class StepLine:
    """One cut: its number, what to set, what to take, what comes out, what to mind."""

    row: StepRow

    def height(self, width: float) -> float:
        """Return the height it takes in a column of `width`."""
        takes, gives, grave = self._texts(width)
        words = len(takes) * WORDS.step + len(gives) * STRONG.step
        words += sum(len(lines) for lines in grave) * CAUTION.step
        return max(words, 29.0 if self.row.times > 1 else 22.0, 22.0 + 8 * len(self.row.small)) + AIR

    def _texts(self, width: float) -> tuple[list[str], list[str], list[list[str]]]:
        room, row = width - NUMBER - FENCE - 6, self.row
        takes = wrap(f"{row.takes} {whole(row.size)}", WORDS, room - self._word_room)
        gives = wrap(f"→ {row.keeps}, rest {row.rest}", STRONG, room)
        if len(gives) > 1:
            gives = [*wrap(f"→ {row.keeps},", STRONG, room), *wrap(f"rest {row.rest}", STRONG, room)]
        return takes, gives, [wrap(text, CAUTION, room - 12) for text in row.grave]

    @property
    def _word(self) -> str:
        return self.row.word

    @property
    def _word_room(self) -> float:
        return CAUTION.width(self._word) + 5

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it over a thin rule."""
        takes, gives, grave = self._texts(width)
        self._number(paper, x, top - 4)
        self._fence(paper, x + NUMBER, top - 4)
        left, y = x + NUMBER + FENCE + 6, top - 2
        write_lines(paper, left, y, [self._word], CAUTION)
        y = write_lines(paper, left + self._word_room, y, takes, WORDS)
        y = write_lines(paper, left, y, gives, STRONG)
        for lines in grave:
            warning_sign(paper.canvas, left, y - CAUTION.step + 1.6, 9)
            y = write_lines(paper, left + 12, y, lines, CAUTION)
        bottom = top - self.height(width)
        paper.canvas.setLineWidth(0.35)
        paper.canvas.line(x, bottom + 1, x + width, bottom + 1)

    def _number(self, paper: Paper, x: float, top: float) -> None:
        canvas, text = paper.canvas, self.row.numbers
        style = bold(10.5).shrunk(text, NUMBER - 9, least=4.5)
        wide = max(style.width(text) + 7, 17)
        canvas.setFillGray(0)
        canvas.roundRect(x, top - 17, wide, 17, 6.5, stroke=0, fill=1)
        canvas.setFillGray(1)
        paper.text(
            x + wide / 2,
            top - 8.5 - style.size * fonts.CAP_HEIGHT / 2,
            text,
            style.face,
            style.size,
            align="centre",
        )
        canvas.setFillGray(0)
        if self.row.times > 1:
            paper.text(x, top - 25.5, f"{self.row.times} cuts", fonts.REGULAR, 7.2)

    def _fence(self, paper: Paper, x: float, top: float) -> None:
        """A setting to make is white on black; one that stays and a trim are outlined and say so."""
        canvas, row = paper.canvas, self.row
        wide, said = FENCE - 2, "off" if row.trim else "stays" if row.stays else ""
        aside = plain(7.2).width(said) + 4 if said else 0.0
        style = bold(15).shrunk(row.figure, wide - 6 - aside)
        canvas.setLineWidth(0.9)
        canvas.setFillGray(1 if said else 0)
        canvas.rect(x, top - 17, wide, 17, stroke=1, fill=1)
        canvas.setFillGray(0 if said else 1)
        if said:
            paper.text(x + 3, top - 11, said, fonts.REGULAR, 7.2)
        base = top - 8.5 - style.size * fonts.CAP_HEIGHT / 2
        paper.text(x + aside + (wide - aside) / 2, base, row.figure, style.face, style.size, align="centre")
        canvas.setFillGray(0)
        for n, text in enumerate(row.small):
            paper.text(x + wide / 2, top - 25 - 8 * n, text, fonts.REGULAR, 7.2, align="centre")
