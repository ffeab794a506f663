"""Jobs: a project's pasted text and the parts it asks for."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace

from stockyard.errors import BadInput, Refused
from stockyard.kinds import Grain, Method
from stockyard.wording import count
from stockyard.yard.accepted import bind, resolved
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, JobPart
from stockyard.yard.store import Yard

_PART = (
    "name", "count", "length", "width", "thickness_name", "materials", "grain", "bands",
    "finished_length", "finished_width", "priority", "note", "band_material", "band_thickness", "method",
    "set_name", "set_run", "set_each", "batch", "over_length", "over_width", "final_thickness",
)  # fmt: skip


def add_job(yard: Yard, name: str, text: str, parts: Sequence[JobPart]) -> Job:
    """Store a job with the text it was read from: one deed.

    Raises:
        BadInput: no name or no parts. Refused: there is a job of that name.
    """
    name = " ".join(name.split())
    if not parts:
        raise BadInput(f"job {name} has no parts: nothing was stored")
    with yard.deed("job") as deed:
        refuse_name(yard, name)
        deed.begin(f"added the job {name} of {count(sum(p.count for p in parts), 'part')}")
        digest = keep_document(yard, text)
        made = yard.insert("job", name=name, text=digest, created_at=yard.clock())
        known = materials(yard)
        for line, part in enumerate(parts, 1):
            row = part_row(yard, part)
            bind(yard, yard.insert("part", job_id=made, line=line, **row), resolved(part, known))
    return job_by_id(yard, made)


def refuse_name(yard: Yard, name: str, but: int | None = None) -> None:
    """Look that a job may have this name; `but` is the job that may have it already.

    Raises:
        BadInput: it is no name. Refused: another job has it.
    """
    if not name or len(name) > 80 or name.isdigit():
        raise BadInput("a job needs a name of up to 80 characters that is not just a number")
    found = "SELECT 1 FROM job WHERE lower(name) = lower(?) AND state <> 'dropped' AND id IS NOT ?"
    if yard.row(found, (name, but)):
        raise Refused(f"there is a job {name} already: give this one another name, or remove that one")


def job(yard: Yard, name_or_id: str | int) -> Job:
    """Return a job by its name (any case, or a start of it that only one has) or its number.

    Raises:
        BadInput: none or several.
    """
    wanted = str(name_or_id).strip()
    rows = yard.rows("SELECT id, name FROM job WHERE state <> 'dropped' ORDER BY id")
    lowered = wanted.lower()
    exact = [r for r in rows if r["name"].lower() == lowered or str(r["id"]) == wanted]
    own = [r for r in rows if r["id"] not in _standing_for_others(yard)]
    found = exact or [r for r in own if lowered and r["name"].lower().startswith(lowered)]
    if len(found) == 1:
        return job_by_id(yard, found[0]["id"])
    if found:
        raise BadInput(f"'{wanted[:40]}' may be {', '.join(r['name'] for r in found[:8])}: say which")
    known = ", ".join(r["name"] for r in own[-8:]) or "none yet"
    raise BadInput(f"there is no job '{wanted[:40]}': the jobs are {known}")


def job_by_id(yard: Yard, job_id: int) -> Job:
    """Return one job, dropped or not, by its number."""
    row = yard.row(
        "SELECT j.*, d.body FROM job j JOIN document d ON d.digest = j.text WHERE j.id = ?", (job_id,)
    )
    if row is None:
        raise BadInput(f"there is no job number {job_id}")
    parts = yard.rows(
        "SELECT p.*, d.body AS shape FROM part p LEFT JOIN document d ON d.digest = p.outline"
        " WHERE p.job_id = ? ORDER BY p.line",
        (job_id,),
    )
    bound: defaultdict[int, list[int]] = defaultdict(list)
    for link in yard.rows(
        "SELECT m.part_id, m.material_id FROM part_material m JOIN part p ON p.id = m.part_id"
        " WHERE p.job_id = ? ORDER BY m.id",
        (job_id,),
    ):
        bound[link["part_id"]].append(link["material_id"])
    members = tuple(
        r["id"] for r in yard.rows("SELECT id FROM job WHERE together_id = ? ORDER BY id", (job_id,))
    )
    own = tuple(_part(p, bound[p["id"]]) for p in parts)
    for member in members:
        other = job_by_id(yard, member)
        own += tuple(
            replace(part, job=other.name, method=part.method or other.method) for part in other.parts
        )
    return Job(
        id=job_id, name=row["name"], text=row["body"], parts=own, created_at=row["created_at"],
        state=row["state"], members=members, together_id=row["together_id"], method=_method(row["method"]),
    )  # fmt: skip


def jobs(yard: Yard, *, finished: bool = True) -> tuple[Job, ...]:
    """Return the jobs by number, without those dropped; without those done if not `finished`."""
    rows = yard.rows(
        "SELECT id FROM job WHERE state = 'open' OR (state = 'done' AND ?) ORDER BY id", (finished,)
    )
    together = _standing_for_others(yard)
    return tuple(job_by_id(yard, row["id"]) for row in rows if row["id"] not in together)


def _standing_for_others(yard: Yard) -> set[int]:
    """Return the jobs that stand for several that are planned together."""
    rows = yard.rows("SELECT DISTINCT together_id FROM job WHERE together_id IS NOT NULL")
    return {row["together_id"] for row in rows}


def planned_as(yard: Yard, job: Job) -> Job:
    """Return the job that a job is planned as: itself, or the one that stands for it and others."""
    return job if job.together_id is None else job_by_id(yard, job.together_id)


def planned_job(yard: Yard, name_or_id: str | int) -> Job:
    """Return the job that the job of a name or number is planned as; errors as `job`."""
    return planned_as(yard, job(yard, name_or_id))


def own_part(yard: Yard, job_id: int, name: str) -> tuple[int, str]:
    """Return whose part a part of a plan is, and what it is called there."""
    for member in job_by_id(yard, job_id).members:
        own = job_by_id(yard, member)
        if name.startswith(f"{own.name}: "):
            return member, name.removeprefix(f"{own.name}: ")
    return job_id, name


def remove_job(yard: Yard, job_id: int) -> None:
    """Drop a job: its name is free again, its record stays. One deed.

    Raises:
        Refused: a plan of it stands and holds pieces.
    """
    with yard.deed("job") as deed:
        old = job_by_id(yard, job_id)
        if old.state == "dropped":
            raise Refused(f"job {old.name} is removed already")
        holds = "SELECT 1 FROM plan WHERE job_id IN (?, ?) AND state IN ('standing', 'broken')"
        if yard.row(holds, (job_id, old.together_id)):
            raise Refused(f"a plan of job {old.name} holds pieces", "plan holds pieces", {"job": old.name})
        deed.begin(f"removed the job {old.name}")
        yard.write("UPDATE job SET state = 'dropped' WHERE id = ?", (job_id,))


def cut_so_far(yard: Yard, job_id: int) -> Counter[str]:
    """Return how many parts of each name are cut already, in the size that the job wants now."""
    return cut_of(yard, job_by_id(yard, job_id))


def cut_of(yard: Yard, job: Job) -> Counter[str]:
    """Return how many parts of each name of a job are cut already, in the size that it wants."""
    if job.members:
        every = ((job_by_id(yard, member).name, cut_so_far(yard, member)) for member in job.members)
        return Counter({f"{name}: {part}": n for name, own in every for part, n in own.items()})
    sizes = {(name, p.length, p.width) for name, p in named_parts(job)}
    rows = yard.rows("SELECT name, length, width, count FROM cut_part WHERE job_id = ?", (job.id,))
    done: Counter[str] = Counter()
    for row in rows:
        if (row["name"], row["length"], row["width"]) in sizes:
            done[row["name"]] += row["count"]
    return done


def given_parts(yard: Yard, job: Job) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the pieces that were cut for a job, the last first, and the names of the parts each gave.

    Of jobs planned together the names are those of their plan.
    """
    owners = {member: f"{job_by_id(yard, member).name}: " for member in job.members} or {job.id: ""}
    found: dict[str, list[str]] = {}
    for row in yard.rows(
        "SELECT c.tag, x.job_id, x.name FROM cut_part x JOIN cutting c ON c.tag = x.tag"
        f" WHERE x.job_id IN ({','.join('?' * len(owners))}) ORDER BY c.cut_at DESC, c.rowid DESC, x.id",
        tuple(owners),
    ):
        found.setdefault(row["tag"], []).append(owners[row["job_id"]] + row["name"])
    return tuple((tag, tuple(dict.fromkeys(names))) for tag, names in found.items())


