"""Places: racks, bays and slots, in the order in which one walks the shop."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Mapping
from dataclasses import asdict, dataclass

from stockyard.errors import BadInput, Refused
from stockyard.yard.model import Place, Storage
from stockyard.yard.store import Yard

_COLUMNS = (
    "id, code, rack, bay, slot, storage, length, width, height, supports, rated_load, walk, inside_id,"
    " retired"
)


def add_place(
    yard: Yard,
    code: str,
    storage: Storage,
    *,
    length: int = 0,
    width: int = 0,
    height: int = 0,
    supports: int = 0,
    rated_load: int | None = None,
    inside: str | None = None,
) -> Place:
    """Record a place `rack-bay-slot` (R1-B2-S3; bay and slot may be left out): one deed.

    Sizes are inside sizes in ticks, 0 if unknown; `rated_load` in grams is the user's figure from the
    maker's plate. A new place comes last in the walk. `inside` is the code of a place it stands in.

    Raises:
        BadInput: not a code. Refused: there is one of that code. One that was retired is used again.
    """
    code = read_code(code)
    with yard.deed("place") as deed:
        row = yard.row("SELECT id, retired FROM place WHERE code = ?", (code,))
        if row is not None and not row["retired"]:
            raise Refused(f"there is a place {code} already")
        around = place(yard, inside).id if inside else None
        deed.begin(f"added the place {code}" if row is None else f"took the place {code} into use again")
        walk = yard.one("SELECT coalesce(max(walk), 0) + 1 FROM place")
        facts = {
            **_parts(code), "inside_id": around, "storage": storage, "length": length, "width": width,
            "height": height, "supports": supports, "rated_load": rated_load, "walk": walk,
        }  # fmt: skip
        if row is None:
            yard.insert("place", **facts)
        else:
            _set(yard, row["id"], {**facts, "retired": 0})
    return place(yard, code)


def _parts(code: str) -> dict[str, object]:
    rack, bay, slot = (*code.split("-"), "", "")[:3]
    return {"code": code, "rack": rack, "bay": bay, "slot": slot}


def _set(yard: Yard, place_id: int, fields: Mapping[str, object]) -> None:
    sets = ", ".join(f"{field} = ?" for field in fields)
    yard.write(f"UPDATE place SET {sets} WHERE id = ?", (*fields.values(), place_id))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceChange:
    """What is to be changed of a place, by the names in `Place`; None leaves a field as it is."""

    code: str | None = None
    storage: Storage | None = None
    length: int | None = None
    width: int | None = None
    height: int | None = None
    supports: int | None = None
    rated_load: int | None = None
    walk: int | None = None
    inside_id: int | None = None


def change_place(yard: Yard, code: str, change: PlaceChange) -> Place:
    """Change what is known of a place: one deed.

    Raises:
        BadInput: a new code that is none. Refused: nothing would change, the place would be inside itself,
            or another has the new code.
    """
    old = place(yard, code)
    new = {k: v for k, v in asdict(change).items() if v is not None and getattr(old, k) != v}
    if change.code is not None:
        new["code"] = read_code(change.code)
    if not {k: v for k, v in new.items() if getattr(old, k) != v}:
        raise Refused(f"{old.code} is so already")
    with yard.deed("place") as deed:
        named = new.pop("code", old.code)
        if named != old.code and yard.row("SELECT 1 FROM place WHERE code = ?", (named,)):
            raise Refused(f"there is a place {named} already, or there was one that is retired")
        what = [*(["code"] if named != old.code else []), *new]
        deed.begin(f"changed {', '.join(what)} of {old.code}" + (f" to {named}" if named != old.code else ""))
        _set(yard, old.id, {**new, **_parts(named)})
    return place_by_id(yard, old.id)


def read_code(text: str) -> str:
    """Return a place code as stored: capitals, parts joined by hyphens.

    Raises:
        BadInput: not one to three parts of letters and digits.
    """
    code = re.sub(r"[\s/-]+", "-", text.strip().upper()).strip("-")
    if not re.fullmatch(r"[A-Z0-9.]{1,12}(-[A-Z0-9.]{1,12}){0,2}", code):
        raise BadInput(f"'{text.strip()[:40]}' is not a place: write rack-bay-slot, such as R1-B2-S3")
    return code


def place(yard: Yard, code: str) -> Place:
    """Return the place of that code.

    Raises:
        BadInput: not a code, or no such place.
    """
    wanted = read_code(code)
    row = yard.row(f"SELECT {_COLUMNS} FROM place WHERE code = ?", (wanted,))
    if row is not None and row["retired"]:
        raise BadInput(f"{wanted} is retired", "place retired", {"place": wanted})
    if row is None:
        near = [p.code for p in places(yard) if p.rack == wanted.split("-")[0]][:8]
        if near:
            raise BadInput(
                f"there is no place {wanted}: on {wanted.split('-')[0]} there are {', '.join(near)}"
            )
        raise BadInput(f"there is no place {wanted}", "no place", {"place": wanted})
    return _of(row)


def place_by_id(yard: Yard, place_id: int) -> Place:
    """Return one place by its id."""
    return _of(yard.rows(f"SELECT {_COLUMNS} FROM place WHERE id = ?", (place_id,))[0])


def places(yard: Yard) -> tuple[Place, ...]:
    """Return all places in use in walking order."""
    rows = yard.rows(f"SELECT {_COLUMNS} FROM place WHERE retired = 0 ORDER BY walk, code")
    return tuple(_of(row) for row in rows)


def held(yard: Yard) -> dict[str, tuple[int, int]]:
    """Return how many pieces lie at each place and what they weigh in grams, as far as that is known."""
    rows = yard.rows("SELECT place, pieces, known_weight_kg FROM in_each_place")
    return {row["place"]: (row["pieces"], round(row["known_weight_kg"] * 1000)) for row in rows}


def _of(row: sqlite3.Row) -> Place:
    values = dict(row)
    values["storage"] = Storage(values["storage"])
    values["retired"] = bool(values["retired"])
    return Place(**values)
