"""The things in a yard, as plain values. Lengths are ticks, money ten-thousandths, weights grams."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from stockyard.flaws import Flaw
from stockyard.kinds import Form, Grain, Kind, Method
from stockyard.measure import Area, Length, Money, Weight
from stockyard.rough import Over

__all__ = [
    "Flaw", "Form", "Grain", "Job", "JobPart", "Kind", "Material", "Offer", "Piece", "Place", "State",
    "Storage", "full_sheet", "word_for",
]  # fmt: skip


class Storage(StrEnum):
    """How pieces lie at a place."""

    FLAT = "flat stack"
    UPRIGHT = "upright slot"
    BRACKETS = "brackets"


class State(StrEnum):
    """Where a piece is in its life. Only racked and promised pieces are on the racks.

    A pulled piece is at the saw for a plan; a piece on the bench is off the racks for no plan, such
    as an offcut just cut that waits for a place.
    """

    RACKED = "racked"
    PROMISED = "promised"
    PULLED = "pulled"
    BENCH = "bench"
    CUT = "cut"
    GONE = "gone"


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What pieces are made of.

    `thickness_name` is what the trade calls it ("3/4", "18 mm", "4/4") and is what parts match;
    `thickness` is what a caliper says. `density` is kg/m³. `method` is what its sheets are cut on, unless a
    job or a part says otherwise. Of one that is milled parts are sawn larger by `over`.
    """

    id: int
    name: str
    form: Form
    thickness_name: str
    thickness: Length
    grain: bool
    density: int | None = None
    least_stock: int = 0
    lead_days: int = 0
    note: str = ""
    retired: bool = False
    method: Method = Method.SAW
    over: Over | None = None

    @property
    def title(self) -> str:
        """Name and thickness as the shop says them: `birch ply 18 mm`."""
        return f"{self.name} {self.thickness_name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A size on sale: what the next full piece of this length and width costs.

    Boards of random widths are sold by `measure` at its `rate`; the size is then what they usually are.
    """

    material_id: int
    length: Length
    width: Length
    price: Money
    supplier: str
    since: str
    measure: str = ""
    rate: Money | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where pieces lie. `walk` orders places as one walks the shop; sizes are inside, 0 if unknown.

    `rated_load` (grams) is the user's number from the maker's plate, None when there is none.
    `supports` is the number of brackets or bearers under a piece of the place's whole length.
    """

    id: int
    code: str
    rack: str
    bay: str
    slot: str
    storage: Storage
    length: Length = Length(0)
    width: Length = Length(0)
    height: Length = Length(0)
    supports: int = 0
    rated_load: Weight | None = None
    walk: int = 0
    inside_id: int | None = None
    retired: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One physical item. `depth` counts the pieces lying on top of it in a flat stack (0 = on top).

    `guessed`: its cost was worked out from other sizes, since nobody named one. `flaws` are rectangles that
    no part may touch. `hollow`: so much of its rectangle is not there, of an L or a frame.
    """

    tag: str
    material_id: int
    kind: Kind
    length: Length
    width: Length
    state: State
    place_id: int | None
    depth: int = 0
    thickness: Length | None = None
    cost: Money = Money(0)
    parent: str | None = None
    plan_id: int | None = None
    shelved_at: str = ""
    labelled: bool = False
    gone_because: str | None = None
    note: str = ""
    supplier: str = ""
    guessed: bool = False
    flaws: tuple[Flaw, ...] = ()
    hollow: Area = Area(0)

    @property
    def area(self) -> Area:
        """Face area of what is there."""
        return Area(self.length * self.width - self.hollow)


def full_sheet(piece: Piece, material: Material) -> bool:
    """Whether a piece is FULL to a person: a sheet as bought. A board is a board, with its length."""
    return piece.kind is Kind.FULL and material.form is Form.SHEET


def word_for(piece: Piece, material: Material) -> str:
    """Say what a piece is in a word: full, offcut, board."""
    return "board" if material.form is Form.BOARD else piece.kind.value


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPart:
    """One line of a cut list as stored. `materials` are names as written; None accepts any.

    `material_ids` are what those names were resolved to, empty until then (see `stockyard.yard.accepted`).

    `bands` says which finished edges get a strip: any of L1 L2 W1 W2 (two long, two wide edges).
    `band_material` and `band_thickness` are the strip's, empty where nobody said. `length` and `width` are
    cut sizes; `finished` ones are with the strips on. `method` None: cut on what its job, else its material
    says. `outline` is the drawing exchange file of its shape, empty where it is a rectangle.

    `set_name` is the matched set it is in, in the order of the lines; `set_run` says how its parts follow
    each other, along or across; `set_each` how many of this one a set takes (0: all). Parts of a `batch` come
    from pieces that measure alike. So much of `length` and `width` as `over_length` and `over_width` is
    trimmed later, when the part is planed to `final_thickness` (None: not planed).
    """

    name: str
    count: int
    length: Length
    width: Length
    thickness_name: str | None = None
    materials: tuple[str, ...] | None = None
    grain: Grain = Grain.ALONG
    bands: tuple[str, ...] = ()
    band_material: str = ""
    band_thickness: Length | None = None
    finished_length: Length | None = None
    finished_width: Length | None = None
    priority: int = 0
    note: str = ""
    set_name: str = ""
    set_run: str = ""
    set_each: int = 0
    batch: str = ""
    material_ids: tuple[int, ...] = field(default=(), compare=False)
    job: str = ""
    method: Method | None = None
    outline: str = ""
    over_length: Length = Length(0)
    over_width: Length = Length(0)
    final_thickness: Length | None = None

    @property
    def rough(self) -> bool:
        """Whether it is sawn larger than it is to be, or planed."""
        return bool(self.over_length or self.over_width or self.final_thickness)

    @property
    def trimmed(self) -> tuple[int, int]:
        """The length and width that it is trimmed to, before any bands."""
        return self.length - self.over_length, self.width - self.over_width


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A project: its name, its pasted text, its parts.

    `members` are the numbers of the jobs that this one stands for while they are planned together; its parts
    are theirs then, each with the name of its `job`. `together_id` is the one that stands for this one.
    `method` None: its sheets are cut on what their material says.
    """

    id: int
    name: str
    text: str
    parts: tuple[JobPart, ...]
    created_at: str
    state: str = "open"
    members: tuple[int, ...] = ()
    together_id: int | None = None
    method: Method | None = None
