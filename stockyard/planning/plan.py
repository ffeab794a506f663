"""The answer: which pieces give which parts by which cuts, what is left, and what is proved.

Positions are ticks from one corner of the piece: x along its length, y along its width.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from stockyard.planning.problem import Edge, Flaw
from stockyard.planning.tree import Axis


class Status(StrEnum):
    """proven: no plan can cost less for full pieces (aim levels 1 and 2: all placed, bound met);
    feasible: all placed, not proven; short: some parts are not placed.
    """

    PROVEN = "proven"
    FEASIBLE = "feasible"
    SHORT = "short"


@dataclass(frozen=True, slots=True)
class Placement:
    """One part on a piece; `dx`, `dy` are its extents as it lies."""

    part: str
    x: int
    y: int
    dx: int
    dy: int


@dataclass(frozen=True, slots=True)
class Leftover:
    """A rectangle that remains and is worth keeping.

    `factory` names its edges that were never cut and still want a trim; `flaws` are those of the piece that
    it contains, seen from its own corner.
    """

    x: int
    y: int
    dx: int
    dy: int
    factory: tuple[Edge, ...] = ()
    flaws: tuple[Flaw, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One pass of the saw. The blade takes `at` .. `at + kerf` of `piece`, from its own low edge.

    `fence` is what the person sets: the size of the piece kept against the fence or stop.
    `gives` names the low and the high side, None for waste.
    """

    step: int
    piece: str
    direction: Axis
    at: int
    fence: int
    gives: tuple[str | None, str | None]

    @property
    def alike(self) -> tuple[int, str, Axis, int, int]:
        """All of it but the names of what it gives."""
        return self.step, self.piece, self.direction, self.at, self.fence


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What is cut from one physical piece of the stock row named `stock`.

    A leftover's name among the cuts is `left 1`, `left 2`, ... in the order of `leftovers`; the
    n-th copy of a part is `<part id> n`, counted over the whole plan.
    """

    stock: str
    parts: tuple[Placement, ...]
    cuts: tuple[Cut, ...]
    leftovers: tuple[Leftover, ...]


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Parts that no piece can give, and why."""

    part: str
    count: int
    reason: str


@dataclass(frozen=True, slots=True)
class Bound:
    """What no plan can beat: money for full pieces, stock area used (ticks²), and that in words."""

    full_cost: int
    stock_area: int
    says: str


class Turn(NamedTuple):
    """One cut in the order of work: a layout by its number, from 1 on, and a step of it."""

    layout: int
    step: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The whole answer for a job.

    `work` is the order of sawing over all pieces; empty means layout after layout.
    """

    status: Status
    bound: Bound
    layouts: tuple[Layout, ...]
    unplaced: tuple[Unplaced, ...] = ()
    work: tuple[Turn, ...] = ()
