"""Label sheets by geometry: page, columns, rows, label size, first label, pitch. Lengths are ticks.

The built-in geometries are those of common die-cut sheets as their makers' free templates measure them;
two sheets sold as the same differ by 1/32 in at the outer columns, hence the nudge and the calibration page.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit, decimal, show

LETTER = (17 * TICKS_PER_INCH // 2, 11 * TICKS_PER_INCH)
A4 = (210 * TICKS_PER_MM, 297 * TICKS_PER_MM)
FOUR_BY_SIX = (4 * TICKS_PER_INCH, 6 * TICKS_PER_INCH)

# 1/1000 in: some geometries are published to thousandths and miss the page's edge by one.
_SLACK = TICKS_PER_INCH // 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One label on one page: page number from 0, lower left corner, size; ticks."""

    page: int
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLayout:
    """A page of equal labels. `left`, `top` are the first label's corner from the page's top left corner.

    `across` and `down` are the pitch from label to label; `die_cut` False means that the person cuts them.

    Raises:
        BadInput: a size that is not positive, labels that overlap or leave the page.
    """

    name: str
    page: tuple[int, int]
    columns: int
    rows: int
    width: int
    height: int
    left: int
    top: int
    across: int
    down: int
    die_cut: bool = True

    def __post_init__(self) -> None:
        where = f"label layout '{self.name}'"
        if not (1 <= self.columns <= 50 and 1 <= self.rows <= 100):
            raise BadInput(f"{where}: it must have 1 to 50 columns and 1 to 100 rows")
        if min(self.page) <= 0 or min(self.width, self.height) <= 0 or min(self.left, self.top) < 0:
            raise BadInput(f"{where}: page and label sizes must be more than 0, left and top at least 0")
        for axis, pitch, size, count in (
            ("across", self.across, self.width, self.columns),
            ("down", self.down, self.height, self.rows),
        ):
            if count > 1 and pitch + _SLACK < size:
                raise BadInput(f"{where}: labels overlap: the pitch {axis} is less than the label's size")
        right = self.left + (self.columns - 1) * self.across + self.width
        bottom = self.top + (self.rows - 1) * self.down + self.height
        for word, end, page in (("right", right, self.page[0]), ("lower", bottom, self.page[1])):
            if end > page + _SLACK:
                over = show(end - page, Unit.MM)
                raise BadInput(f"{where}: the last label leaves the page's {word} edge by {over} mm")

    @property
    def per_page(self) -> int:
        """How many labels one page holds."""
        return self.columns * self.rows

    def cells(self, count: int, start: int = 1) -> Iterator[Cell]:
        """Yield the cells of `count` labels, row by row, beginning at label `start` (from 1).

        Raises:
            BadInput: `start` is not a label of the page.
        """
        if not 1 <= start <= self.per_page:
            raise BadInput(f"start at label {start}: layout '{self.name}' has labels 1 to {self.per_page}")
        for n in range(start - 1, start - 1 + count):
            page, place = divmod(n, self.per_page)
            row, column = divmod(place, self.columns)
            top = self.top + row * self.down
            yield Cell(
                page=page,
                x=self.left + column * self.across,
                y=self.page[1] - top - self.height,
                width=self.width,
                height=self.height,
            )

    def describe(self, unit: Unit) -> str:
        """Return the layout in one line for a list of layouts."""
        size = " × ".join(_near(side, unit) for side in (self.width, self.height))
        return f"{self.columns} × {self.rows} labels of {size} {unit}"


def _near(ticks: int, unit: Unit) -> str:
    """Write a label's size in hundredths of a millimetre or as a fraction of an inch."""
    return f"{decimal(ticks, unit):.2f}" if unit is Unit.MM else show(ticks, unit)


def _inch(value: float) -> int:
    return round(value * TICKS_PER_INCH)


def _mm(value: float) -> int:
    return round(value * TICKS_PER_MM)


def _letter(name: str, columns: int, rows: int, *figures: float) -> SheetLayout:
    width, height, left, top, across, down = (_inch(f) for f in figures)
    return SheetLayout(
        name=name, page=LETTER, columns=columns, rows=rows,
        width=width, height=height, left=left, top=top, across=across, down=down,
    )  # fmt: skip


def _a4(name: str, columns: int, rows: int, *figures: float) -> SheetLayout:
    width, height, left, top, across, down = (_mm(f) for f in figures)
    return SheetLayout(
        name=name, page=A4, columns=columns, rows=rows,
        width=width, height=height, left=left, top=top, across=across, down=down,
    )  # fmt: skip


SHEETS: tuple[SheetLayout, ...] = (
    # Name, columns, rows; then label width and height, left, top, pitch across and down.
    # Published template measurements of common die-cut sheets, in inches.
    _letter("letter-30", 3, 10, 2.625, 1, 0.15625, 0.5, 2.78125, 1),
    # The same sheet from other makers (common practice): the pitch adds up to the page exactly.
    _letter("letter-30-even", 3, 10, 2.625, 1, 0.1875, 0.5, 2.75, 1),
    _letter("letter-20", 2, 10, 4, 1, 0.15625, 0.5, 4.1875, 1),
    _letter("letter-14", 2, 7, 4, 4 / 3, 0.15625, 5 / 6, 4.1875, 4 / 3),
    _letter("letter-10", 2, 5, 4, 2, 0.15625, 0.5, 4.1875, 2),
    _letter("letter-6", 2, 3, 4, 10 / 3, 0.15625, 0.5, 4.1875, 10 / 3),
    _letter("letter-80", 4, 20, 1.75, 0.5, 0.28125, 0.5, 2.0625, 0.5),
    # The same source, in millimetres.
    _a4("a4-21", 3, 7, 63.5, 38.1, 7.21, 15.15, 66.04, 38.1),
    _a4("a4-24", 3, 8, 70, 37, 0, 0.5, 70, 37),
    _a4("a4-24-narrow", 3, 8, 63.5, 33.9, 7.21, 12.9, 66.04, 33.9),
    _a4("a4-65", 5, 13, 38.1, 21.2, 4.75, 10.92, 40.6, 21.2),
    _a4("a4-14", 2, 7, 99.1, 38.1, 4.63, 15.15, 101.64, 38.1),
    _a4("a4-8", 2, 4, 99.1, 67.7, 4.63, 13.1, 101.64, 67.7),
    # One big label of 4 × 6 in, cut by the person into six strips.
    SheetLayout(
        name="4x6", page=FOUR_BY_SIX, columns=1, rows=6, width=FOUR_BY_SIX[0], height=TICKS_PER_INCH,
        left=0, top=0, across=FOUR_BY_SIX[0], down=TICKS_PER_INCH, die_cut=False,
    ),
)  # fmt: skip
