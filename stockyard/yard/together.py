"""Jobs joined, so that one plan serves them all."""

from __future__ import annotations

from collections.abc import Sequence

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
    ids = list(dict.fromkeys(job_ids))
    if len(ids) < 2:
        raise BadInput("say at least two jobs to plan together")
    with yard.deed("job") as deed:
        jobs = [job_by_id(yard, i) for i in ids]
        if closed := [job for job in jobs if job.state != "open"]:
            raise Refused(f"job {closed[0].name} is {closed[0].state}: only open jobs are planned together")
        name = " + ".join(job.name for job in jobs)
        name = name if len(name) <= 80 else f"{name[:77]}..."
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
