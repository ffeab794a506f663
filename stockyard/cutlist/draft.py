"""What one line says before the list as a whole has settled its units and its order of figures."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from stockyard.cutlist.figures import Figure
from stockyard.cutlist.lumber import Lumber
from stockyard.cutlist.model import KnownMaterial, Use
from stockyard.cutlist.words import KIND_WORDS, MATERIAL_WORDS


class Order(StrEnum):
    """Which of two face figures is the length."""

    SAID = "said"
    UNSAID = "unsaid"
    AFTER_THICKNESS = "after thickness"
    MARKED = "marked"


@dataclass(frozen=True, slots=True)
class Match:
    """That a part is matched: the set's name, empty where none is given, and along, across or nothing."""

    name: str = ""
    run: str = ""


@dataclass(frozen=True, slots=True)
class Substance:
    """Material words and thickness; `used` are the tokens that say them."""

    words: str = ""
    thickness: Figure | None = None
    used: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What a heading says of the lines below it; `maybe` are material words that may be only its title."""

    title: str = ""
    material: str = ""
    thickness: Figure | None = None
    nominal: str | None = None
    finished: bool | None = None
    bands: str = ""
    grain: str = ""
    match: Match | None = None
    batch: str = ""
    rough: str = ""
    maybe: str = ""
    spans: tuple[tuple[int, int, Use], ...] = ()
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """One entry: `first` and `second` are the face figures as written, length first when `order` is SAID.

    `marks` are the letters of both ("HW") when `order` is MARKED: they do not tell which is the length.
    With `nominal`, `first` is the length alone. `count` None when the line gives none. `own` is what the
    entry itself says of its material, `lead` an "all" or "only" before it, `unread` the words kept as a
    note only, `rough` what is said of sawing it larger, `band` what is said of the band itself, `carried`
    whether "same" gave it its thickness, `spans` the uses of its words.
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
    band: str = ""
    finished: bool | None = None
    match: Match | None = None
    batch: str = ""
    rough: str = ""
    note: str = ""
    unread: tuple[str, ...] = ()
    own: Substance = Substance()
    lead: str = ""
    carried: bool = False
    spans: tuple[tuple[int, int, Use], ...] = ()
    heading: Heading = field(default_factory=Heading)
    line: int = 0
    column: int = 1
    text: str = ""


@dataclass(frozen=True, slots=True)
class Above:
    """The parts read before an entry: those of the lines above it, then those on its own line.

    `doubtful`: a line below the heading is still open, so that what came last is not known.
    """

    lines: Sequence[Draft] = ()
    own: Sequence[Draft] = ()
    doubtful: bool = False

    def latest(self, name: str = "") -> Draft | None:
        """Return the last part, or the last of a name (any case); None if there is none."""
        wanted = name.casefold().strip()
        both = itertools.chain(reversed(self.own), reversed(self.lines))
        return next((d for d in both if not wanted or d.name.casefold() == wanted), None)


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
