"""A list pasted again for a job that there is: the job, and how the list differs from its parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.cutlist.diff import Difference, diff, told
from stockyard.yard.jobs import jobs
from stockyard.yard.model import Job, JobPart
from stockyard.yard.store import Yard

__all__ = ["Again", "against_job", "told"]


@dataclass(frozen=True, slots=True)
class Again:
    """The job of a list's name, and what in its parts the list would change."""

    job: Job
    difference: Difference[JobPart]


def against_job(yard: Yard, name: str, parts: Sequence[JobPart]) -> Again | None:
    """Return how parts differ from those of the job of this name (any case), None if there is none."""
    wanted = " ".join(name.split()).casefold()
    job = next((job for job in jobs(yard) if job.name.casefold() == wanted), None)
    return Again(job, diff(job.parts, parts)) if job else None
