"""The design of one edge label: a strip with the tag, FULL or the size, the material, and a code.

FULL and ripped-down are told apart from two metres by shape and weight: a full sheet carries a heavy
black slab with FULL in white, a ripped-down one a slim wedge, a piece with its corner gone. A board is
neither: it carries its size alone. Millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from stockyard.errors import BadInput
from stockyard.measure import Unit
from stockyard.printing import codes
from stockyard.printing.fonts import BOLD, REGULAR
from stockyard.printing.lettering import Row, lines, place, row, shortened, size_choices, stack, two_lines
from stockyard.printing.marks import Mark, Printed, Shape, Word, box, natural

LEAST_TAG = 3.4
"""Readable at 1 m: letter height is distance / 300, as ANSI Z535.2 is quoted; twice that where it fits."""

LEAST_SIZE = 2.1
"""Readable at arm's length, 0.63 m."""

LEAST_MATERIAL = 1.5
GOOD_TAG, GOOD_SIZE, GOOD_MATERIAL = 2 * LEAST_TAG, 3.4, 2.2
MOST_TAG, MOST_SIZE, MOST_MATERIAL = 11.0, 6.0, 3.6
LONGEST_STRIP = 110.0
WIDEST_BAR, TALLEST_BAR = 0.4, 10.0
FULL = "FULL"

# J hangs lowest of the characters a tag can have; all tags are set as if they had one, so that a row
# of labels on a rack has letters of one height.
_TAG_DOWN = 0.28
_GUTTER = 1.6
_SLAB_PAD = 0.6
_SIZE_MERIT = 3.0
_SLAB_CAPS = (LEAST_SIZE, 2.7, 3.4, 4.6, MOST_SIZE)
_SPACE = 0.45


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeLabel:
    """What the label on one piece's edge says. Lengths are ticks; `length` runs along the grain.

    `full` is a sheet as bought; a `board` is neither full nor ripped down. Inches
    are written to the nearest 1/`finest`. `flaws` says what is wrong with the piece, if anything is.
    """

    tag: str
    full: bool
    length: int
    width: int
    material: str
    thickness_name: str
    measured_thickness: int
    unit: Unit
    grain: bool = True
    finest: int = 64
    board: bool = False
    flaws: str = ""

    @property
    def sizes(self) -> list[tuple[str, ...]]:
        """How the size may be written: along the grain first, an arrow before it where there is a grain."""
        arrow = "→ " if self.grain else ""
        return size_choices(self.length, self.width, self.unit, arrow, finest=self.finest)

    @property
    def stuff(self) -> str:
        """Material and thickness in the order of every paper: birch ply 18 mm."""
        named = self.thickness_name.strip()
        stuff = self.material.strip() if named in self.material else f"{self.material} {named}".strip()
        return f"{stuff}, {self.flaws}" if self.flaws else stuff

    @property
    def short_stuff(self) -> Iterator[str]:
        """Shorter ways to say it: the name gives way and the thickness is kept, at the last before it."""
        named = self.thickness_name.strip()
        if self.flaws:  # what is wrong with it is kept longest
            spot = self.flaws.removesuffix(" from corner 0")
            bare = replace(self, flaws="")
            yield from (f"{stuff}, {spot}" for stuff in (bare.stuff, *bare.short_stuff))
            yield from (f"{stuff} flawed" for stuff in replace(self, flaws="").short_stuff)
            return
        if not named or named in self.material:
            yield from shortened(self.material.strip())
            return
        yield from (f"{name} {named}" for name in shortened(self.material))
        yield from shortened(f"{named} {self.material}".strip())


@dataclass(frozen=True, slots=True)
class Room:
    """The box of a strip: `width` None means as long as its content. White reaches out of it on each side.

    `beside` and `above` are the white left and right, above and below, which a code's quiet zone may use.
    """

    width: float | None
    height: float
    beside: float
    above: float


@dataclass(frozen=True, slots=True)
class Strip:
    """A finished design: its width, its marks, and how it was solved."""

    width: float
    marks: tuple[Mark, ...]
    tag_cap: float
    code: Printed | None


@dataclass(frozen=True, slots=True)
class _Device:
    """The slab (`cap` is the height of FULL in it), the wedge (`cap` None) or nothing (no width)."""

    width: float
    cap: float | None


@dataclass(frozen=True, slots=True)
class _Symbol:
    """A code that fits the height; `taken` is its width with the white it needs inside the box.

    `after` is the part of that white on its right.
    """

    code: codes.Code
    module: float
    height: float
    taken: float
    after: float
    merit: float


