"""Materials: what pieces are made of, found by the words a person uses."""

from __future__ import annotations

import json
import re
import sqlite3
from dataclasses import dataclass, fields
from typing import Literal

from stockyard.errors import BadInput, Refused
from stockyard.kinds import Method
from stockyard.measure import plain
from stockyard.rough import Over
from stockyard.yard.accepted import bind_before_rename
from stockyard.yard.model import Form, Material
from stockyard.yard.store import Yard

_COLUMNS = (
    "id, name, form, thickness_name, thickness, grain, density, least_stock, lead_days, note, retired,"
    " method, over_length, over_width, over_face, over_by"
)
_SAID = {
    "thickness_name": "the thickness", "thickness": "the measured thickness",
    "least_stock": "the least stock", "lead_days": "the days to wait", "method": "the machine",
    "over_length": "the allowance in length", "over_width": "the allowance in width",
    "over_face": "the allowance a face", "over_by": "what each machine takes",
}  # fmt: skip
# What people say for what materials are named, whichever it is: the shorter one is looked for.
_SAME = {"plywood": "ply", "sheets": "sheet", "boards": "board"}
BOARDS_SAWN = "the router takes sheets: boards are sawn"
_UNIT_WORD = re.compile(r"(?<=\d)\s*(mm|inch(?:es)?|in|\")(?![a-z])|\b(mm|inch(?:es)?)\b", re.IGNORECASE)


def add_material(
    yard: Yard,
    name: str,
    form: Form,
    thickness_name: str,
    thickness: int,
    *,
    grain: bool,
    density: int | None = None,
    least_stock: int = 0,
    lead_days: int = 0,
    note: str = "",
    method: Method = Method.SAW,
    over: Over | None = None,
) -> Material:
    """Record a material: one deed. `thickness` is as measured, in ticks; `density` kg/m³.

    Raises:
        BadInput: an empty name or a figure out of bounds.
        Refused: there is one of that name and thickness. One that was retired is taken into use again.
    """
    name, thickness_name = " ".join(name.split()), " ".join(plain(thickness_name).split())
    if not name or not thickness_name:
        raise BadInput("a material needs a name and a thickness, such as 'birch ply' and '18 mm'")
    if method is Method.ROUTER and form is not Form.SHEET:
        raise BadInput(BOARDS_SAWN)
    if density is not None and not 1 <= density <= 30_000:
        raise BadInput(f"density is {density}: it must be from 1 to 30000 kg/m³")
    facts = {
        "name": name, "form": form, "thickness_name": thickness_name, "thickness": thickness,
        "grain": int(grain), "density": density, "least_stock": least_stock, "lead_days": lead_days,
        "note": note, "method": method, **_over_row(over),
    }  # fmt: skip
    with yard.deed("material") as deed:
        row = yard.row(
            "SELECT id, retired FROM material"
            " WHERE lower(name) = lower(?) AND lower(thickness_name) = lower(?)",
            (name, thickness_name),
        )
        if row is not None and not row["retired"]:
            raise Refused(f"there is a material {name} {thickness_name} already")
        if row is None:
            deed.begin(f"added the material {name} {thickness_name}")
            return material(yard, yard.insert("material", **facts))
        deed.begin(f"took the material {name} {thickness_name} into use again")
        sets = ", ".join(f"{field} = ?" for field in facts)
        yard.write(f"UPDATE material SET {sets}, retired = 0 WHERE id = ?", (*facts.values(), row["id"]))
    return material(yard, row["id"])


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialChange:
    """What is to be changed of a material, by the names in `Material`; None leaves a field as it is.

    `over` an empty word takes its allowance away.
    """

    name: str | None = None
    thickness_name: str | None = None
    thickness: int | None = None
    grain: bool | None = None
    density: int | None = None
    least_stock: int | None = None
    lead_days: int | None = None
    note: str | None = None
    method: Method | None = None
    over: Over | Literal[""] | None = None


