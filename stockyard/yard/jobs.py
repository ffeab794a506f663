"""Jobs: a project's pasted text and the parts it asks for."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections import Counter, defaultdict
from collections.abc import Sequence

from stockyard.errors import BadInput, Refused
from stockyard.kinds import Grain
from stockyard.wording import count
from stockyard.yard.accepted import bind, resolved
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, JobPart
from stockyard.yard.store import Yard

_PART = (
    "job_id", "line", "name", "count", "length", "width", "thickness_name", "materials", "grain", "bands",
    "finished_length", "finished_width", "priority", "note", "band_material", "band_thickness",
)  # fmt: skip


def add_job(yard: Yard, name: str, text: str, parts: Sequence[JobPart]) -> Job:
    """Store a job with the text it was read from: one deed.

    Raises:
        BadInput: no name or no parts. Refused: there is a job of that name.
    """
    name = " ".join(name.split())
    if not name or len(name) > 80 or name.isdigit():
        raise BadInput("a job needs a name of up to 80 characters that is not just a number")
    if not parts:
        raise BadInput(f"job {name} has no parts: nothing was stored")
    with yard.deed("job") as deed:
        if yard.row("SELECT 1 FROM job WHERE lower(name) = lower(?) AND state <> 'dropped'", (name,)):
            raise Refused(f"there is a job {name} already: give this one another name, or remove that one")
        deed.begin(f"added the job {name} of {count(sum(p.count for p in parts), 'part')}")
        digest = keep_document(yard, text)
        made = yard.insert("job", name=name, text=digest, created_at=yard.clock())
        known = materials(yard)
        for line, part in enumerate(parts, 1):
            row = dict(zip(_PART, (made, line, *_row(part)), strict=True))
            bind(yard, yard.insert("part", **row), resolved(part, known))
    return job_by_id(yard, made)


def job(yard: Yard, name_or_id: str | int) -> Job:
    """Return a job by its name (any case, or a start of it that only one has) or its number.

    Raises:
        BadInput: none or several.
    """
    wanted = str(name_or_id).strip()
    rows = yard.rows("SELECT id, name FROM job WHERE state <> 'dropped' ORDER BY id")
    lowered = wanted.lower()
    exact = [r for r in rows if r["name"].lower() == lowered or str(r["id"]) == wanted]
    found = exact or [r for r in rows if lowered and r["name"].lower().startswith(lowered)]
    if len(found) == 1:
        return job_by_id(yard, found[0]["id"])
    if found:
        raise BadInput(f"'{wanted[:40]}' may be {', '.join(r['name'] for r in found[:8])}: say which")
    known = ", ".join(r["name"] for r in rows[-8:]) or "none yet"
    raise BadInput(f"there is no job '{wanted[:40]}': the jobs are {known}")


def job_by_id(yard: Yard, job_id: int) -> Job:
    """Return one job, dropped or not, by its number."""
    row = yard.row(
        "SELECT j.*, d.body FROM job j JOIN document d ON d.digest = j.text WHERE j.id = ?", (job_id,)
    )
    if row is None:
        raise BadInput(f"there is no job number {job_id}")
    parts = yard.rows("SELECT * FROM part WHERE job_id = ? ORDER BY line", (job_id,))
    bound: defaultdict[int, list[int]] = defaultdict(list)
    for link in yard.rows(
        "SELECT m.part_id, m.material_id FROM part_material m JOIN part p ON p.id = m.part_id"
        " WHERE p.job_id = ? ORDER BY m.id",
        (job_id,),
    ):
        bound[link["part_id"]].append(link["material_id"])
    return Job(
        id=job_id, name=row["name"], text=row["body"], parts=tuple(_part(p, bound[p["id"]]) for p in parts),
        created_at=row["created_at"], state=row["state"],
    )  # fmt: skip


def jobs(yard: Yard, *, finished: bool = True) -> tuple[Job, ...]:
    """Return the jobs by number, without those dropped; without those done if not `finished`."""
    rows = yard.rows(
        "SELECT id FROM job WHERE state = 'open' OR (state = 'done' AND ?) ORDER BY id", (finished,)
    )
    return tuple(job_by_id(yard, row["id"]) for row in rows)


def remove_job(yard: Yard, job_id: int) -> None:
    """Drop a job: its name is free again, its record stays. One deed.

    Raises:
        Refused: a plan of it stands and holds pieces.
    """
    with yard.deed("job") as deed:
        old = job_by_id(yard, job_id)
        if old.state == "dropped":
            raise Refused(f"job {old.name} is removed already")
        if yard.row("SELECT 1 FROM plan WHERE job_id = ? AND state IN ('standing', 'broken')", (job_id,)):
            raise Refused(f"a plan of job {old.name} holds pieces", "plan holds pieces", {"job": old.name})
        deed.begin(f"removed the job {old.name}")
        yard.write("UPDATE job SET state = 'dropped' WHERE id = ?", (job_id,))


def cut_so_far(yard: Yard, job_id: int) -> Counter[str]:
    """Return how many parts of each name are cut already."""
    rows = yard.rows("SELECT name, sum(count) AS n FROM cut_part WHERE job_id = ? GROUP BY name", (job_id,))
    return Counter({row["name"]: row["n"] for row in rows})


def named_parts(job: Job) -> tuple[tuple[str, JobPart], ...]:
    """Return each line of a job with a name that no other line of it has."""
    named: dict[str, JobPart] = {}
    for part in job.parts:
        name, n = part.name, 1
        while name in named:
            n += 1
            name = f"{part.name} ({n})"
        named[name] = part
    return tuple(named.items())


def still_to_cut(yard: Yard, wanted: Job) -> Counter[str]:
    """Return how many parts of each name of a job are not cut yet."""
    done = cut_so_far(yard, wanted.id)
    return +Counter({name: part.count - done[name] for name, part in named_parts(wanted)})


def keep_document(yard: Yard, body: str) -> str:
    """Keep a long text once, within the open deed; return its SHA-256."""
    digest = hashlib.sha256(body.encode("utf-8")).hexdigest()
    if not yard.row("SELECT 1 FROM document WHERE digest = ?", (digest,)):
        yard.insert("document", digest=digest, body=body)
    return digest


def _row(p: JobPart) -> tuple[object, ...]:
    materials = None if p.materials is None else json.dumps(list(p.materials), ensure_ascii=False)
    return (p.name, p.count, p.length, p.width, p.thickness_name, materials, p.grain, " ".join(p.bands),
            p.finished_length, p.finished_width, p.priority, p.note, p.band_material,
            p.band_thickness)  # fmt: skip


def _part(row: sqlite3.Row, bound: Sequence[int]) -> JobPart:
    return JobPart(
        name=row["name"], count=row["count"], length=row["length"], width=row["width"],
        thickness_name=row["thickness_name"],
        materials=None if row["materials"] is None else tuple(json.loads(row["materials"])),
        grain=Grain(row["grain"]), bands=tuple(row["bands"].split()), finished_length=row["finished_length"],
        finished_width=row["finished_width"], priority=row["priority"], note=row["note"],
        band_material=row["band_material"], band_thickness=row["band_thickness"],
        material_ids=tuple(bound),
    )  # fmt: skip
