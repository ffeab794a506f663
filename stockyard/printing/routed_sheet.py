"""A sheet for the router as plain data, where its points lie on the drawing, and which parts want tabs.

Lengths are ticks. On the piece x runs along its length, y along its width, from one corner; with the face
up and x to the right, y runs away from the person.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from stockyard.flaws import Flaw, biggest_clear
from stockyard.measure import TICKS_PER_MM
from stockyard.printing.outline_tabs import outline_tabs
from stockyard.printing.rest_outline import rest_outline
from stockyard.routing import Box, DrawingRules, Layers, Origin, Release

__all__ = [
    "Box", "DrawingRules", "Frame", "Layers", "Loop", "Origin", "Outline", "Release", "Remain", "RoutedPart",
    "RoutedSheet", "Vertex", "clear_of", "tab_lines", "wants_tabs",
]  # fmt: skip

Vertex = tuple[float, float, float]
"""x, y, and the bulge of the arc to the next vertex: the tangent of a quarter of its angle, 0 for a line."""
Loop = tuple[Vertex, ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """The shape of a part in mm, from the low corner of its bounding rectangle; the outermost loop first.

    `file` is what it was read from, empty where nobody knows.
    """

    length: float
    width: float
    loops: tuple[Loop, ...]
    file: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutedPart:
    """A part where it lies. `turned`: its length lies along y. `outline` None: it is a plain rectangle."""

    label: str
    box: Box
    turned: bool = False
    outline: Outline | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remain:
    """What goes back to the rack: its tag and place, empty where nobody knows them yet.

    `box` is where it lies on the piece, of an L or a frame the rectangle round it less its `holes`. `kept`:
    it was cut so, and `place` says where it is now; where it lay may not be known (`drawn` False).
    """

    box: Box
    tag: str = ""
    place: str = ""
    holes: tuple[Box, ...] = ()
    kept: bool = False
    drawn: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutedSheet:
    """One sheet: what it is, what comes off it, what may not be touched, what goes back to the rack.

    `clamps`: where the table holds it; `flaws`: what of it is no good; no part touches either. `grain`:
    whether it runs along x. `instead` is what remains where nothing of it is cut up. `place` says where it is
    fetched, `note` what is written of it. `stem` is the name of its files, its own where there is none.
    `bit`: the widest bit it is laid out for; `one_pass`: that one pass cuts two edges.
    """

    name: str
    material: str
    length: int
    width: int
    thickness: int | None
    grain: bool
    parts: tuple[RoutedPart, ...]
    clamps: tuple[Box, ...] = ()
    flaws: tuple[Box, ...] = ()
    remains: tuple[Remain, ...] = ()
    instead: tuple[Remain, ...] = ()
    place: str = ""
    note: str = ""
    stem: str = ""
    bit: int | None = None
    one_pass: bool = False


class Frame:
    """Takes points of one sheet to where the machine sees them, turned but never mirrored."""

    def __init__(self, sheet: RoutedSheet, rules: DrawingRules) -> None:
        self._sheet, self._rules = sheet, rules
        wide, high = (sheet.width, sheet.length) if rules.along_y else (sheet.length, sheet.width)
        self.size = wide / rules.scale, high / rules.scale
        right, upper = rules.origin.endswith("right"), rules.origin.startswith("upper")
        zero = (wide if right else 0, high if upper else 0)
        self._zero = (wide / 2, high / 2) if rules.origin is Origin.CENTRE else zero

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Return where the point x, y (ticks on the piece) is on the drawing."""
        if self._rules.along_y:
            x, y = self._sheet.width - y, x
        return (x - self._zero[0]) / self._rules.scale, (y - self._zero[1]) / self._rules.scale

    def corners(self, box: Box) -> Loop:
        """Return the corners of a box, counter-clockwise."""
        x, y, dx, dy = box
        around = (x, y), (x + dx, y), (x + dx, y + dy), (x, y + dy)
        return tuple((*self.point(*corner), 0.0) for corner in around)

    def rest(self, left: Remain) -> tuple[Loop, ...]:
        """Return the outline of what goes back where it lies, with its holes."""
        lines = rest_outline(left.box, left.holes)
        return tuple(tuple((*self.point(*corner), 0.0) for corner in line) for line in lines)

    def loops(self, part: RoutedPart) -> tuple[Loop, ...]:
        """Return the outline of a part where it lies, with its holes."""
        if part.outline is None:
            return (self.corners(part.box),)

        def vertex(u: float, v: float, bulge: float) -> Vertex:
            return (*self.point(*_on_piece(part, u, v)), bulge)

        return tuple(tuple(vertex(*v) for v in loop) for loop in part.outline.loops)


def _on_piece(part: RoutedPart, u: float, v: float) -> tuple[float, float]:
    """Return where a point of a part's outline (mm from its low corner) lies on the piece (ticks)."""
    x, y, dx, _ = part.box
    u, v = u * TICKS_PER_MM, v * TICKS_PER_MM
    return (x + dx - v, y + u) if part.turned else (x + u, y + v)


def clear_of(left: Remain) -> Box:
    """Return the largest rectangle of what goes back that none of its holes reaches into."""
    x, y, dx, dy = left.box
    clear = biggest_clear([Flaw(a - x, b - y, c, d) for a, b, c, d in left.holes], dx, dy)
    return (x + clear.x, y + clear.y, clear.dx, clear.dy) if clear else left.box


def wants_tabs(sheet: RoutedSheet, part: RoutedPart, rules: DrawingRules) -> bool:
    """Whether a part is so small, or so far from the edge, that it may come loose."""
    x, y, dx, dy = part.box
    far = min(x, y, sheet.length - x - dx, sheet.width - y - dy)
    return min(dx, dy) < rules.small or (rules.reach is not None and far > rules.reach)


def tab_lines(sheet: RoutedSheet, part: RoutedPart, rules: DrawingRules) -> Iterator[Box]:
    """Yield where the tabs of a part go, as boxes from one end of a tab to the other.

    They lie on two straight stretches of its outline about opposite each other, of a rectangle its two longer
    edges; none lies on the sheet's own edge, where nothing would hold. Holes have none.
    """
    if not wants_tabs(sheet, part, rules):
        return
    _, _, dx, dy = part.box
    if part.turned:
        dx, dy = dy, dx
    plain = ((0, 0), (dx, 0), (dx, dy), (0, dy))
    loop = (
        part.outline.loops[0] if part.outline else [(u / TICKS_PER_MM, v / TICKS_PER_MM, 0) for u, v in plain]
    )

    def bare(*ends: tuple[float, float]) -> bool:
        (x1, y1), (x2, y2) = (_on_piece(part, *end) for end in ends)
        return any(
            max(abs(a - edge), abs(b - edge)) < 1
            for a, b, edges in ((x1, x2, (0, sheet.length)), (y1, y2, (0, sheet.width)))
            for edge in edges
        )

    for ends in outline_tabs(loop, min(rules.tab_width, max(dx, dy)) / TICKS_PER_MM, bare):
        (x1, y1), (x2, y2) = (_on_piece(part, *end) for end in ends)
        yield round(x1), round(y1), round(x2) - round(x1), round(y2) - round(y1)
