"""The rows of a pull list, each knowing its height."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from stockyard import figures
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit, show
from stockyard.printing.output import Paper
from stockyard.printing.page import (
    SMALLEST,
    bold,
    cart,
    draw_code,
    person,
    plain,
    tick_box,
    whole,
    wrap,
    write_lines,
)
from stockyard.printing.papers import BandLine, BuyLine, Lift, Lying, PullEntry, PullList
from stockyard.printing.step_rows import size_text

NOTHING = "Nothing to pull: what this job takes is off the racks already."
WALK = 93.0
"""Width of the column with the stations."""

MODULE = 1.0
ROW = 28.0
TAG = 26.0
CODE = 96.0
WORDS_AT = 124.0
LIFT = 134.0
WORDS, WHAT = plain(SMALLEST), bold(10.5)


def known_of(entry: PullEntry, unit: Unit) -> str:
    """Say how to know a piece, how thick it is as measured, and who sold it."""
    thick = f"{figures.caliper(entry.thickness, unit)} thick" if entry.thickness else ""
    sold = f"from {entry.supplier}" if entry.supplier else ""
    return "; ".join(text for text in (entry.tell_apart, thick, sold) if text)


class Sources:
    """The sources of the lifting advice, numbered as they come up."""

    def __init__(self, pull_list: PullList) -> None:
        lifts = [
            lift
            for stop in pull_list.stops
            for e in stop.entries
            for lift in (e.lift, *(o.lift for o in e.on_top))
        ]
        self._names = list(dict.fromkeys(lift.source for lift in lifts if lift.source))

    def mark(self, lift: Lift) -> str:
        """Return the number under which the source of `lift` stands at the foot, if there are several."""
        return f" ({self._names.index(lift.source) + 1})" if lift.source and len(self._names) > 1 else ""

    def lines(self) -> list[str]:
        """Return one line a source."""
        marks = [f"({n}) " for n in range(1, len(self._names) + 1)] if len(self._names) > 1 else [""]
        return [f"{mark}Lifting advice after {name}." for mark, name in zip(marks, self._names, strict=False)]


class Row(Protocol):
    """Something of a known height that draws itself downward from `top`."""

    def height(self, width: float) -> float:
        """Return the height it takes."""

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it."""


@dataclass(frozen=True, slots=True)
class EntryRow:
    """A piece to take: box, tag, code, size, how to know it, weight."""

    entry: PullEntry
    unit: Unit
    finest: int
    sources: Sources

    def height(self, width: float) -> float:
        """Return the height it takes."""
        what, tell, advice = self._texts(width)
        words = 4 + len(what) * WHAT.step + len(tell) * WORDS.step
        return max(ROW, words, 16 + len(advice) * WORDS.step)

    def _texts(self, width: float) -> tuple[list[str], list[str], list[str]]:
        e, room = self.entry, width - WORDS_AT - LIFT - 8
        size = size_text(e.length, e.width, self.unit, self.finest)
        named = ", ".join(text for text in (e.material, e.measured) if text)
        what = wrap(f"{'FULL ' if e.full else ''}{whole(size)} {named}", WHAT, room)
        advice = f"{e.lift.advice}{self.sources.mark(e.lift)}"
        return what, wrap(known_of(e, self.unit), WORDS, room), wrap(advice, WORDS, LIFT)

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it."""
        canvas, e = paper.canvas, self.entry
        what, tell, advice = self._texts(width)
        tick_box(canvas, x + 5, top - 22, 15)
        tag = bold(17).shrunk(e.tag, CODE - TAG - 6)
        paper.text(x + TAG, top - 20.5, e.tag, tag.face, tag.size)
        draw_code(canvas, e.tag, x + CODE + 4 * MODULE, top - 4 - 21 * MODULE, MODULE)
        y = write_lines(paper, x + WORDS_AT, top - 2, what, WHAT)
        write_lines(paper, x + WORDS_AT, y, tell, WORDS)
        _lift(paper, e.lift, advice, x + width - LIFT, top, self.unit)


def _lift(paper: Paper, lift: Lift, advice: list[str], x: float, top: float, unit: Unit) -> None:
    canvas = paper.canvas
    weight = "not weighed" if lift.weight is None else figures.weight(lift.weight, unit)
    style = bold(12)
    right = x + paper.text(x, top - 13, weight, style.face, style.size) + 7
    if lift.people is None:
        cart(canvas, right, top - 14.5, 12)
    elif lift.weight is not None:
        for _ in range(lift.people):
            right = person(canvas, right, top - 14.5, 12)
    write_lines(paper, x, top - 15, advice, WORDS)


@dataclass(frozen=True, slots=True)
class LiftOffRow:
    """What lies on top of the next entry, from the top down."""

    on_top: tuple[Lying, ...]
    unit: Unit
    sources: Sources

    def height(self, width: float) -> float:
        """Return the height it takes."""
        return (1 + len(self._lines(width))) * WORDS.step + 5

    @property
    def _order(self) -> str:
        count = len(self.on_top)
        return f"FIRST LIFT OFF {count}" + (", from the top down:" if count > 1 else ":")

    def _lines(self, width: float) -> list[str]:
        return wrap(self._text(), WORDS, width - TAG)

    def _text(self) -> str:
        groups: dict[str, list[str]] = {}
        for lying in self.on_top:
            groups.setdefault(lying.what, []).append(lying.tag)
        named = "; ".join(f"{what} {', '.join(tags)}" for what, tags in groups.items())
        known = [lying for lying in self.on_top if lying.lift.weight is not None]
        if not known:
            return named
        heaviest = max(known, key=lambda lying: lying.lift.weight or 0)
        each = "each" if len(self.on_top) > 1 else "weighs"
        most = {lying.lift.weight for lying in self.on_top}
        word = each if len(most) == 1 else "the heaviest"
        weight = figures.weight(heaviest.lift.weight or 0, self.unit)
        return f"{named} ({word} {weight}: {heaviest.lift.advice}{self.sources.mark(heaviest.lift)})"

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw the words beside a small stack, what is wanted black at its foot."""
        canvas = paper.canvas
        layers = min(len(self.on_top), 4)
        for i in range(layers + 1):
            canvas.setLineWidth(0.7)
            canvas.rect(x + 4, top - 7.5 - i * 3.4, 16, 2.2, stroke=1, fill=int(i == layers))
        y = write_lines(paper, x + TAG, top - 3, [self._order], bold(WORDS.size))
        write_lines(paper, x + TAG, y, self._lines(width), WORDS)


