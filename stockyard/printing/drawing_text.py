"""Draw in a terminal: characters on a grid, box-drawing ones or plain ASCII."""

from __future__ import annotations

import math
import unicodedata

from stockyard.printing.drawing import Arrow, Badge, Box, Drawing, Fill, Metrics, Region, Words
from stockyard.text import leaving

# Which sides of a cell a line leaves by: bits for up, right, down, left.
_UP, _RIGHT, _DOWN, _LEFT = 1, 2, 4, 8
_LINES = " ╵╶└╷│┌├╴┘─┴┐┤┬┼"
_ASCII = " |-+||++-+-+++++"
_PLAIN_SIGNS = str.maketrans({
    "×": "x", "≈": "~", "→": "->", "–": "-", "″": '"', "◄": "<", "►": ">", "▲": "^", "▼": "v",
})  # fmt: skip
_FILLS = {Fill.WHITE: " ", Fill.HATCH: "░", Fill.CROSS: "╳", Fill.BLACK: "█"}
_PLAIN_FILLS = {Fill.WHITE: " ", Fill.HATCH: ".", Fill.CROSS: "X", Fill.BLACK: "#"}


def cells(text: str) -> int:
    """Return how many columns `text` takes: wide characters two, combining marks none."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text
    )


def plain_signs(text: str) -> str:
    """Return `text` with our own signs in ASCII; names stay as they are."""
    return text.translate(_PLAIN_SIGNS)


def terminal_metrics() -> Metrics:
    """Return the metrics of a terminal: every letter one cell, a cell twice as high as broad."""
    return Metrics(
        width=lambda text, _size, _bold: float(cells(leaving(text))),
        sizes=(1.0,),
        leading=1.0,
        margin=0.5,
        badge=1.0,
        gap=0.6,
        padding=0.0,
        tip=0.0,
        gutter=0.0,
        foot=1.0,
        least=4.0,
        most=12.0,
        strip=2.0,
        tall=2.0,
        may_turn=False,
        snap=round,
    )


def draw_text(drawing: Drawing, *, ascii_only: bool = False) -> str:
    """Return `drawing` (made with terminal metrics) as text: waste dotted, damage crossed, clamps black.

    `ascii_only` uses no character outside ASCII for its lines and signs; names are written as they are.
    """
    grid = _Grid(math.ceil(drawing.width) + 1, math.ceil(drawing.height) + 1)
    for shape in drawing.shapes:
        if isinstance(shape, Box):
            grid.box(shape)
        elif isinstance(shape, (Words, Badge)):
            grid.write(shape.at, plain_signs(shape.text) if ascii_only else shape.text)
        elif isinstance(shape, Arrow):
            grid.write(*_arrow(shape, ascii_only=ascii_only))
    return grid.text(_ASCII if ascii_only else _LINES, _PLAIN_FILLS if ascii_only else _FILLS)


def _arrow(arrow: Arrow, *, ascii_only: bool) -> tuple[Region, str]:
    at = Region(min(arrow.x1, arrow.x2), 0, abs(arrow.x2 - arrow.x1), 1)
    if at.w < 1:
        return at, "|" if ascii_only else "↕"
    long = max(int(at.w), 2)
    return at, f"<{'-' * (long - 2)}>" if ascii_only else f"←{'─' * (long - 2)}→"


class _Grid:
    """Cells of lines, waste and letters; row 0 is the lowest."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.lines = [[0] * width for _ in range(height)]
        self.fills = [[Fill.WHITE] * width for _ in range(height)]
        self.letters: list[list[str | None]] = [[None] * width for _ in range(height)]

    def box(self, box: Box) -> None:
        """Outline a box; inside it is waste, damage, a clamp or clear."""
        x1, y1 = round(box.at.x), round(box.at.y)
        x2, y2 = round(box.at.x + box.at.w), round(box.at.y + box.at.h)
        if box.fill is Fill.BLACK:  # however small, it is seen
            for y in range(y1, y2 + 1):
                self.lines[y][x1 : x2 + 1] = [0] * (x2 + 1 - x1)
                self.fills[y][x1 : x2 + 1] = [box.fill] * (x2 + 1 - x1)
            return
        for y in range(y1 + 1, y2):
            for x in range(x1 + 1, x2):
                self.lines[y][x] = 0
                self.fills[y][x] = box.fill
        for x in range(x1, x2):
            for y in (y1, y2):
                self.lines[y][x] |= _RIGHT
                self.lines[y][x + 1] |= _LEFT
        for y in range(y1, y2):
            for x in (x1, x2):
                self.lines[y][x] |= _UP
                self.lines[y + 1][x] |= _DOWN

    def write(self, at: Region, text: str) -> None:
        """Put letters on the grid, the first in the leftmost cell of `at`."""
        x, y = math.ceil(at.x - 1e-9), math.ceil(at.y - 1e-9)
        for c in leaving(text):
            wide = cells(c)
            if not wide and x and self.letters[y][x - 1] is not None:
                self.letters[y][x - 1] = (self.letters[y][x - 1] or "") + c
            elif 0 <= x < self.width and 0 <= y < self.height:
                self.letters[y][x] = c
                if wide == 2 and x + 1 < self.width:
                    self.letters[y][x + 1] = ""
            x += wide

    def text(self, lines: str, fills: dict[Fill, str]) -> str:
        """Return the grid as text, the top row first."""
        rows = []
        for y in range(self.height - 1, -1, -1):
            row = ""
            for x in range(self.width):
                letter = self.letters[y][x]
                if letter is not None:
                    row += letter
                elif self.lines[y][x]:
                    row += lines[self.lines[y][x]]
                else:
                    row += fills[self.fills[y][x]]
            rows.append(row.rstrip())
        return "\n".join(rows).strip("\n") + "\n"
