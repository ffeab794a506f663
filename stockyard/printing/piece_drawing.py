"""The scale drawing of a cut card: parts, combs, leftovers, waste and damage of one piece, cuts numbered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import inf

from stockyard.printing.combs import Comb, comb_out
from stockyard.printing.cut_marks import edge_bars, number_cuts, set_triangles
from stockyard.printing.drawing import (
    Arrow,
    Badge,
    Box,
    Drawing,
    Fill,
    Line,
    Metrics,
    Region,
    Shape,
    Words,
    fit,
    place,
)
from stockyard.printing.drawn_words import Called, Thing, labels, letter, line_of, size_words, together
from stockyard.printing.frame import Frame, foot_of, frame_of
from stockyard.printing.papers import CutCard, DrawnLeftover, DrawnPart
from stockyard.printing.replay import Area
from stockyard.printing.step_rows import step_rows

# How much of its length a comb shows as teeth at either end; the middle is for its words.
TEETH = 0.12
# How much more a number should keep clear of damage than of a part.
FLAW_WEIGHT = 4


@dataclass(frozen=True, slots=True)
class PieceDrawing:
    """The drawing, the letters used in it, and a remark on its scale (empty when true to scale).

    `turned` when the length stands upright.
    """

    drawing: Drawing
    called: tuple[Called, ...]
    remark: str
    turned: bool


def draw_piece(card: CutCard, width: float, height: float, metrics: Metrics) -> PieceDrawing:
    """Draw the piece of `card` no larger than `width` x `height`, as large as it goes.

    Raises:
        BadInput: the steps of the card contradict each other.
    """
    frame, remark = frame_of(card, width, height, metrics)
    whole = frame.region(Area(0, 0, card.length, card.width))
    sheet = _Sheet(card, frame, whole, metrics)
    sheet.draw()
    edge = metrics.gutter
    used = Drawing(whole.x + whole.w + edge, whole.y + whole.h + edge, tuple(sheet.shapes))
    return PieceDrawing(used, sheet.called, remark, frame.turned)


class _Sheet:
    """Collects the shapes of one drawing and keeps its letters from lying on each other."""

    def __init__(self, card: CutCard, frame: Frame, whole: Region, metrics: Metrics) -> None:
        self.card, self.frame, self.whole, self.metrics = card, frame, whole, metrics
        self.shapes: list[Shape] = []
        self.taken: list[Region] = []
        foot, edge = foot_of(metrics), metrics.gutter
        self.canvas = Region(0, foot, whole.x + whole.w + edge, whole.y + whole.h + edge - foot)
        self.flaws = [frame.region(Area(f.x, f.y, f.dx, f.dy)) for f in card.flaws]
        self.clamps = [frame.region(Area(f.x, f.y, f.dx, f.dy)) for f in card.clamps]
        self._letters: dict[tuple[str, str], str] = {}
        self._members: dict[str, list[Thing]] = {}

    def draw(self) -> None:
        """Draw everything: outlines first, then words, the grain, and the numbers of the cuts."""
        rows = step_rows(self.card, turned=self.frame.turned)
        # A number hides a part sooner than damage: nobody cuts into what is seen.
        seen = [*self._useful, *self.flaws * FLAW_WEIGHT]
        numbers = tuple(number_cuts(self.card, rows, self.frame, self.canvas, self.whole, seen))
        self.taken += [badge.at for badge in numbers]
        fitted, small = self._fitted()
        self._outlines([thing for thing, _ in fitted] + small)
        for _, words in fitted:
            for line in words:
                self._put(line)
        letters = [(self._region(thing), self._call(thing)) for thing in small]
        for room, text in [pair for pair in letters if not self._letter_inside(*pair)]:
            self._letter_outside(room, text)
        self._grain()
        self._corner_0()
        written = [shape.at for shape in self.shapes if isinstance(shape, Words)]
        self.shapes += set_triangles(self.card, self.frame, written)
        self.shapes += edge_bars(self.card, self.frame, self.whole)
        self.shapes += numbers

    def _words(self, thing: Thing) -> list[Words] | None:
        """Return the words of a thing where they lie clear of the numbers, None where they find no room."""
        room = self._room(thing)
        for _ in range(3):
            fitted = fit(labels(thing, self.card), room, self.metrics)
            if fitted is None:
                return None
            words = place(fitted, room, self.metrics)
            hit = [at for at in self.taken if any(at.meets(line.at, self.metrics.gap) for line in words)]
            if not hit:
                return words
            room = max(room.beside(hit[0]), key=lambda free: free.w * free.h)
        return None

    def _fitted(self) -> tuple[list[tuple[Thing, list[Words]]], list[Thing]]:
        """Return what can be named where it lies, and what is too small: equal strips become combs."""
        found: list[tuple[Thing, list[Words]]] = []
        small: list[Thing] = []
        slim: list[DrawnPart] = []
        lines = {part: self._words(part) for part in self.card.parts}
        unfit = {(part.line, part.dx, part.dy) for part, fits in lines.items() if fits is None}
        for part, fits in lines.items():
            if fits is not None and (part.line, part.dx, part.dy) not in unfit:
                found.append((part, fits))
            else:
                slim.append(part)
        combs, single = comb_out(slim, self.card.kerf)
        for part in list(single):
            # A part beside a comb of its like keeps its own name where that fits.
            own = lines[part]
            if own is not None:
                single.remove(part)
                found.append((part, own))
        others: list[Thing] = [*combs, *self.card.leftovers]
        for thing in others:
            fits = self._words(thing)
            if fits is None:
                small.append(thing)
            else:
                found.append((thing, fits))
        by_reading = sorted((*small, *single), key=self._reading_order)
        return sorted(found, key=lambda pair: self._reading_order(pair[0])), by_reading

    def _outlines(self, things: list[Thing]) -> None:
        """Hatch the piece, lay parts, combs and leftovers on it, then what is damaged or clamped."""
        self.shapes.append(Box(self.whole, Fill.HATCH, 1.6))
        for thing in things:
            self.shapes.append(Box(self._region(thing), broken=isinstance(thing, DrawnLeftover)))
            if isinstance(thing, Comb):
                self.shapes += self._teeth(thing)
        self.shapes += [Box(region, Fill.CROSS, 1.2) for region in self.flaws]
        self.shapes += [Box(region, Fill.BLACK, 1.2) for region in self.clamps]

    def _teeth(self, comb: Comb) -> Iterator[Line]:
        """Yield the ends of the lines between the parts of a comb; the middle stays free for words."""
        for gap in comb.gaps:
            edge = Area(comb.x, gap, comb.dx, 0) if comb.stacked else Area(gap, comb.y, 0, comb.dy)
            at = self.frame.region(edge)
            for share in (0.0, 1 - TEETH):
                x, y = at.x + share * at.w, at.y + share * at.h
                yield Line(x, y, x + TEETH * at.w, y + TEETH * at.h, 0.8)

    def _grain(self) -> None:
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

    def _corner_0(self) -> None:
        """Mark the corner from which flaws and clamps are measured, beside the piece, where there are any."""
        if not (self.flaws or self.clamps):
            return
        m, corner = self.metrics, self.frame.region(Area(0, 0, 0, 0))
        wide, high = m.width("0", m.foot, True), m.foot * m.leading
        x = corner.x + 1 if self.frame.turned else max(corner.x - wide - 1, 0)
        near, below = Region(x, corner.y - high, wide, high), Region(x, 0, wide, high)
        spot = below if any(near.meets(other) for other in self.taken) else near
        self._put(Words(spot, "0", m.foot, True))

    def _region(self, thing: Thing) -> Region:
        return self.frame.region(Area(thing.x, thing.y, thing.dx, thing.dy))

    def _room(self, thing: Thing) -> Region:
        """Return where the words of a thing may stand: between a comb's teeth, beside damage and clamps."""
        room = self._region(thing)
        if isinstance(thing, Comb):
            if thing.stacked is not self.frame.turned:
                room = Region(room.x + TEETH * room.w, room.y, (1 - 2 * TEETH) * room.w, room.h)
            else:
                room = Region(room.x, room.y + TEETH * room.h, room.w, (1 - 2 * TEETH) * room.h)
        for taken in (*self.flaws, *self.clamps):
            if taken.meets(room):
                room = max(room.beside(taken), key=lambda free: free.w * free.h)
        return room

    def _reading_order(self, thing: Thing) -> tuple[float, float]:
        region = self._region(thing)
        return (-round(region.y + region.h, 1), region.x)

    def _put(self, shape: Words | Badge) -> None:
        self.shapes.append(shape)
        self.taken.append(shape.at)

    def _call(self, thing: Thing) -> str:
        name = (thing.tag or "leftover") if isinstance(thing, DrawnLeftover) else line_of(thing)
        key = name, size_words(thing, self.card)
        text = self._letters.setdefault(key, letter(len(self._letters)))
        self._members.setdefault(text, []).append(thing)
        return text

    @property
    def called(self) -> tuple[Called, ...]:
        """What the letters stand for, in their order."""
        return tuple(
            Called(text, together(self._members[text]), size) for (_, size), text in self._letters.items()
        )

    def _letter_inside(self, room: Region, text: str) -> bool:
        m = self.metrics
        wide, high = m.width(text, m.badge, True), m.badge * m.leading
        for across, up in ((0.5, 0.5), (0.5, 0.0), (0.5, 1.0), (0.0, 0.5), (1.0, 0.5)):
            x, y = room.x + (room.w - wide) * across, room.y + (room.h - high) * up
            spot = Region(x, y, wide, high)
            if wide + m.margin > room.w or high > room.h:
                return False
            if not any(spot.meets(other, m.gap) for other in self.taken):
                self._put(Words(spot, text, m.badge, True))
                return True
        return False

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
        things: list[Thing] = [*self.card.parts, *self.card.leftovers]
        return [self._region(thing) for thing in things]

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
