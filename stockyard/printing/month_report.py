"""The month on one page: its figures, a plain chart of the months before it, and their table.

Black, grey and white only, so that any printer will do. Figures come written as the shop reads them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, log10

from stockyard.printing import fonts
from stockyard.printing.output import MM, Paper
from stockyard.printing.page import MARGIN, SMALLEST, bold, plain, wrap

_CHART_HEIGHT = 78 * MM
# How dark each kind of bar is; the racks are a line with dots.
_BARS = (("bought", 1.0), ("used in parts", 0.65), ("scrapped", 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthBars:
    """One month in the chart, as areas in the report's unit."""

    month: str
    bought: float
    used: float
    scrapped: float
    racks: float


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the figures: what, area and money as written."""

    what: str
    area: str
    money: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthReport:
    """One page's contents. `months` ends with the month reported, at most the last twelve are drawn."""

    title: str
    area_unit: str
    lines: tuple[Line, ...]
    months: tuple[MonthBars, ...]
    notes: tuple[str, ...] = ()


def draw_month(report: MonthReport, size: tuple[float, float]) -> bytes:
    """Return the page as a PDF of `size` (width, height in points)."""
    paper = Paper(size, report.title)
    width, height = size
    y = height - MARGIN - 14
    style = bold(18).shrunk(report.title, width - 2 * MARGIN)
    paper.text(MARGIN, y, report.title, style.face, style.size)
    y = _figures(paper, report.lines, y - 30)
    months = report.months[-12:]
    paper.text(MARGIN, y - 22, f"Month by month, {report.area_unit}", fonts.BOLD, 11)
    _chart(paper, months, y - 34)
    y = _table(paper, months, y - 34 - _CHART_HEIGHT - 58)
    for note in report.notes:
        for line in wrap(note, plain(SMALLEST), width - 2 * MARGIN):
            y -= 12
            paper.text(MARGIN, y, line, size=SMALLEST)
    return paper.finish()


def _figures(paper: Paper, lines: Sequence[Line], y: float) -> float:
    """Write the month's own figures and return where they end."""
    area_x, money_x = MARGIN + 95 * MM, MARGIN + 135 * MM
    for line in lines:
        paper.text(MARGIN, y, line.what, size=10)
        paper.text(area_x, y, line.area, size=10, align="right")
        paper.text(money_x, y, line.money, size=10, align="right")
        y -= 15
    return y


def nice_top(most: float) -> float:
    """Return where the chart's scale ends: 1, 2 or 5 with noughts, at least `most` and at least 1."""
    if most <= 1:
        return 1.0
    power = 10.0 ** ceil(log10(most) - 1)
    return next(power * step for step in (1, 2, 5, 10) if most <= power * step * (1 + 1e-9))


def _chart(paper: Paper, months: Sequence[MonthBars], top_y: float) -> None:
    """Draw the bars and the line of what lies on the racks, with a scale on the left."""
    canvas = paper.canvas
    left, right = MARGIN + 28, paper.size[0] - MARGIN
    base = top_y - _CHART_HEIGHT
    top = nice_top(max((max(m.bought, m.used, m.scrapped, m.racks) for m in months), default=0))
    for part in range(5):
        y = base + _CHART_HEIGHT * part / 4
        canvas.setLineWidth(0.8 if part == 0 else 0.4)
        canvas.setStrokeGray(0 if part == 0 else 0.75)
        canvas.line(left, y, right, y)
        paper.text(left - 5, y - 3, f"{top * part / 4:g}", size=SMALLEST, align="right")
    canvas.setStrokeGray(0)
    step = (right - left) / max(1, len(months))
    bar = min(step / 4.5, 14)
    dots = []
    for n, month in enumerate(months):
        middle = left + step * (n + 0.5)
        for k, ((_, white), value) in enumerate(
            zip(_BARS, (month.bought, month.used, month.scrapped), strict=True)
        ):
            _bar(paper, middle + (k - 1.5) * bar, base, bar, _CHART_HEIGHT * value / top, white)
        # Every other month stands lower: twelve would touch.
        paper.text(middle, base - 11 - 11 * (n % 2), month.month, size=SMALLEST, align="centre")
        dots.append((middle, base + _CHART_HEIGHT * month.racks / top))
    _line(paper, dots)
    _legend(paper, left, base - 39)


def _bar(paper: Paper, x: float, y: float, width: float, height: float, white: float) -> None:
    canvas = paper.canvas
    canvas.setFillGray(white)
    canvas.setLineWidth(0.6)
    canvas.rect(x, y, width, max(0.0, height), fill=1, stroke=1)
    canvas.setFillGray(0)


def _line(paper: Paper, dots: Sequence[tuple[float, float]]) -> None:
    canvas = paper.canvas
    canvas.setLineWidth(1)
    canvas.setDash(3, 2)
    for (x, y), (to_x, to_y) in pairwise(dots):
        canvas.line(x, y, to_x, to_y)
    canvas.setDash()
    for x, y in dots:
        canvas.circle(x, y, 2, fill=1)


def _legend(paper: Paper, x: float, y: float) -> None:
    for what, white in _BARS:
        _bar(paper, x, y, 8, 8, white)
        x += 12 + paper.text(x + 12, y, what, size=SMALLEST) + 14
    paper.canvas.circle(x + 4, y + 4, 2, fill=1)
    paper.text(x + 12, y, "on the racks at the month's end", size=SMALLEST)


def _table(paper: Paper, months: Sequence[MonthBars], y: float) -> float:
    """Write the chart's figures and return where they end."""
    columns = [MARGIN + k * 32 * MM for k in range(1, 6)]
    heads = ("bought", "used in parts", "scrapped", "on the racks")
    paper.text(MARGIN, y, "month", fonts.BOLD, SMALLEST)
    for x, head in zip(columns, heads, strict=False):
        paper.text(x + 10 * MM, y, head, fonts.BOLD, SMALLEST, align="right")
    for month in months:
        y -= 12
        paper.text(MARGIN, y, month.month, size=SMALLEST)
        figures = (month.bought, month.used, month.scrapped, month.racks)
        for x, figure in zip(columns, figures, strict=False):
            paper.text(x + 10 * MM, y, f"{figure:.2f}", size=SMALLEST, align="right")
    return y
