"""The scale drawing of a cut card: parts, leftovers and waste of one piece, cuts numbered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf

from stockyard.measure import Unit, show
from stockyard.printing.drawing import (
    Arrow,
    Badge,
    Box,
    Drawing,
    Fill,
    Line,
    Metrics,
    Region,
    Row,
    Shape,
    Words,
    broken_up,
    fit,
    place,
)
from stockyard.printing.papers import CutCard, DrawnLeftover, DrawnPart
from stockyard.printing.replay import Area, blade_at, replay
from stockyard.wording import listed

# From this ratio of length to width on, a piece is drawn broader than it is.
LONG = 6


@dataclass(frozen=True, slots=True)
class Called:
    """What a letter on the drawing stands for; `copies` are the numbers beside it, one each time."""

    letter: str
    name: str
    size: str
    copies: tuple[str, ...]

    @property
    def which(self) -> str:
        """Which copies, or how many where they have no numbers; empty for one without a number."""
        numbers = listed([copy for copy in self.copies if copy])
        if numbers:
            return f"  (no. {numbers})"
        return f"  ({len(self.copies)} times)" if len(self.copies) > 1 else ""


@dataclass(frozen=True, slots=True)
class PieceDrawing:
    """The drawing, the letters used in it, and a remark on its scale (empty when true to scale).

    `turned` when the length stands upright.
    """

    drawing: Drawing
    called: tuple[Called, ...]
    remark: str
    turned: bool


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a piece lies on the drawing. `turned` puts its length upright (never mirrored)."""

    x: float
    y: float
    sx: float
    sy: float
    turned: bool
    width: int
    metrics: Metrics

    def region(self, area: Area) -> Region:
        """Return `area` (ticks on the piece) as it is drawn."""
        x, y, dx, dy = (
            (self.width - area.y - area.dy, area.x, area.dy, area.dx)
            if self.turned
            else (area.x, area.y, area.dx, area.dy)
        )
        snap = self.metrics.snap
        left, low = snap(self.x + x * self.sx), snap(self.y + y * self.sy)
        return Region(
            left, low, snap(self.x + (x + dx) * self.sx) - left, snap(self.y + (y + dy) * self.sy) - low
        )


def size_text(length: int, width: int, unit: Unit) -> str:
    """Write length × width as on every paper."""
    return f"{show(length, unit)} × {show(width, unit)}"


def in_mm(ticks: int) -> str:
    """Write a length in millimetres beside a figure in inches that had to be rounded."""
    return show(ticks, Unit.MM, mark=True)


