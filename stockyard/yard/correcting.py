"""Correcting what is recorded of a piece besides its size: its material, what it cost, its note."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.errors import Refused
from stockyard.yard.materials import material
from stockyard.yard.model import Piece, State
from stockyard.yard.pieces import by_tag, told
from stockyard.yard.plans import break_plan
from stockyard.yard.store import Yard


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """What is to be corrected; None leaves it as it is. `cost` is money, for the one piece."""

    material_id: int | None = None
    cost: int | None = None
    supplier: str | None = None
    note: str | None = None


def correct(yard: Yard, tag: str, wanted: Correction) -> Piece:
    """Correct what is recorded of a piece: one deed. A plan that counted on its old material is broken.

    Raises:
        Refused: it is cut or gone, nothing would change, or its cost is a share of what it was cut from.
    """
    with yard.deed("correct") as deed:
        p = by_tag(yard, tag)
        if p.state in (State.CUT, State.GONE):
            raise Refused(f"{p.tag} cannot be corrected: it is {told(yard, p)}")
        new = _changes(p, wanted)
        if not new:
            raise Refused(f"{p.tag} is so already")
        if p.parent is not None and "cost" in new:
            raise Refused(f"what {p.tag} carries is its share of {p.parent}, which it was cut from")
        words = {
            "material_id": "the material",
            "cost": "the cost",
            "supplier": "the supplier",
            "note": "the note",
        }
        deed.begin(f"corrected {', '.join(words[field] for field in new)} of {p.tag}")
        if "material_id" in new:
            title = material(yard, wanted.material_id or 0).title
            new["labelled"] = 0
            if p.plan_id is not None:
                break_plan(yard, p.plan_id, f"{p.tag} is {title}")
        if "cost" in new:
            new["guessed"] = 0
        sets = ", ".join(f"{field} = ?" for field in new)
        yard.write(f"UPDATE piece SET {sets} WHERE tag = ?", (*new.values(), p.tag))
    return by_tag(yard, p.tag)


def _changes(p: Piece, wanted: Correction) -> dict[str, object]:
    """Return the fields that differ; a guessed cost that is confirmed differs too."""
    asked = {
        "material_id": wanted.material_id, "cost": wanted.cost, "supplier": wanted.supplier,
        "note": wanted.note,
    }  # fmt: skip
    new = {field: value for field, value in asked.items() if value is not None}
    return {
        field: value
        for field, value in new.items()
        if getattr(p, field) != value or (field == "cost" and p.guessed)
    }
