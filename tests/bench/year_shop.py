"""The invented shop at work: its rack, its ways of treating offcuts, and a year's figures."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

from stockyard.advice.fitting import fit_worth
from stockyard.advice.keeping import Outlook, PastJob, PastPart, judge, rivals_of
from stockyard.advice.tidying import Shelved, tidy_list
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.plan import Plan
from stockyard.planning.problem import Grain, Kind, Part, Problem, Stock, Trim
from stockyard.planning.worth import Worth
from tests.bench.first_fit import first_fit
from tests.bench.year_jobs import EDGE_TRIM, KERF, SHEETS, Job

SLOTS, SLOT_ROOM = 10, 6
LONGEST_STAY = 180
MM2 = TICKS_PER_MM**2
Solver = Callable[[Problem], Plan]


@dataclass(frozen=True, slots=True)
class Kept:
    """One offcut on the rack."""

    id: str
    material: str
    length: int
    width: int
    day: int


@dataclass(frozen=True, slots=True)
class Cutting:
    """One piece cut: its stock row, the area of its parts, the sizes of its leftovers."""

    stock: Stock
    parts_area: int
    leftovers: tuple[tuple[int, int], ...]


@dataclass(slots=True)
class Rack:
    """Upright slots; in each the last piece put in stands in front. Pieces of a material share slots."""

    slots: list[list[Kept]] = field(default_factory=lambda: [[] for _ in range(SLOTS)])

    def pieces(self) -> list[Kept]:
        return [piece for slot in self.slots for piece in slot]

    @property
    def full(self) -> bool:
        return all(len(slot) >= SLOT_ROOM for slot in self.slots)

    def put(self, piece: Kept) -> None:
        open_slots = [slot for slot in self.slots if len(slot) < SLOT_ROOM]
        same = [slot for slot in open_slots if slot and slot[-1].material == piece.material]
        empty = [slot for slot in open_slots if not slot]
        (same or empty or open_slots)[0].append(piece)

    def take(self, ids: set[str]) -> int:
        """Take pieces out and return how many others had to be moved to reach them."""
        moved = 0
        for slot in self.slots:
            deepest = next((n for n, piece in enumerate(slot) if piece.id in ids), None)
            if deepest is not None:
                moved += sum(piece.id not in ids for piece in slot[deepest:])
                slot[:] = [piece for piece in slot if piece.id not in ids]
        return moved

    def dig(self) -> dict[str, int]:
        return {p.id: len(slot) - 1 - n for slot in self.slots for n, p in enumerate(slot)}


@dataclass(slots=True)
class Year:
    """The figures of one year under one way. Areas in square metres."""

    sheets: int = 0
    money: int = 0
    scrap: float = 0.0
    handled: int = 0
    fills: list[float] = field(default_factory=list)
    racked: float = 0.0

    @property
    def fill(self) -> float:
        return sum(self.fills) / len(self.fills)


class Way:
    """How a shop treats its offcuts. The plain way keeps none."""

    name = "no offcuts kept"

    def __init__(self, solver: Solver) -> None:
        self._solver = solver

    def worth(self, _day: int) -> Worth:
        return Worth(keep_short_side=10**9, keep_area=10**18)

    def cut(self, problem: Problem) -> list[Cutting]:
        stock = {s.id: s for s in problem.stock}
        parts = {p.id: p for p in problem.parts}
        plan = self._solver(problem)
        assert not plan.unplaced, "every part of the invented jobs fits a sheet"
        return [
            Cutting(
                stock[lay.stock],
                sum(parts[p.part].area for p in lay.parts),
                tuple((left.dx, left.dy) for left in lay.leftovers),
            )
            for lay in plan.layouts
        ]

    def keeps(self, _piece: Kept, _rack: Rack) -> bool:
        return True

    def clears(self, rack: Rack, _day: int) -> str:
        """Return the piece that goes when the rack is full: the oldest."""
        return min(rack.pieces(), key=lambda p: (p.day, p.id)).id

    def planned(self, jobs: Sequence[Job]) -> Iterable[Sequence[Job]]:
        """Yield the jobs that are planned as one: each alone, as it comes in."""
        return ((job,) for job in jobs)

    def learn(self, job: Job) -> None:
        """Note a job that came in."""


class EveryOffcut(Way):
    """Every leftover that can be held in the hand is kept; parts come from the first piece that fits."""

    name = "every offcut kept, first fit"
    _side = 50 * TICKS_PER_MM

    def cut(self, problem: Problem) -> list[Cutting]:
        return [
            Cutting(o.stock, o.parts_area, tuple(f for f in o.free if min(f) >= self._side))
            for o in first_fit(problem)
        ]


class FixedSize(Way):
    """Our planner; a leftover is kept from 150 mm and 0.09 m² on and counts by its area."""

    name = "fixed keep-size"

    def worth(self, _day: int) -> Worth:
        return Worth(floor=1000)


class SmallestCleared(FixedSize):
    """The same, but a full rack clears its smallest piece: the strongest plain rule we know."""

    name = "fixed keep-size, smallest cleared"

    def clears(self, rack: Rack, _day: int) -> str:
        return min(rack.pieces(), key=lambda p: (p.length * p.width, p.id)).id


class Ours(Way):
    """Our planner with worth, keep-or-bin and tidy-up learned from the jobs so far.

    The shop looks as far ahead as a piece can stay: the room of the rack over the leftovers of a day.
    """

    name = "ours"
    _refit_days = 30

    def __init__(self, solver: Solver) -> None:
        super().__init__(solver)
        self._past: dict[str, list[PastJob]] = {m: [] for m in SHEETS}
        self._worth = Worth()
        self._fitted = 0
        self._came = 0
        self._outlooks: dict[str, Outlook] = {m: Outlook((), 0, LONGEST_STAY) for m in SHEETS}

    def worth(self, day: int) -> Worth:
        if day >= self._fitted + self._refit_days:
            self._fitted = day
            stay = min(LONGEST_STAY, SLOTS * SLOT_ROOM * day // max(1, self._came))
            self._outlooks = {m: Outlook(past, day, stay) for m, past in self._past.items()}
            self._worth = fit_worth(list(self._outlooks.values()))
        return self._worth

    def keeps(self, piece: Kept, rack: Rack) -> bool:
        self._came += 1
        sizes = [(p.length, p.width) for p in rack.pieces() if p.material == piece.material]
        rivals = rivals_of(piece.length, piece.width, sizes)
        return judge(self._outlooks[piece.material], piece.length, piece.width, rivals).keep

    def clears(self, rack: Rack, day: int) -> str:
        shelved = [
            Shelved(tag=p.id, material=p.material, place="", length=p.length, width=p.width, age=day - p.day)
            for p in rack.pieces()
        ]
        found = tidy_list(shelved, self._outlooks, horizon=LONGEST_STAY)
        return found[0].piece.tag if found else super().clears(rack, day)

    def learn(self, job: Job) -> None:
        for material, parts in _by_material(job).items():
            wanted = tuple(PastPart(p.length, p.width, p.count, p.grain is Grain.ANY) for p in parts)
            self._past[material].append(PastJob(wanted))


class WeekTogether(Ours):
    """The same, but the jobs of a week wait for its end and are planned as one."""

    name = "ours, a week's jobs together"

    def planned(self, jobs: Sequence[Job]) -> Iterable[Sequence[Job]]:
        return (tuple(week) for _, week in groupby(jobs, key=lambda job: job.day // 7))


WAYS: tuple[type[Way], ...] = (Way, EveryOffcut, FixedSize, SmallestCleared, Ours, WeekTogether)


def _by_material(job: Job) -> dict[str, list[Part]]:
    found: dict[str, list[Part]] = {}
    for part in job.parts:
        assert part.materials is not None
        found.setdefault(part.materials[0], []).append(part)
    return found


@dataclass(slots=True)
class Going:
    """One year so far: how many plans of it are made. It may be pickled between two of them."""

    way: Way
    rack: Rack = field(default_factory=Rack)
    year: Year = field(default_factory=Year)
    plans: int = 0

    def go_on(self, jobs: Sequence[Job], until: Callable[[], bool]) -> bool:
        """Work off jobs when they come in, from the rack as it is; return whether all are done.

        `until` says that it is time to stop.
        """
        for number, own in enumerate(self.way.planned(jobs)):
            if number < self.plans:
                continue
            if until():
                return False
            work_off(number, own, self.rack, self.year, self.way)
            self.plans += 1
        self.year.racked = sum(p.length * p.width for p in self.rack.pieces()) / MM2 / 1e6
        return True


def run_year(jobs: Sequence[Job], way: Way) -> Year:
    """Return the figures of one year."""
    going = Going(way)
    going.go_on(jobs, lambda: False)
    return going.year


def joined(jobs: Sequence[Job]) -> Job:
    """Return jobs as one, each part named after its job; the day is that of the last."""
    if len(jobs) == 1:
        return jobs[0]
    parts = (replace(p, id=f"{n}/{p.id}") for n, job in enumerate(jobs, 1) for p in job.parts)
    return Job(jobs[-1].day, tuple(parts))


def work_off(number: int, jobs: Sequence[Job], rack: Rack, year: Year, way: Way) -> None:
    """Plan and cut jobs as one from the rack as it is, and put away what is left of it."""
    job = joined(jobs)
    cuttings = way.cut(_problem(job, rack, way.worth(job.day)))
    # All pieces are pulled before any leftover is put away.
    taken = {c.stock.id for c in cuttings if c.stock.kind is Kind.OFFCUT}
    year.handled += len(cuttings) + rack.take(taken)
    for n, cutting in enumerate(cuttings):
        _book(year, cutting)
        for k, (length, width) in enumerate(cutting.leftovers):
            piece = Kept(f"{number}.{n}.{k}", cutting.stock.material, length, width, job.day)
            _shelve(year, rack, way, piece)
    for own in jobs:
        way.learn(own)
    year.fills.append(len(rack.pieces()) / (SLOTS * SLOT_ROOM))


def _book(year: Year, cutting: Cutting) -> None:
    if cutting.stock.kind is Kind.FULL:
        year.sheets += 1
        year.money += cutting.stock.cost
    kept = sum(length * width for length, width in cutting.leftovers)
    year.scrap += (cutting.stock.area - cutting.parts_area - kept) / MM2 / 1e6


def _shelve(year: Year, rack: Rack, way: Way, piece: Kept) -> None:
    if not way.keeps(piece, rack):
        year.scrap += piece.length * piece.width / MM2 / 1e6
        return
    rack_ids = {p.id: p for p in rack.pieces()}
    if rack.full:
        gone = rack_ids[way.clears(rack, piece.day)]
        year.handled += 1 + rack.take({gone.id})
        year.scrap += gone.length * gone.width / MM2 / 1e6
    rack.put(piece)
    year.handled += 1


def _problem(job: Job, rack: Rack, worth: Worth) -> Problem:
    materials = _by_material(job)
    dig = rack.dig()
    offcuts = [
        Stock(
            id=p.id, kind=Kind.OFFCUT, material=p.material, length=p.length, width=p.width, dig=dig[p.id],
            grain=SHEETS[p.material].grain,
        )
        for p in rack.pieces()
        if p.material in materials
    ]  # fmt: skip
    sheets = [
        Stock(
            id=m, kind=Kind.FULL, material=m, length=SHEETS[m].length, width=SHEETS[m].width, count=None,
            cost=SHEETS[m].cost, grain=SHEETS[m].grain, edge_trim=Trim.all_round(EDGE_TRIM),
        )
        for m in materials
    ]  # fmt: skip
    return Problem(stock=(*offcuts, *sheets), parts=job.parts, kerf=KERF, worth=worth)