@dataclass(frozen=True, slots=True)
class _Rows:
    """What is written: the tag, the size of a ripped-down piece in one or two lines, the small print.

    That is thickness and material, and on a full piece its size where there is room: `merit` is what
    that is worth.
    """

    tag: Row
    size: tuple[Row, ...]
    material: tuple[Row, ...]
    merit: float = 0.0

    @property
    def rest(self) -> tuple[Row, ...]:
        """All but the tag."""
        return *self.size, *self.material


@dataclass(frozen=True, slots=True)
class _Setting:
    """The rows in a box: all under each other, or the tag `beside` the rest, which then start at `start`."""

    rows: _Rows
    tag: float
    rest: tuple[float, ...]
    beside: bool

    @property
    def start(self) -> float:
        return self.tag * (self.rows.tag.natural + _SPACE) if self.beside else 0.0

    @property
    def width(self) -> float:
        """The width that the words really take."""
        widths = [cap * r.natural for cap, r in zip(self.rest, self.rows.rest, strict=True)]
        return max(self.tag * self.rows.tag.natural, self.start + max(widths))

    def words(self, height: float) -> list[Word]:
        """Return the rows set in a box of `height`, the tag first."""
        if not self.beside:
            return place((self.rows.tag, *self.rows.rest), (self.tag, *self.rest), 0.0, height)
        tag = place((self.rows.tag,), (self.tag,), 0.0, height)
        return [*tag, *place(self.rows.rest, self.rest, self.start, height)]


def design(label: EdgeLabel, room: Room, dpi: int) -> Strip:
    """Return the best strip for `label` in `room`.

    A code is left out, a size broken or a name shortened only when there is no strip without that.

    Raises:
        BadInput: no setting keeps every letter at its least height; it names the label.
        fonts.MissingGlyph: a character the typefaces lack.
    """
    coded = list(_symbols(label.tag, room, dpi))
    for symbols in (coded, [None]):
        for texts in _text_choices(label, room.height):
            found = [
                scored
                for rows in texts
                for symbol in symbols
                for scored in _strips(label, rows, symbol, room)
            ]
            if found:
                return max(found, key=lambda scored: scored[0])[1]()
    raise BadInput(
        f"edge label {label.tag}: '{label.sizes[0][0]}, {label.stuff[:60]}' does not fit "
        f"{room.width or LONGEST_STRIP:.1f} × {room.height:.1f} mm with letters that can be read; "
        "choose a layout with larger labels"
    )


def _text_choices(label: EdgeLabel, height: float) -> Iterator[list[_Rows]]:
    """Yield groups of equally good texts, the most complete first."""
    # On a very low strip there is no height to give away for a J that is not there.
    tag = row(label.tag, BOLD, 1.0, LEAST_TAG, MOST_TAG, down=_TAG_DOWN if height > 5 else None)
    for stuff in (label.stuff, *label.short_stuff):
        broken = two_lines(stuff, REGULAR)
        small = [(stuff,), broken] if broken else [(stuff,)]
        if label.full:
            sized = [(*texts, label.sizes[0][0]) for texts in small]
            yield [_Rows(tag, (), _small(texts)) for texts in small] + [
                _Rows(tag, (), _small(texts), _SIZE_MERIT) for texts in sized
            ]
            continue
        for size in label.sizes:
            sizes = lines(size, BOLD, 0.5, LEAST_SIZE, MOST_SIZE)
            yield [_Rows(tag, sizes, _small(texts)) for texts in small]


def _small(texts: Sequence[str]) -> tuple[Row, ...]:
    return lines(texts, REGULAR, 0.38, LEAST_MATERIAL, MOST_MATERIAL)


def _symbols(tag: str, room: Room, dpi: int) -> Iterator[_Symbol]:
    """Yield the codes that fit the height: QR with its two largest modules, else Code 128."""
    # Moved onto the dot grid a code may lie half a dot to any side of where it was put.
    code, found, slack = codes.square(tag), 0, codes.dot(dpi) / 2
    for module in codes.modules(dpi, codes.BEST_MODULE):
        side, quiet = code.columns * module, code.quiet * module
        if found < 2 and side + 2 * max(quiet - room.above, slack) <= room.height:
            found += 1
            after = max(quiet - room.beside, 0) + slack
            yield _Symbol(code, module, side, quiet + slack + side + after, after, 0.6 + module)
    code = codes.linear(tag)
    if not found and room.height >= codes.LEAST_BAR_HEIGHT + 2 * slack:
        for module in codes.modules(dpi, WIDEST_BAR):
            side, quiet = code.columns * module, code.quiet * module
            after = max(quiet - room.beside, 0) + slack
            high = min(room.height - 2 * slack, TALLEST_BAR)
            yield _Symbol(code, module, high, quiet + slack + side + after, after, 0.2 + module)


