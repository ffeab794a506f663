"""Taking materials and places out of use: their history stays, and adding them again takes them back."""

from __future__ import annotations

from stockyard.errors import Refused
from stockyard.wording import count
from stockyard.yard.materials import material
from stockyard.yard.model import Material, Place
from stockyard.yard.offers import end_now, offers
from stockyard.yard.places import place, place_by_id, places
from stockyard.yard.store import Yard


def retire_material(yard: Yard, material_id: int) -> Material:
    """Take a material out of use: one deed. It is no longer on sale; `add_material` takes it back.

    Raises:
        Refused: pieces of it are in the yard, or a plan that stands buys some.
    """
    old = material(yard, material_id)
    with yard.deed("material") as deed:
        held = yard.one(
            "SELECT count(*) FROM piece WHERE material_id = ?"
            " AND state IN ('racked', 'promised', 'pulled', 'bench')",
            (material_id,),
        )
        if held:
            raise Refused(
                f"{old.title} is in use: {count(held, 'piece')} of it {'is' if held == 1 else 'are'} here"
            )
        if yard.row(
            "SELECT 1 FROM layout l JOIN plan n ON n.id = l.plan_id WHERE l.material_id = ? AND l.tag IS NULL"
            " AND n.state IN ('standing', 'broken')",
            (material_id,),
        ):
            raise Refused(f"{old.title} is in use: a plan that stands buys some")
        deed.begin(f"retired the material {old.title}")
        for o in offers(yard, material_id):
            end_now(yard, o)
        yard.write("UPDATE material SET retired = 1, least_stock = 0 WHERE id = ?", (material_id,))
    return material(yard, material_id)


def retire_place(yard: Yard, code: str) -> Place:
    """Take a place out of use: one deed; `add_place` takes it back.

    Raises:
        Refused: something lies there, a place in use is inside it, or a count of it is open.
    """
    old = place(yard, code)
    with yard.deed("place") as deed:
        held = yard.one("SELECT count(*) FROM piece WHERE place_id = ?", (old.id,))
        if held:
            raise Refused(
                f"{old.code} is in use: {count(held, 'piece')} {'lies' if held == 1 else 'lie'} there"
            )
        inner = next((p.code for p in places(yard) if p.inside_id == old.id), None)
        if inner is not None:
            raise Refused(f"{old.code} is in use: {inner} is inside it")
        if yard.row("SELECT 1 FROM stocktake WHERE place_id = ? AND ended_at IS NULL", (old.id,)):
            raise Refused(f"{old.code} is being counted: close the count first")
        deed.begin(f"retired the place {old.code}")
        yard.write("UPDATE place SET retired = 1 WHERE id = ?", (old.id,))
    return place_by_id(yard, old.id)
