"""When and what to buy: reorder list, board feet, sizes on sale, and a plain look at past prices.

Money is ten-thousandths of the shop's currency, lengths ticks.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from statistics import median

from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM
from stockyard.planning.problem import Kind, Stock

_SQUARE_FOOT = (12 * TICKS_PER_INCH) ** 2


# --- reorder -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLevel:
    """Full pieces of one material: on the racks (promised ones included), promised, and the least wanted."""

    material: str
    on_hand: int
    promised: int = 0
    on_order: int = 0
    least: int = 0
    lead_days: int = 0

    @property
    def free(self) -> int:
        """What is left once promises are kept and orders have come."""
        return self.on_hand - self.promised + self.on_order


@dataclass(frozen=True, slots=True)
class Reorder:
    """One material to order now, how many at least, and why."""

    material: str
    count: int
    lead_days: int
    says: str


def least_stock(use_per_day: Fraction, lead_days: int, safety: int = 1) -> int:
    """Return the level at which to reorder: what is used while waiting, and `safety` pieces more."""
    return ceil(use_per_day * lead_days) + safety


def reorder_list(levels: Iterable[StockLevel]) -> tuple[Reorder, ...]:
    """Return what to order, the shortest first. Nothing is listed where no least stock is set."""
    short = [level for level in levels if level.free < 0 or (level.least and level.free <= level.least)]
    short.sort(key=lambda level: (level.free - level.least, -level.lead_days, level.material))
    return tuple(
        Reorder(level.material, level.least + 1 - level.free, level.lead_days, _reorder_says(level))
        for level in short
    )


def _reorder_says(level: StockLevel) -> str:
    promised = f", {level.promised} promised" if level.promised else ""
    ordered = f", {level.on_order} on order" if level.on_order else ""
    wait = f"; {level.lead_days} days to wait" if level.lead_days else ""
    return f"{level.on_hand} on hand{promised}{ordered}, least {level.least}{wait}"


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


# --- sizes on sale -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class SaleSize:
    """One size a supplier sells: `price` for one piece."""

    material: str
    length: int
    width: int
    price: int
    supplier: str = ""
    thickness: int | None = None
    grain: bool = False
    edge_trim: int = 0


def buy_rows(sizes: Iterable[SaleSize]) -> tuple[Stock, ...]:
    """Return stock rows to be bought as needed, from which the planner takes the least money.

    Of equal sizes only the cheapest is offered, and a size is dropped when one at least as large costs
    no more. Ids are `buy 1`, `buy 2`, ... in the order of material, price and size.
    """
    ordered = sorted(
        sizes, key=lambda s: (s.material, s.thickness or 0, s.price, -s.length * s.width, s.supplier)
    )
    kept: list[SaleSize] = []
    for size in ordered:
        if not any(_no_worse(other, size) for other in kept):
            kept.append(size)
    return tuple(
        Stock(
            id=f"buy {number}",
            kind=Kind.FULL,
            material=size.material,
            length=size.length,
            width=size.width,
            thickness=size.thickness,
            count=None,
            cost=size.price,
            grain=size.grain,
            edge_trim=size.edge_trim,
        )
        for number, size in enumerate(kept, 1)
    )


def _no_worse(other: SaleSize, size: SaleSize) -> bool:
    same = (other.material, other.thickness, other.grain) == (size.material, size.thickness, size.grain)
    larger = other.length >= size.length and other.width >= size.width
    return same and larger and other.price <= size.price and other.edge_trim <= size.edge_trim


# --- past prices -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PastPrice:
    """What one piece cost on a day (ISO date)."""

    day: str
    length: int
    width: int
    price: int
    supplier: str = ""

    @property
    def per_square_metre(self) -> Fraction:
        """Money steps for a square metre."""
        return Fraction(self.price * (1000 * TICKS_PER_MM) ** 2, self.length * self.width)


@dataclass(frozen=True, slots=True)
class PriceLook:
    """Today's price beside the past ones (money steps for a square metre) and that in a sentence."""

    now: int
    lowest: int
    middle: int
    highest: int
    cheaper_share: float
    says: str


def price_look(prices: Sequence[PastPrice]) -> PriceLook | None:
    """Return how the latest price compares with all earlier ones; None with fewer than two.

    It says what was, not what will be.
    """
    if len(prices) < 2:
        return None
    ordered = sorted(prices, key=lambda p: p.day)
    now, before = ordered[-1].per_square_metre, [p.per_square_metre for p in ordered[:-1]]
    cheaper = sum(p < now for p in before) / len(before)
    middle = median(before)
    change = float(now / middle - 1) if middle else 0.0
    against = (
        "the same as" if abs(change) < 0.005 else f"{abs(change):.0%} {'over' if change > 0 else 'under'}"
    )
    says = f"today's price is {against} the middle of {len(before)} past prices"
    if now < min(before):
        says += ", and the lowest so far: a fair day to stock up if it will be used"
    elif now > middle:
        says += f"; {cheaper:.0%} of them were lower: no reason to buy ahead"
    else:
        says += f"; {cheaper:.0%} of them were lower"
    return PriceLook(round(now), round(min(before)), round(middle), round(max(before)), cheaper, says)
