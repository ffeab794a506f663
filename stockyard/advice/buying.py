"""When and what to buy: reorder list, board feet, and a plain look at past prices.

Money is ten-thousandths of the shop's currency, lengths ticks.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from statistics import median

from stockyard.measure import TICKS_PER_INCH, Money

_SQUARE_FOOT = (12 * TICKS_PER_INCH) ** 2


# --- reorder -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLevel:
    """Full pieces of one material: in the yard (promised ones included), promised, and the least wanted.

    `to_buy` is what standing plans count on being bought.
    """

    material: str
    on_hand: int
    promised: int = 0
    to_buy: int = 0
    least: int = 0
    lead_days: int = 0

    @property
    def free(self) -> int:
        """What is left once every plan that stands is cut."""
        return self.on_hand - self.promised - self.to_buy


@dataclass(frozen=True, slots=True)
class Reorder:
    """One material to order now, how many at least, and why."""

    material: str
    count: int
    lead_days: int
    says: str


def least_stock(use_per_day: Fraction, lead_days: int, safety: int = 1) -> int:
    """Return what to have at least: what is used while waiting, and `safety` pieces more."""
    return ceil(use_per_day * lead_days) + safety


def reorder_list(levels: Iterable[StockLevel]) -> tuple[Reorder, ...]:
    """Return what is missing to the least stock once every plan is cut, the shortest first.

    Where no least stock is set, only what plans count on is listed.
    """
    short = [level for level in levels if level.free < level.least]
    short.sort(key=lambda level: (level.free - level.least, -level.lead_days, level.material))
    return tuple(
        Reorder(level.material, level.least - level.free, level.lead_days, _reorder_says(level))
        for level in short
    )


def _reorder_says(level: StockLevel) -> str:
    promised = f", {level.promised} promised" if level.promised else ""
    wanted = f", {level.to_buy} more for plans" if level.to_buy else ""
    wait = f"; {level.lead_days} days to wait" if level.lead_days else ""
    return f"{level.on_hand} on hand{promised}{wanted}, least {level.least}{wait}"


# --- board feet --------------------------------------------------------------------------------


def surface_measure(length: int, width: int) -> int:
    """Return whole square feet of a hardwood board, to the nearest, a half up (NHLA, as AHEC tells it)."""
    return floor(Fraction(length * width, _SQUARE_FOOT) + Fraction(1, 2))


def hardwood_board_feet(length: int, width: int, nominal_inches: Fraction) -> Fraction:
    """Return board feet: surface measure times nominal thickness, under an inch counted as one."""
    return surface_measure(length, width) * max(nominal_inches, Fraction(1))


def softwood_board_feet(thick_inches: Fraction, wide_inches: Fraction, length: int) -> Fraction:
    """Return board feet of softwood from its *nominal* section in inches; length is actual."""
    feet = Fraction(length, 12 * TICKS_PER_INCH)
    return max(thick_inches, Fraction(1)) * wide_inches * feet / 12


def board_feet(thickness_name: str, length: int, width: int) -> Fraction | None:
    """Return board feet of a board whose material is named in quarters ('4/4') or nominal inches ('2x4').

    None for any other name: board feet are then not how it is sold.
    """
    if m := re.fullmatch(r"(\d+)/4", thickness_name.strip()):
        return hardwood_board_feet(length, width, Fraction(int(m[1]), 4))
    if m := re.fullmatch(r"(\d+(?:/4)?)\s*[x×]\s*(\d+)", thickness_name.strip()):
        return softwood_board_feet(Fraction(m[1]), Fraction(m[2]), length)
    return None


# --- past prices -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PastPrice:
    """What a unit of measure (a square metre, a board foot) cost on a day (ISO date)."""

    day: str
    per_unit: Fraction


@dataclass(frozen=True, slots=True)
class PriceLook:
    """The latest price beside the earlier ones (money steps a unit) and that in a sentence."""

    now: Money
    lowest: Money
    middle: Money
    highest: Money
    cheaper_share: float
    says: str


def price_look(prices: Sequence[PastPrice]) -> PriceLook | None:
    """Return how the latest price compares with all earlier ones; None with fewer than two.

    It says what was, not what will be.
    """
    if len(prices) < 2:
        return None
    ordered = sorted(prices, key=lambda p: p.day)
    now, before = ordered[-1].per_unit, [p.per_unit for p in ordered[:-1]]
    cheaper = sum(p < now for p in before) / len(before)
    middle = median(before)
    change = float(now / middle - 1) if middle else 0.0
    side = "over" if change > 0 else "under"
    against = "the same as" if abs(change) < 0.005 else f"{abs(change):.0%} {side}"
    says = f"the latest price is {against} the middle of {len(before)} earlier ones"
    if now < min(before):
        says += ", and the lowest so far: a fair day to stock up if it will be used"
    elif now > middle:
        says += f"; {cheaper:.0%} of them were lower: no reason to buy ahead"
    else:
        says += f"; {cheaper:.0%} of them were lower"
    return PriceLook(
        Money(round(now)),
        Money(round(min(before))),
        Money(round(middle)),
        Money(round(max(before))),
        cheaper,
        says,
    )
