"""A sheet for the router as plain data, and how its drawing is to be made: units, origin, layers.

Lengths are ticks. On the piece x runs along its length, y along its width, from one corner; with the face
up and x to the right, y runs away from the person.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, fields
from enum import StrEnum

from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER, TICKS_PER_INCH, TICKS_PER_MM, Unit

Box = tuple[int, int, int, int]
"""x, y, dx, dy."""
Vertex = tuple[float, float, float]
"""x, y, and the bulge of the arc to the next vertex: the tangent of a quarter of its angle, 0 for a line."""
Loop = tuple[Vertex, ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """The shape of a part in mm, from the low corner of its bounding rectangle; the outermost loop first."""

    length: float
    width: float
    loops: tuple[Loop, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutedPart:
    """A part where it lies. `turned`: its length lies along y. `outline` None: it is a plain rectangle."""

    label: str
    box: Box
    turned: bool = False
    outline: Outline | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutedSheet:
    """One sheet: what it is, what comes off it, what may not be touched, what goes back to the rack.

    `clamps`: rectangles that no part touches. `grain`: whether it runs along x.
    """

    name: str
    material: str
    length: int
    width: int
    thickness: int | None
    grain: bool
    parts: tuple[RoutedPart, ...]
    clamps: tuple[Box, ...] = ()
    remains: tuple[Box, ...] = ()


class Origin(StrEnum):
    """Where on the drawn sheet the machine's zero is."""

    LOWER_LEFT = "lower left"
    LOWER_RIGHT = "lower right"
    UPPER_LEFT = "upper left"
    UPPER_RIGHT = "upper right"
    CENTRE = "centre"


class Release(StrEnum):
    """Which form of the drawing exchange file is written: R12 for the oldest machines."""

    R2000 = "R2000"
    R12 = "R12"


@dataclass(frozen=True, slots=True, kw_only=True)
class Layers:
    """The names of the layers."""

    parts: str = "PARTS"
    sheet: str = "SHEET"
    clamps: str = "CLAMPS"
    labels: str = "LABELS"
    remains: str = "REMAINS"
    tabs: str = "TABS"

    def check(self, release: Release) -> None:
        """See that the file can hold the names.

        Raises:
            BadInput: a name that is empty, too long, used twice or has a character that is not allowed.
        """
        most, allowed = (
            (31, r"[A-Za-z0-9$_-]+") if release is Release.R12 else (255, r'[^<>/\\":;?*|=`,\x00-\x1f]+')
        )
        seen: set[str] = set()
        for f in fields(self):
            name = getattr(self, f.name)
            if len(name) > most or not re.fullmatch(allowed, name) or name != name.strip():
                raise BadInput(
                    f"layer for {f.name}: {name!r} is no layer name in {release}; use letters, figures, -, _"
                )
            if name.upper() in seen:
                raise BadInput(f"layer for {f.name}: {name!r} is the name of another layer too")
            seen.add(name.upper())


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawingRules:
    """How sheets are drawn for the machine.

    `along_y`: the sheet lies with its length along the machine's y. Parts with a side under `small`, and
    those farther than `reach` from the edge (None: the table holds all over), get tabs `tab_width` wide and
    half the thickness high (3/16 in, common practice, no source; 6 in as well).
    """

    unit: Unit = Unit.MM
    origin: Origin = Origin.LOWER_LEFT
    along_y: bool = False
    release: Release = Release.R2000
    layers: Layers = Layers()
    small: int = 6 * TICKS_PER_INCH
    reach: int | None = None
    tab_width: int = 3 * TICKS_PER_INCH // 16

    @property
    def scale(self) -> float:
        """Ticks in one unit of the drawing."""
        return float(TICKS_PER[self.unit])


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

    def loops(self, part: RoutedPart) -> tuple[Loop, ...]:
        """Return the outline of a part where it lies, with its holes."""
        if part.outline is None:
            return (self.corners(part.box),)
        x, y, dx, _ = part.box

        def vertex(u: float, v: float, bulge: float) -> Vertex:
            u, v = u * TICKS_PER_MM, v * TICKS_PER_MM
            at = (x + dx - v, y + u) if part.turned else (x + u, y + v)
            return (*self.point(*at), bulge)

        return tuple(tuple(vertex(*v) for v in loop) for loop in part.outline.loops)


def wants_tabs(sheet: RoutedSheet, part: RoutedPart, rules: DrawingRules) -> bool:
    """Whether a part is so small, or so far from the edge, that it may come loose."""
    x, y, dx, dy = part.box
    far = min(x, y, sheet.length - x - dx, sheet.width - y - dy)
    return min(dx, dy) < rules.small or (rules.reach is not None and far > rules.reach)


def tab_lines(sheet: RoutedSheet, part: RoutedPart, rules: DrawingRules) -> Iterator[Box]:
    """Yield where the tabs of a plain part go: the middle of its two longer edges, as boxes of no height."""
    if part.outline is not None or not wants_tabs(sheet, part, rules):
        return
    x, y, dx, dy = part.box
    wide = min(rules.tab_width, max(dx, dy))
    if dx >= dy:
        yield from ((x + (dx - wide) // 2, at, wide, 0) for at in (y, y + dy))
    else:
        yield from ((at, y + (dy - wide) // 2, 0, wide) for at in (x, x + dx))
