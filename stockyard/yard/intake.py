"""Reading what is to be shelved: sizes, money, and a CSV file of pieces, all rows or none."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from stockyard.errors import BadInput, StockyardError
from stockyard.handling import GRAMS_PER_KG, GRAMS_PER_LB
from stockyard.kinds import Kind
from stockyard.measure import MONEY, Unit, parse, parse_pair, plain, read_number
from stockyard.wording import count
from stockyard.yard.exchange import unguard
from stockyard.yard.materials import named
from stockyard.yard.model import Form, Material, Offer
from stockyard.yard.offers import offers
from stockyard.yard.pieces import Arrival
from stockyard.yard.places import place
from stockyard.yard.store import Yard

MOST_BYTES = 20_000_000
MOST_MONEY = 10**8
MOST_GRAMS = 100_000_000
COLUMNS = (
    "material",
    "kind",
    "length",
    "width",
    "size",
    "place",
    "count",
    "thickness",
    "cost",
    "supplier",
    "note",
)
# The sign that goes with a code, where people write it (common practice, no source).
_SIGNS = {"USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "EUR": "€", "GBP": "£"}
_BY = re.compile(r"\s*(?:[x×*]|\bby\b)\s*", re.IGNORECASE)


def read_size(text: str, unit: Unit) -> tuple[int, int]:
    """Return (length, width) in ticks from '23 1/2 x 48': the first figure runs along the grain.

    Raises:
        BadInput: not two lengths.
    """
    sides = _BY.split(plain(text).strip())
    if len(sides) != 2:
        raise BadInput(f"'{text.strip()[:40]}' is not a size: write length x width, along the grain first")
    return parse_pair(sides[0], sides[1], unit)


def read_money(text: str, currency: str = "") -> int:
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
    return int(amount * MONEY)


def read_weight(text: str, unit: Unit) -> int:
    """Return grams from '450 kg' or '1000 lb'; a bare figure is kg, or lb in a yard that works in inches.

    Raises:
        BadInput: not a weight, nothing, or more than any rack carries.
    """
    shown = text.strip()[:30]
    m = re.fullmatch(r"([\d.,]+)\s*(kg|kilos?|lbs?|pounds?)?\.?", text.strip().lower())
    if m is None:
        raise BadInput(f"'{shown}' is not a weight: write it like 450 kg or 1000 lb")
    pounds = m[2][0] in "lp" if m[2] else unit is Unit.INCH
    grams = read_number(m[1]) * (Fraction(GRAMS_PER_LB) if pounds else GRAMS_PER_KG)
    if not 0 < round(grams) <= MOST_GRAMS:
        raise BadInput(f"'{shown}' is not a weight of a rack: more than 0, at most {MOST_GRAMS // 10**6} t")
    return round(grams)


def full_offer(yard: Yard, material: Material, size: str | None, supplier: str = "") -> Offer | None:
    """Return the size on sale that is meant: the only one, or the one of `size`, written either way round.

    Of several offers of that size it is the supplier's own, else the cheapest.

    Raises:
        BadInput: no size is given and not exactly one is on sale.
    """
    said = " ".join(supplier.split()).casefold()
    on_sale = sorted(offers(yard, material.id), key=lambda o: o.supplier.casefold() != said)
    if size is None:
        sizes = {(o.length, o.width) for o in on_sale}
        if len(sizes) != 1:
            what = "none is" if not sizes else f"{len(sizes)} are"
            raise BadInput(f"say the size of the {material.title}: {what} on sale in the price list")
        return on_sale[0]
    wanted = sorted(read_size(size, yard.unit))
    return next((o for o in on_sale if sorted((o.length, o.width)) == wanted), None)


def full_arrival(yard: Yard, material: Material, size: str | None, at: str, **more: object) -> Arrival:
    """Return full pieces to shelve. A size on sale decides which side runs along the grain, and the cost."""
    offer = full_offer(yard, material, size, str(more.get("supplier", "")))
    if offer is not None:
        length, width, cost = offer.length, offer.width, offer.price
    else:
        length, width = read_size(size or "", yard.unit)
        cost = 0
        if material.form is Form.BOARD:
            length, width = max(length, width), min(length, width)
    values = {"cost": cost} | more
    return Arrival(
        material_id=material.id,
        kind=Kind.FULL,
        length=length,
        width=width,
        place=at,
        **values,  # type: ignore[arg-type]
    )


def offcut_arrival(yard: Yard, material: Material, size: str, at: str, **more: object) -> Arrival:
    """Return offcuts to shelve, measured by hand: the first figure of `size` runs along the grain."""
    length, width = read_size(size, yard.unit)
    return Arrival(
        material_id=material.id,
        kind=Kind.OFFCUT,
        length=length,
        width=width,
        place=at,
        **more,  # type: ignore[arg-type]
    )


def read_pieces(yard: Yard, content: bytes, name: str) -> tuple[Arrival, ...]:
    """Return what a CSV file of pieces says, one row a kind of piece; columns as `COLUMNS`, in any order.

    `material` and `place` are needed, and `length` and `width`, or `size`, or for full pieces nothing when
    one size is on sale. Separators may be commas, semicolons or tabs.

    Raises:
        BadInput: the file cannot be read, or rows are wrong: each is named by its line, none is taken.
    """
    if len(content) > MOST_BYTES:
        raise BadInput(f"{name} is larger than {MOST_BYTES // 10**6} MB: split it")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(f"{name} is not UTF-8 text (byte {error.start}): save it as CSV UTF-8") from None
    first = text.partition("\n")[0]
    separator = max(",;\t", key=first.count)
    reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=separator, restkey="", strict=True)
    try:
        columns = [c.strip().lower() for c in reader.fieldnames or []]
        _look_at_header(columns, name)
        reader.fieldnames = columns
        return _arrivals(yard, reader, name)
    except csv.Error as error:
        raise BadInput(f"{name}, line {reader.line_num}: {error}") from None


def _look_at_header(columns: list[str], name: str) -> None:
    for needed in ("material", "place"):
        if needed not in columns:
            raise BadInput(
                f"{name}, line 1: there is no column '{needed}'; the columns are {', '.join(COLUMNS)}"
            )
    strange = next((c for c in columns if c not in COLUMNS), None)
    if strange is not None:
        raise BadInput(f"{name}, line 1: '{strange[:40]}' is no column; the columns are {', '.join(COLUMNS)}")
    if len(set(columns)) != len(columns):
        raise BadInput(f"{name}, line 1: a column comes twice")


def _arrivals(yard: Yard, reader: csv.DictReader[str], name: str) -> tuple[Arrival, ...]:
    arrivals: list[Arrival] = []
    wrong: list[str] = []
    for row in reader:
        if not any((value or "").strip() for value in row.values() if isinstance(value, str)):
            continue
        try:
            if "" in row:
                raise BadInput("it has more cells than the header")
            cells = {k: str(unguard(v or "", whole=False) or "").strip() for k, v in row.items()}
            arrivals.append(_arrival(yard, cells))
        except StockyardError as error:
            wrong.append(f"line {reader.line_num}: {error}")
    if wrong:
        more = f"\n  and {len(wrong) - 20} more" if len(wrong) > 20 else ""
        lines = f"{count(len(wrong), 'row')} {'is' if len(wrong) == 1 else 'are'} wrong"
        raise BadInput(f"{name}: nothing was shelved, {lines}\n  " + "\n  ".join(wrong[:20]) + more)
    if not arrivals:
        raise BadInput(f"{name} has no rows under its header")
    return tuple(arrivals)


def _arrival(yard: Yard, cells: Mapping[str, str]) -> Arrival:
    material = named(yard, cells["material"])
    at = place(yard, cells["place"]).code
    kind = cells.get("kind", "").lower() or "full"
    if kind not in ("full", "offcut"):
        raise BadInput(f"kind is '{kind[:20]}': write full or offcut")
    size: str | None = cells.get("size", "")
    sides = [cells.get("length"), cells.get("width")]
    if not size and any(sides):
        if not all(sides):
            raise BadInput("a size needs its length and its width")
        size = " x ".join(side for side in sides if side)
    more: dict[str, object] = {"count": _count(cells.get("count", "")), "note": cells.get("note", "")}
    more["supplier"] = cells.get("supplier", "")
    if cells.get("thickness"):
        more["thickness"] = parse(cells["thickness"], yard.unit)
    if cells.get("cost"):
        more["cost"] = read_money(cells["cost"], yard.settings.currency)
    if kind == "offcut":
        if not size:
            raise BadInput("an offcut needs its length and width")
        return offcut_arrival(yard, material, size, at, **more)
    return full_arrival(yard, material, size or None, at, **more)


def _count(text: str) -> int:
    if not text:
        return 1
    if not re.fullmatch(r"\d{1,6}", text) or int(text) < 1:
        raise BadInput(f"count is '{text[:20]}': write a whole number from 1")
    return int(text)