def letter(index: int) -> str:
    """Return A, B ... Z, AA, AB ... for 0, 1, ..."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def draw_piece(card: CutCard, width: float, height: float, metrics: Metrics) -> PieceDrawing:
    """Draw the piece of `card` no larger than `width` x `height`, as large as it goes.

    Raises:
        BadInput: the steps of the card contradict each other.
    """
    frame, remark = _frame(card, width, height, metrics)
    whole = frame.region(Area(0, 0, card.length, card.width))
    sheet = _Sheet(card, frame, whole, metrics)
    sheet.outlines()
    sheet.name_things()
    sheet.grain()
    sheet.number_cuts()
    edge = metrics.gutter
    used = Drawing(whole.x + whole.w + edge, whole.y + whole.h + edge, tuple(sheet.shapes))
    return PieceDrawing(used, tuple(sheet.called.values()), remark, frame.turned)


def _frame(card: CutCard, width: float, height: float, metrics: Metrics) -> tuple[Frame, str]:
    edge, foot = metrics.gutter, metrics.gutter + _foot(metrics)
    room_w, room_h = width - 2 * edge - 1, (height - edge - foot - 1) * metrics.tall

    def scale(along: int, across: int) -> float:
        return min(room_w / along, room_h / across)

    lying, standing = scale(card.length, card.width), scale(card.width, card.length)
    turned = standing > 1.3 * lying
    s = standing if turned else lying
    across = card.length if turned else card.width
    # A board is drawn broader than it is, broad enough to write in its narrowest part.
    narrowest = min((p.dx if turned else p.dy for p in card.parts), default=across)
    wanted = min(max(metrics.least, metrics.strip * across / narrowest), metrics.most)
    stretched = across * s < wanted * metrics.tall < room_h and across * LONG < (
        card.width if turned else card.length
    )
    sy = wanted * metrics.tall / across if stretched else s
    remark = ("length" if turned else "width") + " not to scale" if stretched else ""
    return Frame(edge, foot, s, sy / metrics.tall, turned, card.width, metrics), remark


def _foot(metrics: Metrics) -> float:
    """Return the height of the line under the piece that shows the grain."""
    return metrics.foot * metrics.leading


Thing = DrawnPart | DrawnLeftover


def _size_in_mm(thing: Thing) -> str:
    return f"{show(thing.dx, Unit.MM)} × {in_mm(thing.dy)}"


class _Sheet:
    """Collects the shapes of one drawing and keeps its letters from lying on each other."""

    def __init__(self, card: CutCard, frame: Frame, whole: Region, metrics: Metrics) -> None:
        self.card, self.frame, self.whole, self.metrics = card, frame, whole, metrics
        self.things: tuple[Thing, ...] = (*card.parts, *card.leftovers)
        self.shapes: list[Shape] = []
        self.taken: list[Region] = []
        self.called: dict[tuple[str, str], Called] = {}
        foot = _foot(metrics)
        edge = metrics.gutter
        self.canvas = Region(0, foot, whole.x + whole.w + edge, whole.y + whole.h + edge - foot)

    def outlines(self) -> None:
        """Hatch the piece, then lay the parts and the leftovers on it."""
        self.shapes.append(Box(self.whole, Fill.HATCH, 1.6))
        for part in self.card.parts:
            self.shapes.append(Box(self._region(part)))
        for leftover in self.card.leftovers:
            self.shapes.append(Box(self._region(leftover), broken=True))

    def name_things(self) -> None:
        """Write every name and size inside its outline, or call it out by a letter."""
        small = []
        for thing in sorted(self.things, key=self._reading_order):
            room = self._region(thing)
            fitted = fit(self._labels(thing), room, self.metrics)
            if fitted is None:
                small.append(thing)
                continue
            for words in place(fitted, room, self.metrics):
                self._put(words)
        letters = [(self._region(thing), self._call(thing)) for thing in small]
        for room, text in [pair for pair in letters if not self._letter_inside(*pair)]:
            self._letter_outside(room, text)

    def grain(self) -> None:
        """Draw the grain arrow under the piece, upright where the length stands."""
        m, p = self.metrics, self.whole
        if not self.card.grain:
            text = "no grain"
        else:
            text = "grain runs up and down" if self.frame.turned else "grain"
        wide, high = m.width(text, m.foot, True), m.foot * m.leading
        x = max(p.x + (p.w - wide) / 2, 0)
        self.shapes.append(Words(Region(x, 0, wide, high), text, m.foot, True))
        reach = min(6 * m.foot, p.x + p.w - x - wide - m.foot)
        if not self.card.grain or reach < 1.5 * m.foot:
            return
        gap, middle = 0.7 * m.foot, high / 2
        if self.frame.turned:
            for side in (x - gap - m.foot / 2, x + wide + gap + m.foot / 2):
                self.shapes.append(Arrow(side, 0, side, high))
            return
        self.shapes.append(Arrow(x - gap - reach, middle, x - gap, middle))
        self.shapes.append(Arrow(x + wide + gap, middle, x + wide + gap + reach, middle))

    def number_cuts(self) -> None:
        """Put the number of each cut on its line, where there is room."""
        areas = replay(self.card).areas
        for step in self.card.steps:
            whole = areas[step.piece]
            at = max(blade_at(step, self.card.kerf), 0) + self.card.kerf // 2
            rip = step.direction == "rip"
            line = (
                Area(whole.x, whole.y + at, whole.dx, 0) if rip else Area(whole.x + at, whole.y, 0, whole.dy)
            )
            self._number(str(step.number), self.frame.region(line))

    def _number(self, text: str, line: Region) -> None:
        m = self.metrics
        wide = m.width(text, m.badge, True) + 2 * m.padding
        high = m.badge * m.leading
        flat = line.w >= line.h
        for share, shift in ((1, 1), (0, -1), (1, -1), (0, 1), (0.5, 0), (0.25, 0), (0.75, 0)):
            # A line that ends on the edge of the piece has its number outside.
            x = line.x + line.w * share + (shift * wide * 0.5 if flat else 0) - wide / 2
            y = line.y + line.h * share + (0 if flat else shift * high * 0.5) - high / 2
            spot = Region(x, y, wide, high)
            if shift and self._leaves_piece(spot) == (not self._ends_at_edge(line, share, flat)):
                continue
            if self.canvas.holds(spot) and not any(
                spot.meets(other, self.metrics.gap) for other in self.taken
            ):
                self._put(Badge(spot, text, m.badge, True))
                return

    def _ends_at_edge(self, line: Region, share: float, flat: bool) -> bool:
        if flat:
            end = line.x + line.w * share
            return min(abs(end - self.whole.x), abs(end - self.whole.x - self.whole.w)) < 1.5
        end = line.y + line.h * share
        return min(abs(end - self.whole.y), abs(end - self.whole.y - self.whole.h)) < 1.5

    def _leaves_piece(self, spot: Region) -> bool:
        centre = Region(spot.x + spot.w / 2, spot.y + spot.h / 2, 0, 0)
        return not self.whole.holds(centre)

    def _region(self, thing: Thing) -> Region:
        return self.frame.region(Area(thing.x, thing.y, thing.dx, thing.dy))

    def _reading_order(self, thing: Thing) -> tuple[float, float]:
        region = self._region(thing)
        return (-round(region.y + region.h, 1), region.x)

    def _put(self, shape: Words | Badge) -> None:
        self.shapes.append(shape)
        self.taken.append(shape.at)

    def _labels(self, thing: Thing) -> Iterator[tuple[Row, ...]]:
        size = size_text(thing.dx, thing.dy, self.card.unit)
        if isinstance(thing, DrawnLeftover):
            title = thing.tag or "leftover"
            if thing.place:
                yield ((title, True), (size, False), (f"goes to {thing.place}", False))
                yield ((title, True), (size, False), (thing.place, False))
            yield ((title, True), (size, False))
            yield ((f"{title}  {size}", True),)
            return
        for lines in broken_up(thing.title):
            if "≈" in size and self.card.unit is Unit.INCH:
                yield (*((line, True) for line in lines), (size, False), (_size_in_mm(thing), False))
            yield (*((line, True) for line in lines), (size, False))
        yield ((f"{thing.title}  {size}", True),)

    def _call(self, thing: Thing) -> str:
        name = (thing.tag or "leftover") if isinstance(thing, DrawnLeftover) else thing.line
        size = size_text(thing.dx, thing.dy, self.card.unit)
        known = self.called.get((name, size)) or Called(letter(len(self.called)), name, size, ())
        copy = "" if isinstance(thing, DrawnLeftover) else thing.copy
        self.called[name, size] = replace(known, copies=(*known.copies, copy))
        return known.letter + copy

    def _letter_inside(self, room: Region, text: str) -> bool:
        m = self.metrics
        wide, high = m.width(text, m.badge, True), m.badge * m.leading
        if wide + m.margin > room.w or high > room.h:
            return False
        spot = Region(room.x + (room.w - wide) / 2, room.y + (room.h - high) / 2, wide, high)
        self._put(Words(spot, text, m.badge, True))
        return True

    def _letter_outside(self, room: Region, text: str) -> None:
        """Put the letter near by with a leader that crosses little writing; without room, nowhere."""
        m = self.metrics
        wide, high = m.width(text, m.badge, True) + 2 * m.padding, m.badge * m.leading
        cx, cy = room.x + room.w / 2, room.y + room.h / 2

        def far(spot: Region) -> float:
            return abs(spot.x + wide / 2 - cx) + abs(spot.y + high / 2 - cy)

        best, least = None, inf
        for spot in sorted(self._spots(room, wide, high), key=far):
            if far(spot) >= least:
                break
            if any(spot.meets(other, m.gap) for other in self.taken) or not self._clear(spot):
                continue
            cost = far(spot) + 10 * wide * self._crossed(cx, cy, spot.x + wide / 2, spot.y + high / 2)
            if cost < least:
                best, least = spot, cost
        if best is None:
            return
        self.shapes.append(Line(best.x + wide / 2, best.y + high / 2, cx, cy, dot=True))
        self._put(Badge(best, text, m.badge, False))

    def _clear(self, spot: Region) -> bool:
        """Whether a letter may stand there: beside the piece, or on its waste."""
        if not self.whole.meets(spot):
            return self.canvas.holds(spot)
        return self.whole.holds(spot) and not any(spot.meets(region) for region in self._useful)

    @cached_property
    def _useful(self) -> list[Region]:
        """The regions of all parts and leftovers."""
        return [self._region(thing) for thing in self.things]

    def _spots(self, room: Region, wide: float, high: float) -> Iterator[Region]:
        p, cx, cy = self.whole, room.x + room.w / 2, room.y + room.h / 2
        for k in range(-8, 9):
            for y in (p.y - high - 1, p.y + p.h + 1, room.y - 1.3 * high, room.y + room.h + 0.3 * high):
                yield Region(cx - wide / 2 + k * (wide + 1), y, wide, high)
            for x in (p.x - wide - 1, p.x + p.w + 1, room.x - 1.3 * wide, room.x + room.w + 0.3 * wide):
                yield Region(x, cy - high / 2 + k * (high + 1), wide, high)

    def _crossed(self, x1: float, y1: float, x2: float, y2: float) -> int:
        """Return how many writings a line between two points goes through."""
        return sum(other.cut_by(x1, y1, x2, y2) for other in self.taken)
