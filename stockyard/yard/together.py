"""Jobs joined, so that one plan serves them all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stockyard.errors import BadInput, Refused
from stockyard.yard.jobs import job_by_id, keep_document, planned_as
from stockyard.yard.model import Job
from stockyard.yard.plans import part_ways, release_within, standing_plan
from stockyard.yard.store import Yard


def join(yard: Yard, job_ids: Sequence[int]) -> tuple[Job, int]:
    """Join jobs to be planned together: one deed; return the job that stands for them, and the deed.

    Plans that they have are given up: their pieces are free for the one plan.

    Raises:
        BadInput: fewer than two jobs. Refused: one is not open.
    """
    with yard.deed("job") as deed:
        name, jobs = _open(yard, job_ids)
        deed.begin(f"joined {name} to be planned together")
        for holder in {planned_as(yard, job).id for job in jobs}:
            plan = standing_plan(yard, holder)
            if plan is not None:
                release_within(yard, plan, f"planned together as {name}")
            part_ways(yard, holder)
        made = yard.insert("job", name=name, text=keep_document(yard, ""), created_at=yard.clock())
        for job in jobs:
            yard.write("UPDATE job SET together_id = ? WHERE id = ?", (made, job.id))
    return job_by_id(yard, made), deed.id


def as_joined(yard: Yard, job_ids: Sequence[int]) -> tuple[Job, tuple[int, ...]]:
    """Return the job that would stand for these, without a number, and the jobs whose plans that gives up.

    Nothing is stored; errors as `join`.
    """
    name, jobs = _open(yard, job_ids)
    parts = tuple(
        replace(part, job=job.name, method=part.method or job.method) for job in jobs for part in job.parts
    )
    members = tuple(job.id for job in jobs)
    given_up = (*members, *(planned_as(yard, job).id for job in jobs))
    made = Job(id=0, name=name, text="", parts=parts, created_at=yard.clock(), state="open", members=members)
    return made, given_up


def _open(yard: Yard, job_ids: Sequence[int]) -> tuple[str, list[Job]]:
    """Return what jobs are called together, and the jobs; errors as `join`."""
    ids = list(dict.fromkeys(job_ids))
    if len(ids) < 2:
        raise BadInput("say at least two jobs to plan together")
    jobs = [job_by_id(yard, i) for i in ids]
    if closed := [job for job in jobs if job.state != "open"]:
        raise Refused(f"job {closed[0].name} is {closed[0].state}: only open jobs are planned together")
    name = " + ".join(job.name for job in jobs)
    return name if len(name) <= 80 else f"{name[:77]}...", jobs
