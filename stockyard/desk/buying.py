"""What to buy for a yard: its levels and its price log put before the advice."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from stockyard.advice.buying import (
    PastPrice,
    PriceLook,
    Reorder,
    StockLevel,
    board_feet,
    least_stock,
    price_look,
    reorder_list,
)
from stockyard.desk.keep_advice import days_between
from stockyard.errors import Refused
from stockyard.kinds import Kind
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit
from stockyard.yard.flows import arrivals, cut_pieces, still_to_buy
from stockyard.yard.materials import materials, named
from stockyard.yard.model import Form, Material, Offer, State
from stockyard.yard.offers import price_log
from stockyard.yard.pieces import full_by_material
from stockyard.yard.store import Yard, on_one_state

_HELD = (State.RACKED, State.BENCH, State.PROMISED, State.PULLED)


@on_one_state
def levels(yard: Yard) -> tuple[StockLevel, ...]:
    """Return the full pieces of every material: in the yard, promised, and counted on by plans."""
    held = full_by_material(yard, _HELD)
    promised = full_by_material(yard, (State.PROMISED, State.PULLED))
    wanted = still_to_buy(yard)
    return tuple(
        StockLevel(
            material=m.title, on_hand=held[m.id], promised=promised[m.id], to_buy=wanted[m.id],
            least=m.least_stock, lead_days=m.lead_days,
        )
        for m in materials(yard)
        if not m.retired
    )  # fmt: skip


@on_one_state
def reorder(yard: Yard) -> tuple[Reorder, ...]:
    """Return what to order now."""
    return reorder_list(levels(yard))


@on_one_state
def least_by_use(yard: Yard) -> dict[str, int]:
    """Return the least stock that each material's own use suggests: what goes while waiting, and one more.

    Only materials of which full pieces were cut are in it.
    """
    start = min((a.at for a in arrivals(yard)), default=yard.clock())
    days = max(1, days_between(start, yard.clock()))
    drawn = Counter(c.material_id for c in cut_pieces(yard) if c.kind is Kind.FULL)
    return {
        m.title: least_stock(Fraction(drawn[m.id], days), m.lead_days) for m in materials(yard) if drawn[m.id]
    }


@dataclass(frozen=True, slots=True)
class StockUp:
    """Past prices of one size of a material for each `unit` (m², sq ft or board foot), and how the
    latest compares with the earlier ones; `look` is None with only one."""

    material: str
    length: int
    width: int
    unit: str
    prices: tuple[PastPrice, ...]
    look: PriceLook | None


@on_one_state
def stock_up(yard: Yard, words: str) -> tuple[StockUp, ...]:
    """Return, for each size of a material, how its latest price compares with the shop's own past prices.

    Raises:
        BadInput: no such material. Refused: no price of it was logged.
    """
    own = named(yard, words)
    log = price_log(yard, own.id)
    feet = own.form is Form.BOARD and all(board_feet(own.thickness_name, o.length, o.width) for o in log)
    unit = "board foot" if feet else "m²" if yard.unit is Unit.MM else "sq ft"
    if not log:
        raise Refused(f"no price of {own.title} was logged", "no price", {"material": own.title})
    by_size: dict[tuple[int, int], list[PastPrice]] = {}
    for o in log:
        by_size.setdefault((o.length, o.width), []).append(PastPrice(o.since[:10], _per_unit(o, own, unit)))
    return tuple(
        StockUp(own.title, *size, unit, tuple(prices), price_look(prices)) for size, prices in by_size.items()
    )


def _per_unit(offer: Offer, own: Material, unit: str) -> Fraction:
    if unit == "board foot":
        feet = board_feet(own.thickness_name, offer.length, offer.width)
        assert feet, "only asked where every size has board feet"
        return offer.price / feet
    side = 1000 * TICKS_PER_MM if unit == "m²" else 12 * TICKS_PER_INCH
    return Fraction(offer.price * side * side, offer.length * offer.width)
