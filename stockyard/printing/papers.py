"""What the papers of a job say, as plain data: nothing here knows of the yard or the planner.

Lengths are ticks, weights grams. Positions on a piece are ticks from one corner: x along its
length (the grain), y along its width.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stockyard.flaws import Flaw
from stockyard.measure import Length, Unit, Weight
from stockyard.saws import Caution, Machine, Setting, Way


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

    `weight` None when the weight is not known, `people` None for not by hand. `source` names where
    the advice comes from.
    """

    weight: Weight | None
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
    """One piece to fetch. `on_top` lists what to lift off first, from the top down.

    `thickness` is as measured, 0 where nobody said; `supplier` who sold it, if known.
    `measured` says that it measures what its material hardly does.
    """

    tag: str
    material: str
    length: Length
    width: Length
    full: bool
    lift: Lift
    tell_apart: str
    thickness: Length = Length(0)
    supplier: str = ""
    measured: str = ""
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
    length: Length
    width: Length
    price: str = ""
    supplier: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BandLine:
    """Edge band a job needs: what it is, how many ticks of it, how wide it has to be at least."""

    what: str
    length: Length
    width: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class PullList:
    """The walk for one job: stops in walking order, then what to buy.

    `finest` is the finest fraction of an inch that sizes are written in.
    """

    job: str
    date: str
    unit: Unit
    stops: tuple[Stop, ...]
    buy: tuple[BuyLine, ...] = ()
    bands: tuple[BandLine, ...] = ()
    cautions: tuple[str, ...] = ()
    finest: int = 64

    @property
    def pieces(self) -> int:
        """How many pieces are fetched."""
        return sum(len(stop.entries) for stop in self.stops)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPart:
    """One part as it lies on the piece. `name` is its name among the cuts, `line` the cut-list line.

    It is copy `number` of `of`, as on its label. `turned` when its length lies across the piece.
    `finished` is its size with its bands on, None where that is no other; `band` says them in words, `then`
    what it is milled and trimmed to after the saw. `matched` says where it belongs in its set ("fronts 2 of
    3, below 1"), empty where it is in none.
    """

    name: str
    line: str
    x: Length
    y: Length
    dx: Length
    dy: Length
    number: int = 1
    of: int = 1
    turned: bool = False
    finished: tuple[int, int] | None = None
    band: str = ""
    then: str = ""
    matched: str = ""

    @property
    def title(self) -> str:
        """Line and copy as they are printed."""
        return self.line if self.of == 1 else f"{self.line}, {self.number} of {self.of}"

    @property
    def size(self) -> tuple[int, int]:
        """Its own length and width, as in the cut list."""
        return (self.dy, self.dx) if self.turned else (self.dx, self.dy)


class Edge(StrEnum):
    """An edge of a piece: its low or high end (x, the length), its low or high side (y, the width)."""

    X_LOW = "x_low"
    X_HIGH = "x_high"
    Y_LOW = "y_low"
    Y_HIGH = "y_high"

    @property
    def opposite(self) -> Edge:
        """The edge across the piece."""
        return Edge(self[0] + ("_high" if self.endswith("low") else "_low"))


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnLeftover:
    """A rectangle that goes back. `name` is its name among the cuts; `tag` and `place` may be empty.

    `factory` are its edges that no saw has cut yet and that still want a trim.
    """

    name: str
    tag: str
    place: str
    x: Length
    y: Length
    dx: Length
    dy: Length
    factory: tuple[Edge, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnSet:
    """A matched set on the piece, as a panel, and at which edge of it its first part lies."""

    title: str
    x: Length
    y: Length
    dx: Length
    dy: Length
    first: Edge


@dataclass(frozen=True, slots=True, kw_only=True)
class CutStep:
    """One pass of the saw over the piece named `piece`, `length` x `width` before the cut.

    `fence` is the size of what lies against the fence or stop, on the side `against`; `rough` when it need
    not be exact. `gives` names the low and the high side, None for waste. `machine` is None when no
    saw of the shop reaches. `trim` is what the cut takes off the edge away from the fence, the kerf
    included, when it only cleans that edge and sets nothing, else 0. `setting` numbers the settings of the
    job, 0 before they are counted; it `stays` when it stands already as the job is cut. `panel` names the
    matched set that it takes apart, whose face is marked before, else empty.
    """

    number: int
    piece: str
    length: Length
    width: Length
    direction: Direction
    fence: Length
    against: Side
    gives: tuple[str | None, str | None]
    way: Way
    machine: Machine | None = Machine.FENCE
    rough: bool = False
    trim: Length = Length(0)
    setting: int = 0
    stays: bool = False
    cautions: tuple[Caution, ...] = ()
    panel: str = ""

    @property
    def edge(self) -> Edge:
        """The edge of the piece in hand that lies against the fence or stop."""
        axis = "x" if self.direction is Direction.CROSSCUT else "y"
        return Edge(f"{axis}_{self.against}")

    @property
    def sets(self) -> Setting | None:
        """What must be set for it, None for a trim."""
        return None if self.trim else Setting(self.machine, self.fence)

    @property
    def word(self) -> str:
        """What the person at the saw does: the printed word."""
        if self.trim:
            return "TRIM END" if self.way is Way.CROSS else "TRIM EDGE"
        return self.way


@dataclass(frozen=True, slots=True, kw_only=True)
class CutCard:
    """How one piece is cut. `tag` is empty for a piece still to be bought.

    `place` says where the piece is ("from P1-2", "at the saw", "still to buy"); `finest` is the finest
    fraction of an inch that the fence is set to, and the rounding of every size on the card. `note` is what
    is written of the piece in the yard; `heavy` what its weight asks for where two people are not enough for
    it; `guide` is what the shop calls a saw that runs along a rail. `routed`
    when it goes on the router: then there are no steps, and `clamps` are where the table holds it.
    """

    job: str
    date: str
    unit: Unit
    number: int
    of: int
    tag: str
    material: str
    length: Length
    width: Length
    full: bool
    grain: bool
    place: str
    kerf: Length
    parts: tuple[DrawnPart, ...]
    leftovers: tuple[DrawnLeftover, ...] = ()
    steps: tuple[CutStep, ...] = ()
    flaws: tuple[Flaw, ...] = ()
    clamps: tuple[Flaw, ...] = ()
    sets: tuple[DrawnSet, ...] = ()
    note: str = ""
    heavy: str = ""
    finest: int = 64
    guide: str = "guided saw"
    routed: bool = False


WHOLE = "stock"
"""The name of the uncut piece in the first step."""

Turn = tuple[int, int]
"""One cut in the order of work: the number of its card and of its step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPapers:
    """Everything printed for a job but its labels.

    `work` is the order of sawing over all cards; empty means card after card. The settings of the
    cards' steps are numbered in this order (see `job_order.numbered`).
    """

    pull_list: PullList
    cards: tuple[CutCard, ...]
    work: tuple[Turn, ...] = ()
