"""Reading what is to be shelved: sizes, money, weights, and pieces as said by hand."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from stockyard import footage
from stockyard.errors import BadInput
from stockyard.figures import GRAMS_PER_KG, GRAMS_PER_LB
from stockyard.flaws import Flaw
from stockyard.kinds import Kind
from stockyard.measure import MONEY, Length, Money, Unit, Weight, read_number, read_rectangle, read_size
from stockyard.yard.model import Form, Material, Offer
from stockyard.yard.offers import offers
from stockyard.yard.pieces import Arrival
from stockyard.yard.store import Yard

MOST_MONEY = 10**8
MOST_GRAMS = 100_000_000
# The sign that goes with a code, where people write it (common practice, no source).
_SIGNS = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "EUR": "€", "GBP": "£"}


def read_flaw(text: str, unit: Unit) -> Flaw:
    """Return the flaw that '80 x 120 at 300, 45' says: its size along and across, then where it begins.

    Raises:
        BadInput: it says no such thing.
    """
    like = "3 x 4 1/2 at 12, 1 3/4" if unit is Unit.INCH else "80 x 120 at 300, 45"
    wanted = f"not a flaw: write its size and where it begins from corner 0, '{like}'"
    return Flaw(*read_rectangle(text, unit, wanted))


def read_money(text: str, currency: str = "") -> Money:
    """Return money in ten-thousandths from '58', '58.50' or '58,50', the shop's own sign before or after.

    Raises:
        BadInput: not an amount, negative, or too large to be one.
    """
    t = text.strip()
    for sign in (currency, _SIGNS.get(currency, "")):
        t = t.removeprefix(sign).removesuffix(sign).strip()
    if re.fullmatch(r"\d{1,9},\d{1,2}", t):
        t = t.replace(",", ".")
    try:
        amount = Decimal(t)
    except InvalidOperation:
        raise BadInput(f"'{text.strip()[:30]}' is not an amount of money: write it like 58.50") from None
    if not amount.is_finite() or not 0 <= amount <= MOST_MONEY:
        raise BadInput(f"'{text.strip()[:30]}' is not an amount of money: from 0 to {MOST_MONEY}")
    if amount * MONEY != int(amount * MONEY):
        raise BadInput(f"'{text.strip()[:30]}' has more than four decimals")
    return Money(int(amount * MONEY))


def read_weight(text: str, unit: Unit) -> Weight:
    """Return grams from '450 kg' or '1000 lb'; a bare figure is kg, or lb in a yard that works in inches.

    Raises:
        BadInput: not a weight, nothing, or more than any rack carries.
    """
    shown = text.strip()[:30]
    m = re.fullmatch(r"([\d.,]+)\s*(kg|kilos?|lbs?|pounds?)?\.?", text.strip().lower())
    if m is None:
        raise BadInput(f"'{shown}' is not a weight: write it like 450 kg or 1000 lb")
    pounds = m[2][0] in "lp" if m[2] else unit is Unit.INCH
    grams = read_number(m[1]) * (GRAMS_PER_LB if pounds else GRAMS_PER_KG)
    if not 0 < round(grams) <= MOST_GRAMS:
        raise BadInput(f"'{shown}' is not a weight of a rack: more than 0, at most {MOST_GRAMS // 10**6} t")
    return Weight(round(grams))


def full_offer(yard: Yard, material: Material, size: str | None, supplier: str = "") -> Offer | None:
    """Return the size on sale that is meant: the only one, or the one of `size`, written either way round.

    Of several offers of that size it is the supplier's own, else the cheapest.

    Raises:
        BadInput: no size is given and not exactly one is on sale.
    """
    said = " ".join(supplier.split()).casefold()
    on_sale = sorted(offers(yard, material.id), key=lambda o: o.supplier.casefold() != said)
    if size is None and any(o.rate is not None for o in on_sale):
        raise BadInput(f"say the size of the {material.title}: its boards are of random widths")
    if size is None:
        sizes = {(o.length, o.width) for o in on_sale}
        if len(sizes) != 1:
            what = "none is" if not sizes else f"{len(sizes)} are"
            raise BadInput(f"say the size of the {material.title}: {what} on sale in the price list")
        return on_sale[0]
    wanted = sorted(read_size(size, yard.unit))
    return next((o for o in on_sale if sorted((o.length, o.width)) == wanted), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """What is known of equal pieces that come in, besides their size. `cost` None: today's price."""

    count: int = 1
    thickness: int | None = None
    cost: int | None = None
    supplier: str = ""
    note: str = ""
    flaws: tuple[Flaw, ...] = ()


def full_arrival(yard: Yard, material: Material, size: str | None, at: str, lot: Lot) -> Arrival:
    """Return full pieces to shelve. A size on sale decides which side runs along the grain, and the cost.

    Boards sold by the board foot cost what their tally says. What nobody else sells in that size is priced by
    area from its neighbours, and marked as guessed.
    """
    offer = full_offer(yard, material, size, lot.supplier)
    if offer is not None:
        sides = offer.length, offer.width
        return _arrival_of(material, Kind.FULL, sides, at, lot, offer.price)
    length, width = map(Length, read_size(size or "", yard.unit))
    if material.form is Form.BOARD:
        length, width = max(length, width), min(length, width)
    if (sold := rate_of(yard, material, lot.supplier)) is not None:
        own = material.thickness_name, material.thickness
        by_rate = footage.price(sold.rate or 0, footage.Measure(sold.measure), length, width, *own)
        return _arrival_of(material, Kind.FULL, (length, width), at, lot, by_rate)
    guess = neighbour_price(yard, material.id, length * width) if lot.cost is None else None
    made = _arrival_of(material, Kind.FULL, (length, width), at, lot, guess or 0)
    return replace(made, guessed=guess is not None)


def rate_of(yard: Yard, material: Material, supplier: str = "") -> Offer | None:
    """Return the offer that says what lumber of random widths costs: the supplier's own, else the newest."""
    said = " ".join(supplier.split()).casefold()
    found = [o for o in offers(yard, material.id) if o.rate is not None]
    return max(found, key=lambda o: (o.supplier.casefold() == said, o.since), default=None)


def neighbour_price(yard: Yard, material_id: int, area: int) -> int | None:
    """Return what an area (ticks²) costs at the price of the size on sale nearest to it.

    None where no size is on sale. Rounded to hundredths of the currency.
    """
    on_sale = sorted(offers(yard, material_id), key=lambda o: (abs(o.length * o.width - area), o.price))
    if not on_sale:
        return None
    near = on_sale[0]
    cent = MONEY // 100
    return round(Fraction(near.price * area, near.length * near.width * cent)) * cent


def offcut_arrival(yard: Yard, material: Material, size: str, at: str, lot: Lot) -> Arrival:
    """Return offcuts to shelve, measured by hand: the first figure of `size` runs along the grain."""
    return _arrival_of(material, Kind.OFFCUT, read_size(size, yard.unit), at, lot, 0)


def _arrival_of(
    material: Material, kind: Kind, size: tuple[int, int], at: str, lot: Lot, cost: int
) -> Arrival:
    return Arrival(
        material_id=material.id, kind=kind, length=size[0], width=size[1], place=at, count=lot.count,
        thickness=lot.thickness, cost=cost if lot.cost is None else lot.cost, supplier=lot.supplier,
        note=lot.note, flaws=lot.flaws,
    )  # fmt: skip
