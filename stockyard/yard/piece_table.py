"""A CSV file of pieces to shelve: all rows or none."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockyard.errors import BadInput, StockyardError
from stockyard.flaws import looked_at
from stockyard.kinds import Kind
from stockyard.measure import parse, read_size
from stockyard.wording import count
from stockyard.yard.exchange import unguard
from stockyard.yard.intake import (
    Lot,
    full_arrival,
    full_offer,
    offcut_arrival,
    read_flaw,
    read_money,
)
from stockyard.yard.materials import materials, named
from stockyard.yard.model import Form, Material
from stockyard.yard.offers import offers
from stockyard.yard.pieces import Arrival
from stockyard.yard.places import place
from stockyard.yard.store import Yard

MOST_BYTES = 20_000_000
# Each column of a table of pieces, and what it holds.
COLUMNS = {
    "material": "words that name it, such as birch ply 18 (needed)",
    "kind": "full or offcut; empty: judged by the sizes on sale, and told",
    "length": "along the grain",
    "width": "across the grain",
    "size": "length x width in one cell, instead of the two columns",
    "place": "rack-bay-slot, such as R1-B2-S3 (needed)",
    "count": "how many equal pieces; empty: 1",
    "thickness": "as measured, if it differs from the material's",
    "cost": "what one cost; empty: today's price",
    "supplier": "who sold it",
    "note": "anything worth knowing",
    "flaws": "80 x 120 at 300, 45 from corner 0; several with 'and' between",
}


@dataclass(frozen=True, slots=True)
class Delivery:
    """What a table of pieces says, and what was judged where it says nothing, to be told."""

    arrivals: tuple[Arrival, ...]
    judged: tuple[str, ...] = ()


def template() -> str:
    """Return an empty table of pieces: the header with every column."""
    return ",".join(COLUMNS) + "\r\n"


def read_pieces(yard: Yard, content: bytes, name: str) -> Delivery:
    """Return what a CSV file of pieces says, one row a kind of piece; columns as `COLUMNS`, in any order.

    `material` and `place` are needed, and `length` and `width`, or `size`, or for full pieces nothing when
    one size is on sale. Separators may be commas, semicolons or tabs. Where no kind is said, the sizes on
    sale judge: one of them is a full piece, a smaller one an offcut.

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


def _arrivals(yard: Yard, reader: csv.DictReader[str], name: str) -> Delivery:
    arrivals: list[Arrival] = []
    judged: dict[str, list[int]] = {says: [] for says in _TAKEN.values()}
    boards = {m.id for m in materials(yard) if m.form is Form.BOARD}
    wrong: list[str] = []
    for row in reader:
        if not any((value or "").strip() for value in row.values() if isinstance(value, str)):
            continue
        try:
            if "" in row:
                raise BadInput("it has more cells than the header")
            cells = {k: str(unguard(v or "", whole=False) or "").strip() for k, v in row.items()}
            arrivals.append(_arrival(yard, cells))
            if not cells.get("kind") and (cells.get("size") or cells.get("length")):
                last = arrivals[-1]
                judged[_TAKEN[last.kind, last.material_id in boards]].append(reader.line_num)
        except StockyardError as error:
            wrong.append(f"line {reader.line_num}: {error}")
    if wrong:
        more = f"\n  and {len(wrong) - 20} more" if len(wrong) > 20 else ""
        lines = f"{count(len(wrong), 'row')} {'is' if len(wrong) == 1 else 'are'} wrong"
        raise BadInput(f"{name}: nothing was shelved, {lines}\n  " + "\n  ".join(wrong[:20]) + more)
    if not arrivals:
        raise BadInput(f"{name} has no rows under its header")
    return Delivery(tuple(arrivals), tuple(_told(says, lines) for says, lines in judged.items() if lines))


_TAKEN = {
    (Kind.FULL, False): "full pieces: the size is on sale",
    (Kind.FULL, True): "boards as bought: the size is on sale",
    (Kind.OFFCUT, False): "offcuts: smaller than what is on sale",
    (Kind.OFFCUT, True): "boards left over, with no cost: smaller than what is on sale",
}


def _told(says: str, lines: Sequence[int]) -> str:
    shown = ", ".join(str(n) for n in lines[:20]) + (" ..." if len(lines) > 20 else "")
    return f"No kind is said, taken as {says} (line{'' if len(lines) == 1 else 's'} {shown})."


def _judged(yard: Yard, material: Material, size: str | None) -> str:
    """Return the kind of a piece that its row does not say, by the sizes on sale.

    Raises:
        BadInput: none is on sale, or the piece is no smaller than any.
    """
    if not size:
        return Kind.FULL
    on_sale = offers(yard, material.id)
    if not on_sale:
        raise _unjudged(size, f"no size of {material.title} is on sale")
    if full_offer(yard, material, size):
        return Kind.FULL
    length, width = read_size(size, yard.unit)
    if any(length <= o.length and width <= o.width for o in on_sale):
        return Kind.OFFCUT
    raise _unjudged(size, "it is no smaller than what is on sale")


def _unjudged(size: str, why: str) -> BadInput:
    return BadInput(f"no kind is said, and {why}: write full or offcut in a column kind (it is {size[:40]})")


def _arrival(yard: Yard, cells: Mapping[str, str]) -> Arrival:
    material = named(yard, cells["material"])
    at = place(yard, cells["place"]).code
    size: str | None = cells.get("size", "")
    sides = [cells.get("length"), cells.get("width")]
    if not size and any(sides):
        if not all(sides):
            raise BadInput("a size needs its length and its width")
        size = " x ".join(side for side in sides if side)
    kind = cells.get("kind", "").lower() or _judged(yard, material, size)
    if kind not in ("full", "offcut"):
        raise BadInput(f"kind is '{kind[:20]}': write full or offcut")
    lot = Lot(
        count=_count(cells.get("count", "")),
        thickness=parse(cells["thickness"], yard.unit) if cells.get("thickness") else None,
        cost=read_money(cells["cost"], yard.settings.currency) if cells.get("cost") else None,
        supplier=cells.get("supplier", ""),
        note=cells.get("note", ""),
        flaws=tuple(read_flaw(one, yard.unit) for one in _flaws(cells.get("flaws", ""))),
    )
    if kind == "offcut":
        if not size:
            raise BadInput("an offcut needs its length and width")
        found = offcut_arrival(yard, material, size, at, lot)
    else:
        found = full_arrival(yard, material, size or None, at, lot)
    looked_at(found.flaws, found.length, found.width, yard.unit, "the piece")
    return found


def _flaws(text: str) -> list[str]:
    return re.split(r"\s+and\s+", text) if text else []


def _count(text: str) -> int:
    if not text:
        return 1
    if not re.fullmatch(r"\d{1,6}", text) or int(text) < 1:
        raise BadInput(f"count is '{text[:20]}': write a whole number from 1")
    return int(text)
