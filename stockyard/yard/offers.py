"""Offers: the sizes on sale and what they cost, as a log that only grows."""

from __future__ import annotations

import sqlite3

from stockyard.errors import BadInput, Refused
from stockyard.figures import typed_size
from stockyard.measure import MONEY
from stockyard.yard.materials import material
from stockyard.yard.model import Offer
from stockyard.yard.store import Yard

_NOW = """
SELECT o.* FROM offer o WHERE (:material IS NULL OR o.material_id = :material) AND o.ended = 0
  AND NOT EXISTS (SELECT 1 FROM offer n WHERE n.material_id = o.material_id AND n.length = o.length
    AND n.width = o.width AND n.supplier = o.supplier AND (n.since, n.id) > (o.since, o.id))
ORDER BY o.material_id, o.length * o.width, o.price, o.id
"""


def add_price(
    yard: Yard,
    material_id: int,
    length: int,
    width: int,
    price: int,
    supplier: str = "",
    since: str | None = None,
    *,
    measure: str = "",
    rate: int | None = None,
) -> Offer:
    """Log what one full piece of this size costs from `since` (default: now): one deed.

    Boards of random widths have a `rate` by `measure`; the size is what they usually are. A clock that was
    set back leaves no older price in force: a price logged now begins when the one before began, at the
    earliest.

    Raises:
        BadInput: a size or price out of bounds.
    """
    if price < 0 or length < 1 or width < 1:
        raise BadInput("a price and a size must not be negative")
    m = material(yard, material_id)
    with yard.deed("price") as deed:
        size = typed_size(length, width, yard.unit)
        deed.begin(f"{m.title} {size} costs {price / MONEY:.2f}" + (f" at {supplier}" if supplier else ""))
        before = yard.one(
            "SELECT coalesce(max(since), '') FROM offer"
            " WHERE (material_id, length, width, supplier) = (?, ?, ?, ?)",
            (material_id, length, width, supplier.strip()),
        )
        made = yard.insert(
            "offer", material_id=material_id, length=length, width=width, price=price,
            supplier=supplier.strip(), since=since or max(yard.clock(), before), measure=measure, rate=rate,
        )  # fmt: skip
    return _of(yard.rows("SELECT * FROM offer WHERE id = ?", (made,))[0])


def end_offer(yard: Yard, material_id: int, length: int, width: int, supplier: str = "") -> None:
    """Record that this size is no longer on sale there: one deed.

    Raises:
        Refused: it is not on sale.
    """
    m = material(yard, material_id)
    for offer in offers(yard, material_id):
        if (offer.length, offer.width, offer.supplier) == (length, width, supplier.strip()):
            with yard.deed("price") as deed:
                deed.begin(f"{m.title} {typed_size(length, width, yard.unit)} is no longer on sale")
                end_now(yard, offer)
            return
    raise Refused(f"that size of {m.title} is not on sale")


def end_now(yard: Yard, offer: Offer) -> None:
    """Write down within the open deed that an offer has ended."""
    yard.insert(
        "offer", material_id=offer.material_id, length=offer.length, width=offer.width, price=offer.price,
        supplier=offer.supplier, since=max(yard.clock(), offer.since), ended=1, measure=offer.measure,
        rate=offer.rate,
    )  # fmt: skip


def offers(yard: Yard, material_id: int | None = None) -> tuple[Offer, ...]:
    """Return what is on sale today, the newest price of each size and supplier."""
    return tuple(_of(row) for row in yard.rows(_NOW, {"material": material_id}))


def price_log(yard: Yard, material_id: int | None = None) -> tuple[Offer, ...]:
    """Return every price ever logged, oldest first."""
    rows = yard.rows(
        "SELECT * FROM offer WHERE (:m IS NULL OR material_id = :m) AND ended = 0 ORDER BY since, id",
        {"m": material_id},
    )
    return tuple(_of(row) for row in rows)


def _of(row: sqlite3.Row) -> Offer:
    return Offer(
        material_id=row["material_id"], length=row["length"], width=row["width"], price=row["price"],
        supplier=row["supplier"], since=row["since"], measure=row["measure"], rate=row["rate"],
    )  # fmt: skip
