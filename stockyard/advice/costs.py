"""What jobs and months cost, added up from the ledger's plain amounts.

Every amount has an area (ticks²) and its carried cost (money steps); what was undone is not among
them, so every total is a plain sum.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from stockyard.measure import Area, Money


class Flow(StrEnum):
    """What an amount is. The first four and the last two change what is on the racks."""

    BOUGHT = "bought"
    DRAWN = "full drawn"
    REUSED = "offcut used"
    RETURNED = "returned"
    PARTS = "parts"
    SCRAPPED = "scrapped"
    GONE = "gone from the rack"
    FOUND = "found"


# The sign with which a flow changes what lies on the racks.
_ON_RACKS = {
    Flow.BOUGHT: 1,
    Flow.FOUND: 1,
    Flow.RETURNED: 1,
    Flow.DRAWN: -1,
    Flow.REUSED: -1,
    Flow.GONE: -1,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """One amount of the ledger.

    `day` is an ISO date; `job` its number, None outside jobs; `from_offcut` for what was cut from an
    offcut; `new_price` what as much new material costs today (for parts cut from offcuts).
    """

    flow: Flow
    day: str
    area: Area
    money: Money
    material: str = ""
    job: int | None = None
    from_offcut: bool = False
    new_price: Money = Money(0)


@dataclass(frozen=True, slots=True)
class Sum:
    """Area and money together."""

    area: Area = Area(0)
    money: Money = Money(0)

    def __add__(self, other: Sum) -> Sum:
        return Sum(Area(self.area + other.area), Money(self.money + other.money))

    def __sub__(self, other: Sum) -> Sum:
        return Sum(Area(self.area - other.area), Money(self.money - other.money))


def split_cost(cost: int, areas: Sequence[int]) -> tuple[int, ...]:
    """Return `cost` shared out by area, to the last step: the carried costs of what a piece became.

    An offcut carries its parent's cost times its share of the area. The shares add up to `cost`; a step
    that does not divide goes to the earliest.

    Raises:
        ValueError: no area at all.
    """
    whole = sum(areas)
    if whole <= 0:
        raise ValueError("a cost is shared by area, and there is none")
    shares, given, seen = [], 0, 0
    for area in areas:
        seen += area
        upto = -(-cost * seen // whole)
        shares.append(upto - given)
        given = upto
    return tuple(shares)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobCost:
    """One job's material: drawn + reused = parts + returned + scrapped, in area and in money."""

    job: str
    drawn: Sum
    reused: Sum
    returned: Sum
    parts: Sum
    scrapped: Sum
    saved: Money

    @property
    def cost(self) -> int:
        """What the job's material cost, its scrap included: what went in less what came back."""
        return self.drawn.money + self.reused.money - self.returned.money

    @property
    def yield_share(self) -> float:
        """Parts as a share of the material the job consumed; 0 before anything is cut."""
        consumed = self.drawn.area + self.reused.area - self.returned.area
        return self.parts.area / consumed if consumed else 0.0


def job_cost(number: int, name: str, amounts: Iterable[Amount]) -> JobCost:
    """Return what one job cost. `saved` is the parts cut from offcuts at today's price of new material."""
    own = [a for a in amounts if a.job == number]
    return JobCost(
        job=name,
        drawn=total(own, Flow.DRAWN),
        reused=total(own, Flow.REUSED),
        returned=total(own, Flow.RETURNED),
        parts=total(own, Flow.PARTS),
        scrapped=total(own, Flow.SCRAPPED),
        saved=Money(sum(a.new_price for a in own if a.flow is Flow.PARTS and a.from_offcut)),
    )


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the months: the word over it, what it says in full, and its sum."""

    word: str
    says: str
    sum: Sum


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthCost:
    """One month: what came, what was used, what was lost, and what lies on the racks at its end.

    `used` is what became parts; `scrapped` what cutting wasted; `gone` left the racks uncut.
    """

    month: str
    bought: Sum
    used: Sum
    scrapped: Sum
    gone: Sum
    racks: Sum

    @property
    def columns(self) -> tuple[Column, ...]:
        """What every table of months shows, in order."""
        return (
            Column("bought", "bought", self.bought),
            Column("in parts", "used in parts", self.used),
            Column("scrapped", "scrapped in cutting", self.scrapped),
            Column("left uncut", "left the yard uncut (less found)", self.gone),
            Column("in the yard", "in the yard at the month's end", self.racks),
        )


def total(amounts: Iterable[Amount], *flows: Flow) -> Sum:
    """Return the sum of the amounts of the given flows."""
    area = money = 0
    for a in amounts:
        if a.flow in flows:
            area += a.area
            money += a.money
    return Sum(Area(area), Money(money))


def on_racks(amounts: Iterable[Amount]) -> Sum:
    """Return what all amounts together leave on the racks."""
    area = money = 0
    for a in amounts:
        sign = _ON_RACKS.get(a.flow, 0)
        area += sign * a.area
        money += sign * a.money
    return Sum(Area(area), Money(money))


def months(amounts: Iterable[Amount]) -> tuple[MonthCost, ...]:
    """Return every month that has an amount, in order, with the racks as they stood at its end."""
    by_month: dict[str, list[Amount]] = {}
    for a in amounts:
        by_month.setdefault(a.day[:7], []).append(a)
    racks, found = Sum(), []
    for month in sorted(by_month):
        own = by_month[month]
        racks += on_racks(own)
        found.append(
            MonthCost(
                month=month,
                bought=total(own, Flow.BOUGHT),
                used=total(own, Flow.PARTS),
                scrapped=total(own, Flow.SCRAPPED),
                gone=total(own, Flow.GONE) - total(own, Flow.FOUND),
                racks=racks,
            )
        )
    return tuple(found)
