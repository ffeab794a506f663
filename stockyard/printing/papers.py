"""What the papers of a job say, as plain data: nothing here knows of the yard or the planner.

Lengths are ticks, weights grams. Positions on a piece are ticks from one corner: x along its
length (the grain), y along its width.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stockyard.measure import Unit


class Direction(StrEnum):
    """A crosscut splits the length of a piece, a rip splits its width."""

    CROSSCUT = "crosscut"
    RIP = "rip"


class Side(StrEnum):
    """Which side of the blade lies against the fence or stop: nearer to the corner 0, 0 or farther."""

    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """How heavy a piece is and what to do about it.

    `grams` None when the weight is not known, `people` None for not by hand. `source` names where
    the advice comes from.
    """

    grams: int | None
    people: int | None
    advice: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """A piece lying on top of one that is wanted: to be lifted off and put back."""

    tag: str
    what: str
    lift: Lift


@dataclass(frozen=True, slots=True, kw_only=True)
class PullEntry:
    """One piece to fetch. `on_top` lists what to lift off first, from the top down."""

    tag: str
    material: str
    length: int
    width: int
    full: bool
    lift: Lift
    tell_apart: str
    on_top: tuple[Lying, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """One place on the walk. In a flat stack the entries go from the top down."""

    place: str
    storage: str
    entries: tuple[PullEntry, ...]
    put_back: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyLine:
    """Equal full pieces to buy. `price` and `supplier` are written as the shop reads them, or empty."""

    count: int
    material: str
    length: int
    width: int
    price: str = ""
    supplier: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PullList:
    """The walk for one job: stops in walking order, then what to buy."""

    job: str
    date: str
    unit: Unit
    stops: tuple[Stop, ...]
    buy: tuple[BuyLine, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def pieces(self) -> int:
        """How many pieces are fetched."""
        return sum(len(stop.entries) for stop in self.stops)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPart:
    """One part as it lies on the piece. `name` tells copies apart, `line` is the cut-list line."""

    name: str
    line: str
    x: int
    y: int
    dx: int
    dy: int

    @property
    def copy(self) -> str:
        """The number of this copy, empty where the name has none."""
        return self.name.removeprefix(self.line).strip()

    @property
    def title(self) -> str:
        """Line and copy as they are printed."""
        return f"{self.line}, no. {self.copy}" if self.copy else self.line


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnLeftover:
    """A rectangle that goes back. `name` is its name among the cuts; `tag` and `place` may be empty."""

    name: str
    tag: str
    place: str
    x: int
    y: int
    dx: int
    dy: int


@dataclass(frozen=True, slots=True)
class Caution:
    """A few words beside a cut; `grave` ones stand out."""

    text: str
    grave: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CutStep:
    """One pass of the saw over the piece named `piece`, `length` x `width` before the cut.

    `fence` is the size of what lies against the fence or stop, on the side `against`. `gives` names
    the low and the high side, None for waste. `stays` when the fence already stands there, since card
    `as_on` where this card has not set it. `trim` is what the cut takes off the low edge, the kerf
    included, when it only cleans that edge and moves no fence, else 0.
    """

    number: int
    piece: str
    length: int
    width: int
    direction: Direction
    fence: int
    against: Side
    gives: tuple[str | None, str | None]
    stays: bool = False
    as_on: int = 0
    trim: int = 0
    cautions: tuple[Caution, ...] = ()

    @property
    def across(self) -> bool:
        """Whether the blade runs across the longer side; of a square, whether it splits the length."""
        crosscut = self.direction is Direction.CROSSCUT
        reach, run = (self.length, self.width) if crosscut else (self.width, self.length)
        return reach > run or (reach == run and crosscut)

    @property
    def word(self) -> str:
        """What the person at the saw does, by the shape in hand: the printed word."""
        if self.trim:
            return "TRIM END" if self.across else "TRIM EDGE"
        return "CROSS" if self.across else "RIP"


@dataclass(frozen=True, slots=True, kw_only=True)
class CutCard:
    """How one piece is cut. `tag` is empty for a piece still to be bought.

    `place` says where the piece is ("from P1-2", "at the saw", "still to buy"); `finest` is the finest
    fraction of an inch that the fence is set to.
    """

    job: str
    date: str
    unit: Unit
    number: int
    of: int
    tag: str
    material: str
    length: int
    width: int
    full: bool
    grain: bool
    place: str
    kerf: int
    parts: tuple[DrawnPart, ...]
    leftovers: tuple[DrawnLeftover, ...] = ()
    steps: tuple[CutStep, ...] = ()
    finest: int = 64


WHOLE = "stock"
"""The name of the uncut piece in the first step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPapers:
    """Everything printed for a job but its labels."""

    pull_list: PullList
    cards: tuple[CutCard, ...]