def named_parts(job: Job) -> tuple[tuple[str, JobPart], ...]:
    """Return each line of a job with a name that no other line of it has."""
    named: dict[str, JobPart] = {}
    for part in job.parts:
        called = f"{part.job}: {part.name}" if part.job else part.name
        name, n = called, 1
        while name in named:
            n += 1
            name = f"{called} ({n})"
        named[name] = part
    return tuple(named.items())


def still_to_cut(yard: Yard, wanted: Job) -> Counter[str]:
    """Return how many parts of each name of a job are not cut yet."""
    done = cut_of(yard, wanted)
    return +Counter({name: part.count - done[name] for name, part in named_parts(wanted)})


def keep_document(yard: Yard, body: str) -> str:
    """Keep a long text once, within the open deed; return its SHA-256."""
    digest = hashlib.sha256(body.encode("utf-8")).hexdigest()
    if not yard.row("SELECT 1 FROM document WHERE digest = ?", (digest,)):
        yard.insert("document", digest=digest, body=body)
    return digest


def part_row(yard: Yard, p: JobPart) -> dict[str, object]:
    """Return a part as the columns of its row; the outline of a shaped one is kept."""
    materials = None if p.materials is None else json.dumps(list(p.materials), ensure_ascii=False)
    row = (p.name, p.count, p.length, p.width, p.thickness_name, materials, p.grain, " ".join(p.bands),
            p.finished_length, p.finished_width, p.priority, p.note, p.band_material,
            p.band_thickness, p.method, p.set_name, p.set_run, p.set_each, p.batch,
            p.over_length, p.over_width, p.final_thickness)  # fmt: skip
    outline = keep_document(yard, p.outline) if p.outline else None
    return {**dict(zip(_PART, row, strict=True)), "outline": outline}


def _part(row: sqlite3.Row, bound: Sequence[int]) -> JobPart:
    return JobPart(
        name=row["name"], count=row["count"], length=row["length"], width=row["width"],
        thickness_name=row["thickness_name"],
        materials=None if row["materials"] is None else tuple(json.loads(row["materials"])),
        grain=Grain(row["grain"]), bands=tuple(row["bands"].split()), finished_length=row["finished_length"],
        finished_width=row["finished_width"], priority=row["priority"], note=row["note"],
        band_material=row["band_material"], band_thickness=row["band_thickness"],
        material_ids=tuple(bound), method=_method(row["method"]), outline=row["shape"] or "",
        set_name=row["set_name"], set_run=row["set_run"], set_each=row["set_each"], batch=row["batch"],
        over_length=row["over_length"], over_width=row["over_width"], final_thickness=row["final_thickness"],
    )  # fmt: skip


def _method(text: str | None) -> Method | None:
    return None if text is None else Method(text)
