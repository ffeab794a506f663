"""Which materials a part may be cut from: by id once its words are resolved, whatever they are called now."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from stockyard.yard.model import JobPart, Material
from stockyard.yard.store import Yard


def accepts(part: JobPart, m: Material) -> bool:
    """Whether a part may be cut from a material.

    A part that names materials is bound to those its words were resolved to; until then, and where it names
    none, its words and its thickness decide.
    """
    if m.id in part.material_ids:
        return True
    bound = part.material_ids and part.materials is not None
    return not bound and _says(part.materials, part.thickness_name, m)


def _says(words: Sequence[str] | None, thickness_name: str | None, m: Material) -> bool:
    if words is not None and m.title in words:
        return True
    return (words is None or m.name in words) and thickness_name in (None, m.thickness_name)


def resolved(part: JobPart, known: Sequence[Material]) -> tuple[int, ...]:
    """Return the materials that a part's words stand for, by id; none until each stands for one."""
    if part.materials is None:
        return ()
    each = [[m.id for m in known if _says((word,), part.thickness_name, m)] for word in part.materials]
    return tuple(dict.fromkeys(i for ids in each for i in ids)) if all(each) else ()


def bind(yard: Yard, part_id: int, material_ids: Iterable[int]) -> None:
    """Write down what a part is resolved to, within the open deed."""
    yard.insert_many("part_material", ("part_id", "material_id"), [(part_id, m) for m in material_ids])


def bind_before_rename(yard: Yard, old: Material, known: Sequence[Material]) -> None:
    """Resolve the parts that find a material by its words alone, within the deed that renames it."""
    rows = yard.rows(
        "SELECT p.id, p.materials, p.thickness_name FROM part p JOIN job j ON j.id = p.job_id"
        " WHERE j.state <> 'dropped' AND NOT EXISTS (SELECT 1 FROM part_material WHERE part_id = p.id)"
    )
    for row in rows:
        words = None if row["materials"] is None else json.loads(row["materials"])
        if (words, row["thickness_name"]) != (None, None) and _says(words, row["thickness_name"], old):
            bind(yard, row["id"], [m.id for m in known if _says(words, row["thickness_name"], m)])
