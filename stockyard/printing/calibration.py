"""A page to print on plain paper: how far the printer is off, and whether it keeps the scale."""

from __future__ import annotations

from collections.abc import Iterator

from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit, decimal
from stockyard.printing.edge_labels import Layout
from stockyard.printing.fonts import BOLD, REGULAR
from stockyard.printing.marks import Frame, Line, Mark, Word, put
from stockyard.printing.output import MM, Paper
from stockyard.printing.pages import millimetres
from stockyard.printing.sheets import SheetLayout
from stockyard.printing.tapes import TapeLayout

_THIN, _HEAVY = 0.15, 0.4
_TEXT, _HEAD = 2.0, 3.4
_LEAD = 4.6


def calibration_pdf(layout: Layout, unit: Unit = Unit.MM, nudge: tuple[int, int] = (0, 0)) -> bytes:
    """Return the calibration page of a label sheet, or one page for each tape or roll width.

    `nudge` (ticks right, ticks down) is the correction in force, so that a second print proves it.
    """
    if isinstance(layout, SheetLayout):
        return _sheet(layout, unit, nudge)
    if isinstance(layout, TapeLayout):
        return _strips([(tape.width, tape.printable) for tape in layout.tapes], across=False)
    return _strips([(layout.width, layout.printable)], across=True)


def _sheet(layout: SheetLayout, unit: Unit, nudge: tuple[int, int]) -> bytes:
    width, height = millimetres(layout.page[0]), millimetres(layout.page[1])
    right, down = millimetres(nudge[0]), millimetres(nudge[1])
    paper = Paper((width * MM, height * MM), "Calibration")
    frame = Frame(right, -down, width, height)
    put(paper, _cells(layout), frame, 300)
    lines = _words(layout.name, unit, nudge)
    # Words and bar lie on a white board over the boxes, below the two lines that are measured.
    top, high = 0.62 * height, _LEAD * (len(lines) + 3.5)
    paper.canvas.setFillGray(1)
    paper.canvas.rect(8 * MM, (top - high) * MM, (width - 16) * MM, (high + 10) * MM, stroke=0, fill=1)
    put(paper, _measured(height, unit), frame, 300)
    put(paper, _bar(top - high + 5, unit), Frame(0, 0, 0, 0), 300)
    words = [Word(12, top - _LEAD * n, line, REGULAR, _TEXT) for n, line in enumerate(lines, start=1)]
    put(
        paper, [Word(12, top + 2, f"Calibration: {layout.name}", BOLD, _HEAD), *words], Frame(0, 0, 0, 0), 300
    )
    return paper.finish()


def _reference(unit: Unit) -> tuple[int, int]:
    """Return the distance of the measured lines from the edges, and the length of the bar, in ticks."""
    if unit is Unit.MM:
        return 20 * TICKS_PER_MM, 80 * TICKS_PER_MM
    return 3 * TICKS_PER_INCH // 4, 3 * TICKS_PER_INCH


def _words(name: str, unit: Unit, nudge: tuple[int, int]) -> list[str]:
    off, bar = (f"{decimal(ticks, unit):f} {unit}" for ticks in _reference(unit))
    now = [f"{'-' if n < 0 else ''}{decimal(abs(n), unit).normalize():f} {unit}" for n in nudge]
    return [
        f"1  Print on plain paper at 100 %: the heavy bar is {bar} long.",
        "2  Measure from the left edge of the paper to line A,",
        "    and from the top edge to line B.",
        f"3  Add {off} less A to label_right (now {now[0]}),",
        f"    and {off} less B to label_down (now {now[1]}).",
        "4  Print again, and hold it behind a label sheet against",
        f"    the light: the boxes lie on the labels of {name}.",
    ]


def _cells(layout: SheetLayout) -> Iterator[Mark]:
    """Yield the outline of every label and its number, which is what a part-used sheet starts at."""
    for number, cell in enumerate(layout.cells(layout.per_page), start=1):
        x, y = millimetres(cell.x), millimetres(cell.y)
        width, height = millimetres(cell.width), millimetres(cell.height)
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
            yield Line(start, end, _THIN)
        yield Word(x + 2, y + 2, str(number), REGULAR, _TEXT)


def _measured(height: float, unit: Unit) -> Iterator[Mark]:
    """Yield lines A and B at the reference distance from the left and top edges."""
    off, long = millimetres(_reference(unit)[0]), 0.13 * height
    yield Line((off, height - off - long), (off, height - 6), _HEAVY)
    yield Word(off + 1.5, height - 12, "A", BOLD, _HEAD)
    yield Line((6, height - off), (off + long, height - off), _HEAVY)
    yield Word(off + long + 1.5, height - off - _HEAD / 2, "B", BOLD, _HEAD)


def _bar(y: float, unit: Unit) -> Iterator[Mark]:
    """Yield the bar that proves the scale."""
    bar = millimetres(_reference(unit)[1])
    yield Line((12, y), (12 + bar, y), 1.2)
    for x in (12.0, 12 + bar):
        yield Line((x, y - 3), (x, y + 3), _HEAVY)


def _strips(bands: list[tuple[float, float]], *, across: bool) -> bytes:
    """Return one page a width: a box as high as the printer is trusted to mark, and a bar of 50 mm."""
    paper: Paper | None = None
    for width, printable in bands:
        size = (width, 40.0) if across else (80.0, width)
        points = size[0] * MM, size[1] * MM
        if paper is None:
            paper = Paper(points, "Calibration")
        else:
            paper.next_page(points)
        put(paper, _strip(size, printable, across=across), Frame(0, 0, *size), 300)
    if paper is None:
        raise ValueError("a layout has at least one width")
    return paper.finish()


def _strip(size: tuple[float, float], printable: float, *, across: bool) -> Iterator[Mark]:
    inner = (printable, size[1] - 6) if across else (size[0] - 6, printable)
    x, y = (size[0] - inner[0]) / 2, (size[1] - inner[1]) / 2
    corners = ((x, y), (x + inner[0], y), (x + inner[0], y + inner[1]), (x, y + inner[1]))
    for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
        yield Line(start, end, _HEAVY)
    low = y + inner[1] / 2 - 1.6
    yield Line((x + 3, low), (x + 53, low), 0.8)
    yield Word(x + 3, low + 1.4, f"box {inner[0]:g} × {inner[1]:g} mm, bar 50 mm", REGULAR, 1.8)
