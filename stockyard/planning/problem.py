"""The question: parts to cut, stock to cut them from, and the rules of the saw.

Lengths are ticks (1/3200 mm), areas ticks², money ten-thousandths of the shop's currency.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple

from stockyard.effort import SAME, Effort
from stockyard.flaws import Flaw, clear_place, flaws_in
from stockyard.kinds import Grain, Kind, Method
from stockyard.measure import MONEY, Unit
from stockyard.planning.path import Shape
from stockyard.rough import Over
from stockyard.saws import Saws, can_cut
from stockyard.saws import is_limited as saws_limit
from stockyard.worth import Worth

__all__ = [
    "MONEY", "NO_TRIM", "Edge", "Flaw", "Grain", "Group", "Kind", "Method", "Part", "Problem", "Run", "Stock",
    "Trim", "fits", "flaws_in", "has_room", "is_limited", "lies_on", "narrower_than_bit", "too_thin", "turns",
]  # fmt: skip


# How far apart the measured thicknesses of one batch may lie where nobody says (common practice, no source).
BATCH_SPREAD = 640  # 0.2 mm


class Run(StrEnum):
    """How the members of a set follow each other: along the length of their piece, or across it."""

    ALONG = "along"
    ACROSS = "across"


class Edge(StrEnum):
    """An edge of a piece: its low or high end in x (the length), its low or high side in y (the width)."""

    X_LOW = "x_low"
    X_HIGH = "x_high"
    Y_LOW = "y_low"
    Y_HIGH = "y_high"


class Trim(NamedTuple):
    """How near parts may come to each edge of a piece; the trimming cut is within it."""

    x_low: int = 0
    x_high: int = 0
    y_low: int = 0
    y_high: int = 0

    @classmethod
    def all_round(cls, margin: int) -> Trim:
        """Return the same margin at all four edges."""
        return cls(margin, margin, margin, margin)

    def at(self, edge: Edge) -> int:
        """Return the margin at one edge."""
        return self[list(Edge).index(edge)]


NO_TRIM = Trim()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Equal pieces that may be cut.

    `length` runs along the grain. `count` None means as many as needed, to be bought. `cost` is
    for one piece. `dig` is how many pieces must be moved to reach it. No part may lie nearer to an edge
    than its `edge_trim`; leftovers may. No part touches one of the `flaws`, which every piece of the row has.
    `measured` is its thickness as a caliper says, None where nobody measured: such pieces are alike within
    one `delivery` (empty: within their row) and like no others. An area of it counts `dear` thousandths of
    one of the material in whose areas the problem's `effort` is.
    """

    id: str
    kind: Kind
    material: str
    length: int
    width: int
    thickness: int | None = None
    count: int | None = 1
    cost: int = 0
    grain: bool = False
    dig: int = 0
    edge_trim: Trim = NO_TRIM
    flaws: tuple[Flaw, ...] = ()
    measured: int | None = None
    delivery: str = ""
    dear: int = SAME

    def counts(self, area: int) -> int:
        """Return an area of it in ticks² of the material of the problem's `effort`."""
        return area * self.dear // SAME

    @property
    def area(self) -> int:
        """Face area in ticks²."""
        return self.length * self.width

    @property
    def is_wide(self) -> bool:
        """Whether its length is across: without grain the long side says which cut is called a rip."""
        return not self.grain and self.width > self.length

    @property
    def usable(self) -> tuple[int, int]:
        """Length and width less the edge trims; 0 or less where nothing is left."""
        x_low, x_high, y_low, y_high = self.edge_trim
        return self.length - x_low - x_high, self.width - y_low - y_high


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Equal parts wanted. `materials` and `thickness` None mean any; a higher `priority` goes first.

    `fixed`: it lies as written on every piece, grain or none. Parts of one `batch` come from pieces that
    measure alike. `only`: from stock rows of these ids alone, None for all. `length` and `width` are sawn
    sizes; `over` is in them and comes off later, when it is planed to `final_thickness` from stock that
    measures `least_thickness` or more. `shape`: what a router's bit runs along where it is no rectangle.
    """

    id: str
    length: int
    width: int
    count: int = 1
    thickness: int | None = None
    materials: tuple[str, ...] | None = None
    grain: Grain = Grain.ALONG
    priority: int = 0
    fixed: bool = False
    batch: str = ""
    only: tuple[str, ...] | None = None
    over: Over | None = None
    final_thickness: int | None = None
    least_thickness: int | None = None
    shape: Shape | None = None

    def lying(self, dx: int, dy: int) -> Shape | None:
        """Return its shape as it lies with these extents, None of a rectangle."""
        turned = self.shape is not None and (dx, dy) != (self.length, self.width)
        return self.shape.turned(self.width) if self.shape and turned else self.shape

    @property
    def area(self) -> int:
        """Face area of one, in ticks²."""
        return self.length * self.width


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """A matched set, `count` times: parts of one piece side by side in this order, a kerf apart and flush.

    `members` are part ids. The piece is kept together as one panel until the cut that takes the set apart.
    """

    id: str
    run: Run
    members: tuple[str, ...]
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One job's question. `unit` is only how its figures are written out again.

    For a router `kerf` is how far parts lie apart: the bit, and what is kept clear beside it. `one_pass`: the
    shop cuts two edges that lie just that far apart in one pass.
    """

    stock: tuple[Stock, ...]
    parts: tuple[Part, ...]
    unit: Unit = Unit.MM
    kerf: int = 0
    method: Method = Method.SAW
    worth: Worth = field(default_factory=Worth)
    effort: Effort = field(default_factory=Effort)
    saws: Saws = field(default_factory=Saws)
    one_pass: bool = False
    groups: tuple[Group, ...] = ()
    batch_spread: int = BATCH_SPREAD

    def effort_on(self, stock: Stock) -> Effort:
        """Return what hands and saw cost in areas of a piece's own material."""
        return self.effort.on(stock.dear)


