"""The drawing of the operator's sheet: the sheet as the machine sees it, in black and white."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.flaws import Flaw, biggest_clear
from stockyard.printing.drawing import Region
from stockyard.printing.drawing_pdf import hatch
from stockyard.printing.outline_tabs import flattened
from stockyard.printing.output import Paper
from stockyard.printing.page import SMALLEST, Style, bold, plain
from stockyard.printing.routed_sheet import (
    Box,
    DrawingRules,
    Frame,
    Loop,
    Origin,
    RoutedPart,
    RoutedSheet,
    clear_of,
    tab_lines,
)

# How far a word stands from its outline, how long the arrows of the axes are, and a tab on paper at least.
AIR, AXIS, TAB = 4.0, 26.0, 5.0
GRAIN, CLAMP = "grain", "clamp"
_SMALL, _NUMBER = plain(SMALLEST), 13.0
ABOVE, BELOW = AXIS + 2 * AIR, 6 * AIR
"""The room that the axes of a sheet whose zero is above, and those and its grain below, take."""


class SheetDrawing:
    """Draws one sheet with its lower left corner at (left, base), `scale` points to a millimetre."""

    def __init__(
        self, paper: Paper, sheet: RoutedSheet, rules: DrawingRules, at: tuple[float, float], scale: float
    ) -> None:
        self._paper, self._sheet, self._rules = paper, sheet, rules
        self._frame = Frame(sheet, DrawingRules(along_y=rules.along_y))
        (self._left, self._base), self._scale = at, scale

    def draw(self, order: Sequence[int]) -> None:
        """Draw all of it; `order` are the parts in the order in which they come off, which numbers them."""
        sheet, canvas = self._sheet, self._paper.canvas
        canvas.setLineWidth(1.6)
        self._box((0, 0, sheet.length, sheet.width))
        for n, i in enumerate(order, 1):
            self._part(sheet.parts[i], n)
        for n, left in enumerate(sheet.remains, 1):
            if left.drawn:
                canvas.setLineWidth(0.6)
                canvas.setDash(4, 3)
                for line in self._frame.rest(left):
                    self._line(line)
                canvas.setDash()
                self._words(self._region(clear_of(left)), left.tag or f"R{n}", "")
        self._spoilt()
        if sheet.grain:
            self._grain()
        self._axes()

    def _spot(self, x: float, y: float) -> tuple[float, float]:
        return x * self._scale + self._left, y * self._scale + self._base

    def _region(self, box: Box) -> Region:
        (x, y, _), _, (far_x, far_y, _), _ = self._frame.corners(box)
        (a, b), (c, d) = self._spot(x, y), self._spot(far_x, far_y)
        return Region(min(a, c), min(b, d), abs(c - a), abs(d - b))

    def _box(self, box: Box) -> Region:
        at = self._region(box)
        self._paper.canvas.rect(at.x, at.y, at.w, at.h)
        return at

    def _line(self, loop: Loop) -> None:
        path, (first, *others) = self._paper.canvas.beginPath(), flattened(loop)
        path.moveTo(*self._spot(*first))
        for point in others:
            path.lineTo(*self._spot(*point))
        path.close()
        self._paper.canvas.drawPath(path)

    def _part(self, part: RoutedPart, number: int) -> None:
        canvas = self._paper.canvas
        canvas.setLineWidth(0.3 if part.outline else 0.8)
        at = self._box(part.box)
        if part.outline:
            canvas.setLineWidth(0.8)
            for loop in self._frame.loops(part):
                self._line(loop)
        canvas.setLineWidth(3.2)
        for x, y, dx, dy in tab_lines(self._sheet, part, self._rules):
            self._tab(self._spot(*self._frame.point(x, y)), self._spot(*self._frame.point(x + dx, y + dy)))
        canvas.setLineWidth(0.8)
        clear = self._clear(part, at)
        narrow = clear.w < bold(SMALLEST).width(str(number)) or clear.h < SMALLEST
        self._words(at if narrow else clear, str(number), part.label)

    def _clear(self, part: RoutedPart, at: Region) -> Region:
        """Return the largest rectangle within that of a part that none of its holes reaches into."""
        holes = []
        for loop in self._frame.loops(part)[1:] if part.outline else ():
            spots = [self._spot(*point) for point in flattened(loop)]
            xs, ys = [round(x - at.x) for x, _ in spots], [round(y - at.y) for _, y in spots]
            holes.append(Flaw(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)))
        clear = biggest_clear(holes, round(at.w), round(at.h)) if holes else None
        return Region(at.x + clear.x, at.y + clear.y, clear.dx, clear.dy) if clear else at

    def _tab(self, here: tuple[float, float], there: tuple[float, float]) -> None:
        """Draw a tab as a thick bar, longer than it is where nobody would see it."""
        (x, y), (to_x, to_y) = here, there
        long = max(((to_x - x) ** 2 + (to_y - y) ** 2) ** 0.5, 1e-9)
        more = max(0.0, TAB / long - 1) / 2
        dx, dy = (to_x - x) * more, (to_y - y) * more
        self._paper.canvas.line(x - dx, y - dy, to_x + dx, to_y + dy)

    def _words(self, at: Region, large: str, small: str) -> None:
        """Write in the middle of a region, and under it in small letters what there is room for."""
        style = bold(max(SMALLEST, min(_NUMBER, at.h * 0.6, at.w * 0.6))).shrunk(large, at.w - AIR)
        if style.width(large) > at.w and at.h > at.w:
            self._upward(at, large, style)
            return
        both = small and _SMALL.width(small) + AIR < at.w and style.size + _SMALL.step + AIR < at.h
        x, y = at.x + at.w / 2, at.y + at.h / 2 - style.size / 3 + (_SMALL.step / 2 if both else 0)
        self._write(x, y, large, style)
        if both:
            self._write(x, y - _SMALL.step, small, _SMALL)

    def _upward(self, at: Region, text: str, style: Style) -> None:
        canvas = self._paper.canvas
        canvas.saveState()
        canvas.translate(at.x + at.w / 2 + style.size / 3, at.y + at.h / 2)
        canvas.rotate(90)
        self._write(0, 0, text, style)
        canvas.restoreState()

    def _write(self, x: float, y: float, text: str, style: Style) -> None:
        self._paper.text(x, y, text, style.face, style.size, align="centre")

    def _spoilt(self) -> None:
        """Draw what the bit must keep clear of: flaws hatched both ways, clamps black with their name."""
        canvas = self._paper.canvas
        canvas.setLineWidth(0.8)
        for box in self._sheet.flaws:
            at = self._region(box)
            canvas.setFillGray(1)
            canvas.rect(at.x, at.y, at.w, at.h, stroke=0, fill=1)
            canvas.setFillGray(0)
            hatch(canvas, at, both_ways=True)
            canvas.rect(at.x, at.y, at.w, at.h)
        for box in self._sheet.clamps:
            at = self._region(box)
            canvas.rect(at.x, at.y, at.w, at.h, fill=1)
            if _SMALL.width(CLAMP) + AIR < at.w and _SMALL.step < at.h:
                canvas.setFillGray(1)
                self._write(at.x + at.w / 2, at.y + at.h / 2 - _SMALL.size / 3, CLAMP, _SMALL)
                canvas.setFillGray(0)

    def _grain(self) -> None:
        """Draw a double arrow the way the grain runs, under the sheet or beside it, with its word."""
        whole = self._region((0, 0, self._sheet.length, self._sheet.width))
        long = min(90.0, whole.h if self._rules.along_y else whole.w)
        if self._rules.along_y:
            x, y = whole.x + whole.w + 4 * AIR, whole.y + whole.h / 2
            self._arrow(x, y - long / 2, x, y + long / 2, both=True)
            self._paper.text(x + 2 * AIR, y - _SMALL.size / 3, GRAIN, _SMALL.face, _SMALL.size)
            return
        x, y = whole.x + whole.w / 2, whole.y - 4 * AIR
        self._arrow(x - long / 2, y, x + long / 2, y, both=True)
        self._paper.text(x + long / 2 + AIR, y - _SMALL.size / 3, GRAIN, _SMALL.face, _SMALL.size)

    def _axes(self) -> None:
        """Draw where zero is and which way the axes run from it."""
        origin = self._rules.origin
        whole = self._region((0, 0, self._sheet.length, self._sheet.width))
        centre = origin is Origin.CENTRE
        x = whole.x + whole.w * (0.5 if centre else float(origin.endswith("right")))
        y = whole.y + whole.h * (0.5 if centre else float(origin.startswith("upper")))
        canvas = self._paper.canvas
        canvas.setStrokeGray(1)
        canvas.circle(x, y, 6, fill=1)
        canvas.setStrokeGray(0)
        self._arrow(x, y, x + AXIS, y)
        self._arrow(x, y, x, y + AXIS)
        low = origin is not Origin.CENTRE and not origin.startswith("upper")
        name = bold(SMALLEST)
        self._write(x + AXIS, y - name.size - 1 if low else y + AIR, "x", name)
        self._write(x - 2 * AIR if not origin.endswith("right") else x + 2 * AIR, y + AXIS - AIR, "y", name)

    def _arrow(self, x1: float, y1: float, x2: float, y2: float, *, both: bool = False) -> None:
        """Draw a level or an upright arrow, filled heads at its end or at both."""
        canvas, level = self._paper.canvas, y1 == y2
        canvas.setLineWidth(1.2)
        canvas.line(x1, y1, x2, y2)
        for x, y, back in ((x2, y2, -7), (x1, y1, 7))[: 2 if both else 1]:
            path = canvas.beginPath()
            path.moveTo(x, y)
            path.lineTo(*((x + back, y + 3) if level else (x + 3, y + back)))
            path.lineTo(*((x + back, y - 3) if level else (x - 3, y + back)))
            path.close()
            canvas.drawPath(path, stroke=0, fill=1)