def _strips(
    label: EdgeLabel, rows: _Rows, symbol: _Symbol | None, room: Room
) -> Iterator[tuple[float, Callable[[], Strip]]]:
    """Yield scores, each with what draws that strip, for this text and this code."""
    taken = symbol.taken if symbol else 0.0
    total = LONGEST_STRIP if room.width is None else room.width
    for device in _devices(label, room.height):
        free = total - taken - device.width - _GUTTER
        for setting in _settings(rows, free, room.height, device.cap) if free > 0 else ():
            second = setting.rest[0] if rows.size else device.cap or 0.0
            if not setting.rest[-1] <= second <= 0.9 * setting.tag:
                continue
            width = setting.width + _GUTTER + device.width + taken if room.width is None else total
            score = (
                3 * min(setting.tag / GOOD_TAG, 1.4)
                + 2 * min(second / GOOD_SIZE, 1.2)
                + min(setting.rest[-1] / GOOD_MATERIAL, 1.2)
                + (symbol.merit if symbol else 0.0)
                + rows.merit
                - (width / 80 if room.width is None else 0.0)
            )
            yield score, partial(_assemble, setting, device, symbol, width, room)


def _devices(label: EdgeLabel, height: float) -> list[_Device]:
    """Return the slab with FULL in several heights, the wedge, or nothing for a board."""
    if label.board:
        return [_Device(0.0, None)]
    if not label.full:
        return [_Device(min(max(height * part, 2.0), 5.5), None) for part in (0.42, 0.25)]
    caps = [cap for cap in _SLAB_CAPS if cap <= max(0.6 * height, LEAST_SIZE)]
    return [_Device(cap * (natural(FULL, BOLD) + 2 * _SLAB_PAD), cap) for cap in caps]


def _settings(rows: _Rows, width: float, height: float, full: float | None) -> Iterator[_Setting]:
    """Yield the ways to set the text in a box: all rows under each other, or the tag beside the rest.

    `full` is how high FULL is, which the material's letters do not outgrow.
    """
    below = math.inf if full is None else 0.9 * full
    caps = stack((rows.tag, *rows.rest), width, height, below)
    if caps:
        yield _Setting(rows, caps[0], caps[1:], False)
    highest = min(height / (rows.tag.up + rows.tag.down), rows.tag.most)
    for cap in sorted({max(highest * part, LEAST_TAG) for part in (1.0, 0.8, 0.6, 0.0)}):
        right = width - cap * (rows.tag.natural + _SPACE)
        rest = stack(rows.rest, right, height, below) if cap <= highest and right > 0 else None
        if rest:
            yield _Setting(rows, cap, rest, True)


def _assemble(setting: _Setting, device: _Device, symbol: _Symbol | None, width: float, room: Room) -> Strip:
    """Return the strip: text on the left, the code at the right end, slab or wedge before it."""
    words = setting.words(room.height)
    marks: list[Mark] = [words[0]]
    right = width - (symbol.taken if symbol else 0.0)
    if device.cap is None:
        left = right - device.width
        marks += words[1:]
        if device.width:
            marks.append(Shape(((left, 0), (right, 0), (left, room.height))))
    else:
        # A slab takes what room is left: the heavier, the further it is seen; FULL grows with it.
        left = max(setting.width + _GUTTER, right - 1.8 * device.width)
        wide = (right - left) / (natural(FULL, BOLD) + 2 * _SLAB_PAD)
        cap = max(device.cap, min(wide, 0.5 * room.height, 0.9 * setting.tag, MOST_SIZE))
        middle = (left + right - cap * natural(FULL, BOLD)) / 2
        marks += [
            box(left, 0, right - left, room.height),
            Word(middle, (room.height - cap) / 2, FULL, BOLD, cap, white=True),
            *words[1:],
        ]
    if symbol is None:
        return Strip(width, tuple(marks), setting.tag, None)
    side = symbol.code.columns * symbol.module
    x = width - symbol.after - side
    code = Printed(x, (room.height - symbol.height) / 2, symbol.code, symbol.module, symbol.height)
    return Strip(width, (*marks, code), setting.tag, code)
