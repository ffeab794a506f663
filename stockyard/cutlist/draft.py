"""What one line says before the list as a whole has settled its units and its order of figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from stockyard.cutlist.figures import Figure
from stockyard.cutlist.lumber import Lumber
from stockyard.cutlist.model import KnownMaterial
from stockyard.cutlist.words import KIND_WORDS, MATERIAL_WORDS


class Order(StrEnum):
    """Which of two face figures is the length."""

    SAID = "said"
    UNSAID = "unsaid"
    AFTER_THICKNESS = "after thickness"
    MARKED = "marked"


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What a heading says of the lines below it."""

    title: str = ""
    material: str = ""
    thickness: Figure | None = None
    nominal: str | None = None
    finished: bool | None = None
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """One entry: `first` and `second` are the face figures as written, length first when `order` is SAID.

    `marks` are the letters of both ("HW") when `order` is MARKED: they do not tell which is the length.
    With `nominal`, `first` is the length alone. `count` None when the line gives none.
    """

    name: str
    count: int | None
    first: Figure
    second: Figure | None
    order: Order = Order.UNSAID
    marks: str = ""
    thickness: Figure | None = None
    named: Figure | None = None
    nominal: str | None = None
    rip_from: str | None = None
    material: str = ""
    grain: str = ""
    bands: str = ""
    finished: bool | None = None
    note: str = ""
    heading: Heading = field(default_factory=Heading)
    line: int = 0
    column: int = 1
    text: str = ""


@dataclass(frozen=True, slots=True)
class Shop:
    """What reading a line needs to know of the shop: its lumber sizes, its materials and their words."""

    lumber: Lumber
    materials: tuple[KnownMaterial, ...] = ()
    words: frozenset[str] = MATERIAL_WORDS

    @classmethod
    def of(cls, lumber: Lumber, materials: Sequence[KnownMaterial]) -> Shop:
        """Return the shop with the words of its material names added to those of the trade."""
        own = {w for m in materials for w in m.name.casefold().split() if w.isalpha() and len(w) > 1}
        return cls(lumber, tuple(materials), MATERIAL_WORDS | (own - KIND_WORDS))