def narrower_than_bit(problem: Problem, part: Part) -> bool:
    """Whether a part is to be routed by a bit that is wider than itself."""
    return problem.method is Method.ROUTER and min(part.length, part.width) < problem.kerf


def turns(part: Part, stock: Stock) -> tuple[bool, ...]:
    """Return the ways `part` may lie on `stock`: False as written, True turned, none if it may not.

    Only material, thickness, grain and what the part is kept to are judged here, not size.
    """
    if part.only is not None and stock.id not in part.only:
        return ()
    if part.materials is not None and stock.material not in part.materials:
        return ()
    if part.thickness is not None and part.thickness != stock.thickness:
        return ()
    if too_thin(part, stock):
        return ()
    if part.fixed:
        return (False,)
    square = part.length == part.width
    if not stock.grain or part.grain is Grain.ANY:
        return (False,) if square else (False, True)
    return (False,) if part.grain is Grain.ALONG else (True,)


def too_thin(part: Part, stock: Stock) -> bool:
    """Whether a piece is known to be too thin for a part that is planed."""
    thick = stock.measured or stock.thickness
    return part.least_thickness is not None and thick is not None and thick < part.least_thickness


def fits(part: Part, stock: Stock, saws: Saws | None = None) -> bool:
    """Whether one `part` can be cut from one piece of `stock` at all; with `saws`, by one of these."""
    return any(lies_on(part, stock, turned=turned, saws=saws) for turned in turns(part, stock))


def lies_on(part: Part, stock: Stock, *, turned: bool, saws: Saws | None = None) -> bool:
    """Whether a piece is large enough for a part that lies so, and the shop's saws reach."""
    length, width = stock.usable
    dx, dy = (part.width, part.length) if turned else (part.length, part.width)
    if dx > length or dy > width or (stock.flaws and not has_room(stock, dx, dy)):
        return False
    part_size, piece_size = (dx, dy), (stock.length, stock.width)
    if stock.is_wide:
        part_size, piece_size = (dy, dx), (stock.width, stock.length)
    return saws is None or can_cut(part_size, piece_size, saws)


def is_limited(stock: Stock, saws: Saws) -> bool:
    """Whether some cut of a piece may be out of the reach of the shop's saws."""
    length, width = (stock.width, stock.length) if stock.is_wide else (stock.length, stock.width)
    return saws_limit(length, width, saws)


def has_room(stock: Stock, dx: int, dy: int) -> bool:
    """Whether a piece has a place for a part of these extents that is clear of its flaws and edge trims."""
    length, width = stock.usable
    flaws = flaws_in(stock.flaws, stock.edge_trim.x_low, stock.edge_trim.y_low, length, width)
    return clear_place(flaws, length, width, dx, dy) is not None
