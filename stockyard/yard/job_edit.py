"""A stored job changed: parts, counts, sizes, names. What was cut of it stays with its part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from stockyard.errors import BadInput, Refused
from stockyard.kinds import Method
from stockyard.wording import count
from stockyard.yard.accepted import bind, resolved
from stockyard.yard.jobs import (
    cut_so_far,
    job_by_id,
    keep_document,
    named_parts,
    part_row,
    planned_as,
    refuse_name,
    still_to_cut,
)
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, JobPart
from stockyard.yard.plans import break_plan, release_within, standing_plan
from stockyard.yard.store import Yard

# What a plan does not ask of a part: a change of these alone leaves the plan as it is.
_UNPLANNED = {
    "note": "", "bands": (), "finished_length": None, "finished_width": None, "band_material": "",
    "band_thickness": None, "outline": "", "over_length": 0, "over_width": 0, "final_thickness": None,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Edit:
    """What a job is to be: `kept` are the parts that stay, by their place in the old list from 0, as they
    are to be; those not named go. `text` None keeps the list it was read from, `method` "" what the job is
    cut on.
    """

    kept: Mapping[int, JobPart]
    added: tuple[JobPart, ...] = ()
    name: str | None = None
    text: str | None = None
    method: Method | Literal[""] | None = ""


@dataclass(frozen=True, slots=True)
class Edited:
    """A job as it is now. `called`: renamed parts, old name to new; `to_plan`: its plan must be mended."""

    job: Job
    called: Mapping[str, str]
    to_plan: bool


def edit_job(yard: Yard, job_id: int, edit: Edit, says: str) -> Edited:
    """Change a job: one deed. A plan that its parts no longer fit is broken, given up when nothing is left.

    Raises:
        BadInput: no parts are left, or the new name is none.
        Refused: nothing would change, the job is removed, its new name is another job's, or more of a part
            is cut already than it is to have.
    """
    with yard.deed("job") as deed:
        old = job_by_id(yard, job_id)
        new = _edited(old, edit)
        if old.state == "dropped":
            raise Refused(f"job {old.name} is removed")
        if new == old:
            raise Refused(f"nothing about job {old.name} would change")
        if not new.parts:
            raise BadInput(f"job {old.name} would have no parts: remove the job instead")
        refuse_name(yard, new.name, but=job_id)
        called = _called(old, new, edit)
        done = cut_so_far(yard, job_id)
        deed.begin(f"changed the job {old.name}: {says}")
        _write(yard, old, new, edit)
        _rename_cut(yard, job_id, called)
        _refuse_cut_already(old, new, {called.get(n, n): k for n, k in done.items()})
        to_plan = _settle(yard, old, job_by_id(yard, job_id))
    if old.together_id is not None:
        called = {f"{old.name}: {a}": f"{new.name}: {b}" for a, b in called.items()}
    return Edited(job_by_id(yard, job_id), {a: b for a, b in called.items() if a != b}, to_plan)


def _edited(old: Job, edit: Edit) -> Job:
    kept = [edit.kept[i] for i in range(len(old.parts)) if i in edit.kept]
    return replace(
        old,
        parts=(*kept, *edit.added),
        name=old.name if edit.name is None else " ".join(edit.name.split()),
        text=old.text if edit.text is None else edit.text,
        method=old.method if edit.method == "" else edit.method,
    )


def _called(old: Job, new: Job, edit: Edit) -> dict[str, str]:
    """Return what each part that stays was called in plans, and what it is called now."""
    before = [name for name, _ in named_parts(old)]
    after = [name for name, _ in named_parts(new)]
    return {before[i]: after[n] for n, i in enumerate(sorted(edit.kept))}


def _refuse_cut_already(old: Job, new: Job, done: Mapping[str, int]) -> None:
    sizes = {(p.name, p.length, p.width) for p in old.parts}
    for name, part in named_parts(new):
        if done.get(name, 0) > part.count and (part.name, part.length, part.width) in sizes:
            raise Refused(
                f"{count(done[name], name)} of job {old.name} cut already: it cannot be {part.count}",
                "cut already",
                {"job": old.name, "part": name},
            )


def _write(yard: Yard, old: Job, new: Job, edit: Edit) -> None:
    known = materials(yard)
    ids = [r["id"] for r in yard.rows("SELECT id FROM part WHERE job_id = ? ORDER BY line", (old.id,))]
    for i, part_id in enumerate(ids):
        if edit.kept.get(i) == old.parts[i]:
            continue
        if i not in edit.kept or edit.kept[i].materials != old.parts[i].materials:
            yard.write("DELETE FROM part_material WHERE part_id = ?", (part_id,))
        if i not in edit.kept:
            yard.write("DELETE FROM part WHERE id = ?", (part_id,))
            continue
        row = part_row(yard, edit.kept[i])
        fields = ", ".join(f"{name} = ?" for name in row)
        yard.write(f"UPDATE part SET {fields} WHERE id = ?", (*row.values(), part_id))
        if edit.kept[i].materials != old.parts[i].materials:
            bind(yard, part_id, resolved(edit.kept[i], known))
    line = yard.one("SELECT coalesce(max(line), 0) FROM part WHERE job_id = ?", (old.id,))
    for n, part in enumerate(edit.added, line + 1):
        made = yard.insert("part", job_id=old.id, line=n, **part_row(yard, part))
        bind(yard, made, resolved(part, known))
    if new.name != old.name:
        yard.write("UPDATE job SET name = ? WHERE id = ?", (new.name, old.id))
    if new.method is not old.method:
        yard.write("UPDATE job SET method = ? WHERE id = ?", (new.method, old.id))
    if new.text != old.text:
        yard.write("UPDATE job SET text = ? WHERE id = ?", (keep_document(yard, new.text), old.id))


def _rename_cut(yard: Yard, job_id: int, called: Mapping[str, str]) -> None:
    """Give parts that were cut the name that their part has now; all at once, as two may swap names."""
    changed = {a: b for a, b in called.items() if a != b}
    rows = yard.rows("SELECT id, name FROM cut_part WHERE job_id = ?", (job_id,))
    for row in rows:
        if row["name"] in changed:
            yard.write("UPDATE cut_part SET name = ? WHERE id = ?", (changed[row["name"]], row["id"]))


def _settle(yard: Yard, old: Job, new: Job) -> bool:
    """Open or close the job and break its plan, as what is still to be cut wants it; return the latter."""
    left = still_to_cut(yard, new)
    state = "open" if left else "done"
    holder = planned_as(yard, new)
    plan = standing_plan(yard, holder.id)
    left = still_to_cut(yard, holder)
    if plan is not None and not left:
        release_within(yard, plan, "nothing of the job is left to cut")
    if state != old.state:
        yard.write("UPDATE job SET state = ? WHERE id = ?", (state, new.id))
    same = _planned(old) == _planned(new) and (holder is new or old.name == new.name)
    if plan is None or not left or same:
        return False
    break_plan(yard, plan.id, "its cut list was changed")
    return True


def _planned(job: Job) -> list[tuple[str, JobPart]]:
    """Return what a plan asks of the parts of a job, in any order."""
    return sorted(
        (
            (name, replace(part, method=part.method or job.method, **_UNPLANNED))  # type: ignore[arg-type]
            for name, part in named_parts(job)
        ),
        key=lambda named: named[0],
    )
