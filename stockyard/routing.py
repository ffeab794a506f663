"""How a shop routes: where zero is, what layers are called, where clamps lie, what may come loose.

Lengths are ticks. On the piece x runs along its length, y along its width, from one corner; with the face
up and x to the right, y runs away from the person.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from enum import StrEnum

from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER, TICKS_PER_INCH, Unit, decimal, read_rectangle

Box = tuple[int, int, int, int]
"""x, y, dx, dy."""


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
    flaws: str = "FLAWS"
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


def layers_of(text: str) -> Layers:
    """Return the layers that `text` names, such as `parts=OUTSIDE, tabs=BRIDGES`; the others as usual.

    Raises:
        BadInput: no such layer, one named twice, or a text that is not so written.
    """
    return layers_named(_pair(one) for one in text.split(",") if one.strip())


def layers_named(pairs: Iterable[tuple[str, str]], usual: Layers = Layers()) -> Layers:
    """Return the layers with these names, the others as in `usual`; errors as `layers_of`."""
    names: dict[str, str] = {}
    for what, name in pairs:
        if what not in Layers.__slots__:
            raise BadInput(f"there is no layer for '{what[:20]}'; there are {', '.join(Layers.__slots__)}")
        if what in names:
            raise BadInput(f"the layer for {what} is named twice")
        names[what] = name
    if "FLAWS" in {name.upper() for what, name in names.items() if what != "flaws"}:
        # A shop may have called another layer so before flaws had one of their own.
        names.setdefault("flaws", "FLAWS-2")
    return replace(usual, **names)


def layers_text(layers: Layers) -> str:
    """Return layers as `layers_of` reads them."""
    return ", ".join(f"{f.name}={getattr(layers, f.name)}" for f in fields(layers))


def _pair(text: str) -> tuple[str, str]:
    what, mark, name = (side.strip() for side in text.partition("="))
    if not (mark and what and name):
        raise BadInput(f"'{text.strip()[:40]}' is not WHAT=NAME, such as parts=OUTSIDE")
    return what, name


def clamps_of(text: str) -> tuple[Box, ...]:
    """Return the clamp zones of a text that `clamps_kept` gave."""
    return tuple((x, y, dx, dy) for x, y, dx, dy in (map(int, one.split(",")) for one in text.split()))


def clipped(clamps: Iterable[Box], length: int, width: int) -> tuple[Box, ...]:
    """Return what of the table's clamp zones lies on a piece of this size."""
    ends = ((x, y, min(x + dx, length), min(y + dy, width)) for x, y, dx, dy in clamps)
    return tuple((x, y, right - x, top - y) for x, y, right, top in ends if x < right and y < top)


def kept_clear(clamps: Iterable[Box], gap: int, length: int, width: int) -> tuple[Box, ...]:
    """Return where on a piece no part may lie, so that a bit round it, `gap` wide, meets no clamp."""
    wide = ((max(0, x - gap), max(0, y - gap), x + dx + gap, y + dy + gap) for x, y, dx, dy in clamps)
    return clipped(((x, y, right - x, top - y) for x, y, right, top in wide), length, width)


def clamps_kept(boxes: Iterable[Box]) -> str:
    """Return clamp zones as the record keeps them: ticks."""
    return " ".join(",".join(map(str, box)) for box in boxes)


def read_clamps(text: str, unit: Unit) -> tuple[Box, ...]:
    """Return the clamp zones that a person wrote: `60 x 40 at 0, 0; 60 x 40 at 1180, 0`.

    Raises:
        BadInput: a text that is not so written, or a length that is none.
    """
    wanted = "no clamp zone: write its size and place, such as 60 x 40 at 0, 0"
    return tuple(read_rectangle(one, unit, wanted) for one in text.split(";") if one.strip())


def write_clamps(boxes: Iterable[Box], unit: Unit) -> str:
    """Return clamp zones as a person writes them, exactly."""

    def said(ticks: int) -> str:
        return f"{decimal(ticks, unit):f}"

    return "; ".join(f"{said(dx)} x {said(dy)} at {said(x)}, {said(y)}" for x, y, dx, dy in boxes)