def change_material(yard: Yard, material_id: int, change: MaterialChange) -> Material:
    """Change what is known of a material: one deed.

    Raises:
        BadInput: boards on the router. Refused: nothing would change.
    """
    old = material(yard, material_id)
    if change.method is Method.ROUTER and old.form is not Form.SHEET:
        raise BadInput(BOARDS_SAWN)
    given = {f.name: getattr(change, f.name) for f in fields(change) if f.name != "over"}
    new = {k: v for k, v in given.items() if v is not None and getattr(old, k) != v}
    if change.over is not None and (change.over or None) != old.over:
        new |= _over_row(change.over or None)
    if not new:
        raise Refused(f"{old.title} is so already")
    named_so = (new.get("name", old.name), new.get("thickness_name", old.thickness_name))
    with yard.deed("material") as deed:
        if yard.row(
            "SELECT 1 FROM material WHERE lower(name) = lower(?) AND lower(thickness_name) = lower(?)"
            " AND id <> ?",
            (*named_so, material_id),
        ):
            raise Refused(f"there is a material {' '.join(named_so)} already, or one that is retired")
        deed.begin(f"changed {', '.join(_SAID.get(field, field) for field in new)} of {old.title}")
        if "name" in new or "thickness_name" in new:
            bind_before_rename(yard, old, materials(yard))
        sets = ", ".join(f"{field} = ?" for field in new)
        values = (int(value) if isinstance(value, bool) else value for value in new.values())
        yard.write(f"UPDATE material SET {sets} WHERE id = ?", (*values, material_id))
    return material(yard, material_id)


def material(yard: Yard, material_id: int) -> Material:
    """Return one material by its id."""
    row = yard.row(f"SELECT {_COLUMNS} FROM material WHERE id = ?", (material_id,))
    if row is None:
        raise BadInput(f"there is no material number {material_id}")
    return _of(row)


def materials(yard: Yard) -> tuple[Material, ...]:
    """Return all materials by name and thickness."""
    rows = yard.rows(f"SELECT {_COLUMNS} FROM material ORDER BY lower(name), thickness, id")
    return tuple(_of(row) for row in rows)


def words_of(text: str) -> frozenset[str]:
    """Return the words of a material's name or of what a person asks for, without units and case."""
    bare = _UNIT_WORD.sub(" ", plain(text).lower())
    return frozenset(w for w in re.split(r"[^\w/.]+", bare) if w)


def matching(yard: Yard, text: str) -> tuple[Material, ...]:
    """Return the materials whose name, form and thickness hold every word of `text`, in any order.

    A word matches a whole word, or the start of one of three letters and more ('ply' finds plywood, and
    plywood finds ply). Materials the shop uses no more are left out.
    """
    wanted = words_of(text)
    return tuple(m for m in materials(yard) if not m.retired and all(_has(_all_words(m), w) for w in wanted))


def named(yard: Yard, text: str) -> Material:
    """Return the one material that `text` names.

    Raises:
        BadInput: none, or more than one, does; they are listed.
    """
    found = matching(yard, text)
    exact = [m for m in found if words_of(m.title) == words_of(text)]
    if len(exact) == 1:
        return exact[0]
    if len(found) == 1:
        return found[0]
    shown = text.strip()[:60]
    if not found:
        known = ", ".join(m.title for m in materials(yard)[:12]) or "none yet"
        raise BadInput(f"no material is '{shown}': the materials are {known}")
    raise BadInput(f"'{shown}' may be {', '.join(m.title for m in found[:8])}: say which")


def _all_words(m: Material) -> frozenset[str]:
    return words_of(m.title) | {m.form.value}


def _has(words: frozenset[str], wanted: str) -> bool:
    wanted = _SAME.get(wanted, wanted)
    return wanted in words or (
        len(wanted) >= 3 and wanted.isalpha() and any(w.startswith(wanted) for w in words)
    )


def _over_row(over: Over | None) -> dict[str, int | str | None]:
    """Return an allowance as the columns of a row."""
    own = (None, None, None) if over is None else (over.length, over.width, over.face)
    by = {name: [o.length, o.width, o.face] for name, o in over.by} if over else {}
    row: dict[str, int | str | None] = dict(zip(("over_length", "over_width", "over_face"), own, strict=True))
    return row | {"over_by": json.dumps(by) if by else ""}


def _of(row: sqlite3.Row) -> Material:
    values = dict(row)
    values["form"] = Form(values["form"])
    values["grain"] = bool(values["grain"])
    values["retired"] = bool(values["retired"])
    values["method"] = Method(values["method"])
    over = (values.pop("over_length"), values.pop("over_width"), values.pop("over_face"))
    by = tuple((name, Over(*own)) for name, own in json.loads(values.pop("over_by") or "{}").items())
    values["over"] = None if over[0] is None else Over(*over, by=by)
    return Material(**values)
