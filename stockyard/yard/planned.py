"""A plan as it is kept: what each piece gives, its cuts and leftovers, what was asked, how it was made."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from stockyard.flaws import Flaw
from stockyard.kinds import Method
from stockyard.measure import Area, Length, Money


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenPart:
    """One part (or `count` equal ones) that a piece gives, in cut size."""

    name: str
    length: Length
    width: Length
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenOffcut:
    """One leftover that goes back; its tag is given out when the plan is stored, so that papers show it.

    `at` is where its low corner lay on the piece, where no plan says it. `holes` are what is not there of an
    L or a frame, from its own corner; none lies on another.
    """

    length: Length
    width: Length
    tag: str | None = None
    at: tuple[int, int] | None = None
    holes: tuple[Flaw, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPart:
    """One part where it lies on its piece before cutting; `turned`: its length lies across the piece.

    `number` says which one of its line it is on paper; None in plans made before that was kept.
    """

    name: str
    length: Length
    width: Length
    x: Length = Length(0)
    y: Length = Length(0)
    turned: bool = False
    number: int | None = None

    @property
    def box(self) -> tuple[int, int, int, int]:
        """Its low corner and its extents on the piece."""
        return (self.x, self.y, *((self.width, self.length) if self.turned else (self.length, self.width)))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedCut:
    """One pass of the saw, as `stockyard.planning.plan.Cut` has it.

    `turn` is its place in the order of sawing over all pieces of its question, None for piece after piece.
    `setting` is its setting on the job sheet, None for a trim and in plans made before that was kept.
    """

    step: int
    piece: str
    direction: str
    at: Length
    fence: Length
    low: str | None
    high: str | None
    turn: int | None = None
    setting: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLeftover(GivenOffcut):
    """A leftover where it lies on its piece; `factory` names its edges that still want a trim."""

    x: Length = Length(0)
    y: Length = Length(0)
    factory: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredLayout:
    """One piece of a plan: which piece (`tag` None: still to be bought), and how it is cut.

    `question` is the number of the question it answers, 0 in plans made before questions were kept,
    `stock` the row of that problem which it is one of, and `method` what it was planned for.
    """

    number: int
    tag: str | None
    material_id: int
    length: Length
    width: Length
    placed: tuple[PlannedPart, ...] = ()
    cuts: tuple[PlannedCut, ...] = ()
    leftovers: tuple[PlannedLeftover, ...] = ()
    question: int = 0
    stock: str = ""
    method: Method = Method.SAW

    @property
    def parts(self) -> tuple[GivenPart, ...]:
        """What the piece gives, equal parts together."""
        counts = Counter((p.name, p.length, p.width) for p in self.placed)
        return tuple(GivenPart(name=a, length=b, width=c, count=n) for (a, b, c), n in counts.items())


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Parts that no piece could give, and why."""

    part: str
    count: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredQuestion:
    """What a plan was asked of sheets or of boards, and what is known of the answer.

    `problem` is its JSON, as `stockyard.desk.stored_layouts` writes it. Money and area as everywhere.
    """

    problem: str
    status: str
    bound_cost: Money
    bound_area: Area
    bound_says: str
    left_out: tuple[LeftOut, ...] = ()
    method: Method = Method.SAW


@dataclass(frozen=True, slots=True, kw_only=True)
class Making:
    """How a plan was made: the blade, the seed, what stopped the search, by which program.

    `time_limit` is in thousandths of a second. `settings` are all of the shop's at that moment, as JSON.
    """

    kerf: Length
    seed: int
    time_limit: int | None
    work_limit: int | None
    program: str
    settings: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPlan:
    """A plan to be stored: its questions are numbered from 1 on, its layouts over all of them."""

    status: str
    layouts: tuple[StoredLayout, ...]
    questions: tuple[StoredQuestion, ...]
    making: Making


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredPlan:
    """A plan as kept: `state` is standing, broken, released or done.

    `making` is None for a plan made before plans were kept whole.
    """

    id: int
    job_id: int
    number: int
    state: str
    why: str | None
    status: str
    made_at: str
    layouts: tuple[StoredLayout, ...]
    making: Making | None


@dataclass(frozen=True, slots=True)
class BrokenPlan:
    """A plan that lost a piece, or a part of one: the job to plan again."""

    job_id: int
    job_name: str
    tag: str
