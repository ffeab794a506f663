"""Part labels: which part, for which job, its finished size, its banded edges and grain. Millimetres."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from stockyard.errors import BadInput
from stockyard.measure import Unit, show
from stockyard.printing.edge_labels import Layout, cut_line, outer_margin
from stockyard.printing.fonts import BOLD, REGULAR
from stockyard.printing.lettering import Row, lines, place, row, shortened, size_choices, stack, two_lines
from stockyard.printing.marks import Frame, Line, Mark, Shape, box
from stockyard.printing.pages import Design, Placed, draw, millimetres, on_cell, on_own_page
from stockyard.printing.sheets import SheetLayout
from stockyard.printing.tapes import RollLayout, TapeLayout

BANDS = ("L1", "L2", "W1", "W2")
LEAST_NAME, LEAST_SIZE, LEAST_SMALL = 2.1, 1.8, 1.4
"""Read in the hand: 2.1 mm at 0.63 m, 1.8 at 0.54 m, 1.4 at 0.42 m (height is distance / 300)."""

MOST_NAME, MOST_SIZE, MOST_SMALL = 6.0, 4.6, 2.8
_SIDE = 1.5
_TAPE_LENGTH = 66.0
_ROLL_LENGTH = 29.0
_TALLEST = 40.0
_BAND, _OUTLINE = 1.1, 0.25
_GUTTER = 2.0


class Arrow(StrEnum):
    """How the grain runs over the finished part as its label shows it, the length across."""

    ALONG = "along"
    ACROSS = "across"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLabel:
    """What the label on a cut part says. `length`, `width` are finished sizes in ticks.

    `cut` is the size off the saw where that is another one, `then` what it is milled and trimmed to. `stuff`
    names material and thickness; `matched` says where a part of a matched set belongs ("fronts 2 of 3, below
    1"), empty for one of none. Inches are written to the nearest 1/`finest`.
    `bands` names the banded edges, any of L1 L2 (the long ones: drawn above, below) W1 W2 (left, right);
    `band` says what they are banded with; a `shaped` part is no rectangle but as in the file `outline`
    (empty: nobody knows which), and its size is that of the rectangle round it;
    `piece` is the tag of the piece it came from, empty for one still to be bought; this is number `k`
    of `n` such parts.
    """

    job: str
    part: str
    length: int
    width: int
    unit: Unit
    piece: str
    k: int
    n: int
    bands: tuple[str, ...] = ()
    grain: Arrow = Arrow.ALONG
    stuff: str = ""
    cut: tuple[int, int] | None = None
    matched: str = ""
    band: str = ""
    then: str = ""
    shaped: bool = False
    outline: str = ""
    finest: int = 64

    def __post_init__(self) -> None:
        wrong = next((b for b in self.bands if b not in BANDS), None)
        if wrong is not None:
            raise BadInput(
                f"part label '{self.part[:40]}': band '{wrong[:10]}' is none of {', '.join(BANDS)}"
            )


def part_labels_pdf(
    labels: Sequence[PartLabel],
    layout: Layout,
    *,
    start: int = 1,
    nudge: tuple[int, int] = (0, 0),
    dpi: int = 203,
) -> bytes:
    """Return the PDF of `labels` in the order given; `start` and `nudge` as for edge labels.

    Raises:
        BadInput: nothing to print, no such start, a label that cannot be read on this layout (named).
        fonts.MissingGlyph: a character the typefaces lack.
    """
    return draw(place_part_labels(labels, layout, start=start), "Part labels", dpi, nudge)


def place_part_labels(labels: Sequence[PartLabel], layout: Layout, *, start: int = 1) -> list[Placed]:
    """Return where each label goes; arguments and errors as `part_labels_pdf`."""
    if not labels:
        raise BadInput("there are no labels to print")
    if isinstance(layout, SheetLayout):
        size = millimetres(layout.width), millimetres(layout.height)
        return [
            on_cell(cell, layout, _on_cell(label, *size, die_cut=layout.die_cut))
            for cell, label in zip(layout.cells(len(labels), start), labels, strict=True)
        ]
    return [on_own_page(page, _on_strip(label, layout)) for page, label in enumerate(labels)]


def _on_cell(label: PartLabel, width: float, height: float, *, die_cut: bool) -> Design:
    margin = outer_margin(height)
    inner = width - 2 * _SIDE, min(height - 2 * margin, _TALLEST)
    frame = Frame(_SIDE, height - margin - inner[1], *inner)
    marks = _marks(label, *inner)
    cuts: tuple[Mark, ...] = () if die_cut else (cut_line(width, 0.0),)
    return Design(label.part, width, height, ((frame, marks), (Frame(0, 0, width, height), cuts)))


def _on_strip(label: PartLabel, layout: TapeLayout | RollLayout) -> Design:
    """Return the label on the widest tape of the layout, or across the roll."""
    if isinstance(layout, TapeLayout):
        tape = layout.widest
        whole, inner = (_TAPE_LENGTH, tape.width), (_TAPE_LENGTH - 2 * _SIDE, tape.printable)
    else:
        whole = layout.width, _ROLL_LENGTH
        inner = layout.printable, _ROLL_LENGTH - 2 * outer_margin(_ROLL_LENGTH)
    frame = Frame((whole[0] - inner[0]) / 2, (whole[1] - inner[1]) / 2, *inner)
    return Design(label.part, *whole, ((frame, _marks(label, *inner)),))


def _marks(label: PartLabel, width: float, height: float) -> tuple[Mark, ...]:
    """Return the whole label in a box: the words on the left, the little drawing on the right.

    Raises:
        BadInput: the words do not fit at their least heights.
    """
    for choices in _text_choices(label):
        for share in (0.34, 0.24, 0.18):
            picture = min(share * width, 1.5 * height)
            column = width - picture - _GUTTER
            settings = [(rows, caps) for rows in choices if (caps := stack(rows, column, height, step=1.0))]
            if settings:
                rows, caps = max(settings, key=lambda setting: (round(setting[1][0], 1), sum(setting[1])))
                words = place(rows, caps, 0.0, height)
                return *words, *_picture(label, column + _GUTTER, picture, height)
    raise BadInput(
        f"part label '{label.part[:60]}' {label.k} of {label.n}: it does not fit "
        f"{width:.1f} × {height:.1f} mm with letters that can be read; choose a layout with larger labels"
    )


def _text_choices(label: PartLabel) -> Iterator[list[tuple[Row, ...]]]:
    """Yield groups of equally good sets of rows, the most complete first: words give way, figures never."""
    texts = (label.part, label.job, label.stuff, label.matched)
    shorter = [[text, *shortened(text)] for text in texts]
    for n in range(max(map(len, shorter))):
        name, job, stuff, matched = (ways[min(n, len(ways) - 1)] for ways in shorter)
        broken = two_lines(name, BOLD)
        for small in _small_rows(label, job, stuff, matched):
            for size in _sizes(label):
                rows = (*lines(size, BOLD, 0.75, LEAST_SIZE, MOST_SIZE), *small)
                yield [
                    (*lines(texts, BOLD, 1.0, LEAST_NAME, MOST_NAME), *rows)
                    for texts in ([(name,), broken] if broken else [(name,)])
                ]


def _sizes(label: PartLabel) -> Iterator[tuple[str, ...]]:
    """Yield the size in lines; inches that had to be rounded first with the millimetres they stand for."""
    choices = size_choices(label.length, label.width, label.unit, finest=label.finest)
    exact = " × ".join(show(side, Unit.MM) for side in (label.length, label.width))
    if label.unit is Unit.INCH and "≈" in choices[0][0] and "≈" not in exact:
        yield (*choices[0], f"{exact} mm")
    yield from choices


def _small_rows(label: PartLabel, job: str, stuff: str, matched: str) -> Iterator[tuple[Row, ...]]:
    """Yield the small print, the most complete first; the smallest labels have room for two lines only."""
    origin = f"from {label.piece}" if label.piece else "from a new piece"
    count, cut = f"{label.k} of {label.n}, {origin}", ""
    called = "rough size " if label.then else "cut size "
    if label.cut is not None:
        (size, *_) = size_choices(*label.cut, label.unit, called, finest=label.finest)
        cut = " ".join(size)
    shaped = "shaped" if label.shaped else ""
    shape = f"{shaped} as in {label.outline}" if label.outline else shaped
    cut = " · ".join(text for text in (cut, label.then, label.band, shape) if text)
    short = f"{label.k} of {label.n}, {shaped}, {origin}" if shaped else count
    together = " · ".join(text for text in (stuff, job) if text)
    for texts in ((count, matched, cut, stuff, job), (count, matched, cut, together), (short, together)):
        yield tuple(row(text, REGULAR, 0.5, LEAST_SMALL, MOST_SMALL) for text in texts if text)


def _picture(label: PartLabel, x: float, width: float, height: float) -> Iterator[Mark]:
    """Yield the part to scale (very slim ones broadened), banded edges heavy, an arrow with the grain."""
    free = width - 2 * _BAND, height - 2 * _BAND
    ratio = min(max(label.width / label.length, 0.3), 1 / 0.3)
    long = min(free[0], free[1] / ratio)
    tall = long * ratio
    left, low = x + _BAND + (free[0] - long) / 2, _BAND + (free[1] - tall) / 2
    right, high = left + long, low + tall
    corners = ((left, low), (right, low), (right, high), (left, high))
    for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
        yield Line(start, end, _OUTLINE)
    # Bands of two sides meet at the corner.
    before, after = (_BAND if side in label.bands else 0.0 for side in ("W1", "W2"))
    heavy = {
        "L1": box(left - before, high, before + long + after, _BAND),
        "L2": box(left - before, low - _BAND, before + long + after, _BAND),
        "W1": box(left - _BAND, low, _BAND, tall),
        "W2": box(right, low, _BAND, tall),
    }
    yield from (heavy[band] for band in BANDS if band in label.bands)
    if label.grain is Arrow.ALONG:
        yield from _arrow((left + right) / 2, (low + high) / 2, 0.7 * long, 0.0)
    elif label.grain is Arrow.ACROSS:
        yield from _arrow((left + right) / 2, (low + high) / 2, 0.0, 0.7 * tall)


def _arrow(x: float, y: float, across: float, up: float) -> Iterator[Mark]:
    """Yield a line with a head at both ends, centred on (x, y): grain has a direction but no front."""
    head = min(1.8, (across + up) / 3)
    dx, dy = (1.0, 0.0) if across else (0.0, 1.0)
    half = (across + up) / 2
    yield Line(
        (x - dx * (half - head), y - dy * (half - head)),
        (x + dx * (half - head), y + dy * (half - head)),
        0.35,
    )
    for sign in (-1, 1):
        tip = x + sign * dx * half, y + sign * dy * half
        base = tip[0] - sign * dx * head, tip[1] - sign * dy * head
        side = dy * head * 0.4, dx * head * 0.4
        yield Shape((tip, (base[0] + side[0], base[1] + side[1]), (base[0] - side[0], base[1] - side[1])))