@dataclass(frozen=True, slots=True)
class PutBackRow:
    """What to do with what was lifted off."""

    text: str

    def height(self, width: float) -> float:
        """Return the height it takes."""
        return len(wrap(self.text, WORDS, width - TAG)) * WORDS.step + 7

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it after an empty box to tick."""
        tick_box(paper.canvas, x + 7, top - 14, 10)
        write_lines(paper, x + TAG, top - 3, wrap(self.text, WORDS, width - TAG), WORDS)


@dataclass(frozen=True, slots=True)
class BuyRow:
    """Full pieces to buy."""

    line: BuyLine
    unit: Unit
    finest: int

    def height(self, width: float) -> float:
        """Return the height it takes."""
        return 10 + len(self._lines(width)) * bold(11).step

    def _lines(self, width: float) -> list[str]:
        b = self.line
        text = f"{b.count} × {b.material} {whole(size_text(b.length, b.width, self.unit, self.finest))}"
        return wrap(text, bold(11), width - TAG - self._aside)

    @property
    def _offer(self) -> str:
        return ", ".join(
            text for text in (self.line.price and f"{self.line.price} each", self.line.supplier) if text
        )

    @property
    def _aside(self) -> float:
        return min(WORDS.width(self._offer), 200) + 10

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it."""
        canvas = paper.canvas
        tick_box(canvas, x + 5, top - 19, 13)
        write_lines(paper, x + TAG, top - 5, self._lines(width), bold(11))
        style, offer = WORDS.fitted(self._offer, 200)
        paper.text(x + width, top - 15, offer, style.face, style.size, align="right")


def band_text(line: BandLine, unit: Unit) -> str:
    """Write edge band to be had: whole decimetres or feet, rounded up, and how wide it has to be."""
    if unit is Unit.INCH:
        length = f"{-(-line.length // (12 * TICKS_PER_INCH))} ft"
    else:
        length = f"{-(-line.length // (100 * TICKS_PER_MM)) / 10:.1f} m"
    return f"{length} of {line.what}, {show(line.width, unit, mark=True)} wide or more"


@dataclass(frozen=True, slots=True)
class BandRow:
    """Edge band to have at hand."""

    line: BandLine
    unit: Unit

    def height(self, width: float) -> float:
        """Return the height it takes."""
        return 10 + len(self._lines(width)) * bold(11).step

    def _lines(self, width: float) -> list[str]:
        return wrap(band_text(self.line, self.unit), bold(11), width - TAG)

    def draw(self, paper: Paper, x: float, top: float, width: float) -> None:
        """Draw it."""
        tick_box(paper.canvas, x + 5, top - 19, 13)
        write_lines(paper, x + TAG, top - 5, self._lines(width), bold(11))
