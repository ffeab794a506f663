"""Jobs: the list, one of them whole, taking one away, giving up its plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from stockyard.desk.band_words import after_saw
from stockyard.errors import BadInput
from stockyard.kinds import Grain
from stockyard.measure import Length, Unit
from stockyard.printing.outline_name import outline_name
from stockyard.yard import Yard, jobs
from stockyard.yard.model import Job, JobPart, State
from stockyard.yard.pieces import by_tags, held_by_plans
from stockyard.yard.planned import StoredPlan
from stockyard.yard.plans import release_plan, standing_plan
from stockyard.yard.pulling import pulled_for


class Next(StrEnum):
    """What a job wants next."""

    PLAN = "plan"
    PULL = "pull"
    BUY = "buy"
    CUT = "cut"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLine:
    """One job in the list. `plan` is standing, broken or empty; the counts are of parts and of pieces."""

    number: int
    name: str
    state: str
    added: str
    parts: int
    cut: int
    plan: str
    to_pull: int
    to_buy: int
    at_saw: int
    next: Next


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """One line of a cut list; `name` is the name that plans and labels use. `cut` counts those cut.

    The trimmed size is that of a part which is sawn larger, None for others; `then` says what becomes of it
    after the saw, the finished size too. `machine` is what the list has it cut on, empty for as the job;
    `shaped` that it has an outline of its own, `drawing` the file of that if it is known.
    """

    name: str
    count: int
    cut: int
    length: Length
    width: Length
    thickness_name: str | None
    materials: tuple[str, ...] | None
    grain: Grain
    bands: tuple[str, ...]
    band_material: str
    band_thickness: Length | None
    finished_length: Length | None
    finished_width: Length | None
    set_name: str
    set_run: str
    batch: str
    note: str
    trimmed_length: Length | None
    trimmed_width: Length | None
    final_thickness: Length | None
    then: str
    machine: str
    shaped: bool
    drawing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JobShown:
    """A job whole: its line, its parts, the text it was read from, and why its plan is broken if it is.

    `machine` is what it is cut on, empty for as its materials say.
    """

    line: JobLine
    parts: tuple[PartLine, ...]
    text: str
    why_broken: str
    machine: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Released:
    """A plan given up, and the tags of pieces that lie on the bench now and are wanted no more."""

    job: str
    plan: int
    on_bench: tuple[str, ...]


def list_jobs(yard: Yard, *, finished: bool = False) -> tuple[JobLine, ...]:
    """Return the jobs by number; those done too if `finished`."""
    with yard.reading():
        promised, pulled = _held(yard)
        return tuple(_line(yard, job, promised, pulled) for job in jobs.jobs(yard, finished=finished))


def show_job(yard: Yard, name: str) -> JobShown:
    """Return one job whole.

    Raises:
        BadInput: no job, or several, are named so.
    """
    with yard.reading():
        job = jobs.job(yard, name)
        done = jobs.cut_so_far(yard, job.id)
        plan = standing_plan(yard, job.together_id or job.id)
        return JobShown(
            line=_line(yard, job, *_held(yard)),
            parts=tuple(_part(name, part, done[name], yard.unit) for name, part in jobs.named_parts(job)),
            text=job.text,
            why_broken=(plan.why or "") if plan and plan.state == "broken" else "",
            machine=job.method or "",
        )


def add_job(yard: Yard, name: str, text: str, parts: Sequence[JobPart]) -> JobLine:
    """Store a list that was understood as a job: one deed.

    Raises:
        BadInput: no name or no parts. Refused: there is a job of that name.
    """
    made = jobs.add_job(yard, name, text, parts)
    return show_job(yard, str(made.id)).line


def remove_job(yard: Yard, name: str) -> str:
    """Take a job away: one deed; return its name. Its record stays.

    Raises:
        BadInput: no such job. Refused: a plan of it holds pieces.
    """
    job = jobs.job(yard, name)
    jobs.remove_job(yard, job.id)
    return job.name


def release(yard: Yard, name: str, why: str) -> Released:
    """Give up the plan of a job, so that its pieces are free again: one deed.

    Raises:
        BadInput: no such job, or it has no plan.
    """
    with yard.reading():
        job = jobs.planned_job(yard, name)
        plan = standing_plan(yard, job.together_id or job.id)
        if plan is None:
            raise no_plan(job)
        pulled = tuple(p.tag for p in pulled_for(yard, job.id))
    release_plan(yard, plan.id, why)
    return Released(job=job.name, plan=plan.number, on_bench=left_on_bench(yard, pulled))


def no_plan(job: Job) -> BadInput:
    """Return the fault that a job has no plan to give up."""
    return BadInput(f"job {job.name} has no plan to release", "nothing to release", {"job": job.name})


def left_on_bench(yard: Yard, pulled: Sequence[str]) -> tuple[str, ...]:
    """Return those of the pieces pulled for a job that lie on the bench now, wanted no more."""
    return tuple(p.tag for p in by_tags(yard, pulled) if p.state is State.BENCH)


def _held(yard: Yard) -> tuple[Counter[int], Counter[int]]:
    """Return how many pieces each plan has still on the racks, and at the saw."""
    return held_by_plans(yard, State.PROMISED), held_by_plans(yard, State.PULLED)


def _line(yard: Yard, job: Job, promised: Counter[int], pulled: Counter[int]) -> JobLine:
    plan = standing_plan(yard, job.together_id or job.id)
    done = jobs.cut_so_far(yard, job.id)
    to_pull, at_saw = (promised[plan.id], pulled[plan.id]) if plan else (0, 0)
    to_buy = sum(layout.tag is None for layout in plan.layouts) if plan else 0
    return JobLine(
        number=job.id,
        name=job.name,
        state=job.state,
        added=job.created_at,
        parts=sum(p.count for p in job.parts),
        cut=sum(done.values()),
        plan=plan.state if plan else "",
        to_pull=to_pull,
        to_buy=to_buy,
        at_saw=at_saw,
        next=_next(job, plan, to_pull, to_buy),
    )


def _next(job: Job, plan: StoredPlan | None, to_pull: int, to_buy: int) -> Next:
    if job.state != "open":
        return Next.NOTHING
    if plan is None or plan.state == "broken":
        return Next.PLAN
    return Next.PULL if to_pull else Next.BUY if to_buy else Next.CUT


def _part(name: str, part: JobPart, cut: int, unit: Unit) -> PartLine:
    long, wide = part.finished_length, part.finished_width
    return PartLine(
        name=name,
        count=part.count,
        cut=cut,
        length=part.length,
        width=part.width,
        thickness_name=part.thickness_name,
        materials=part.materials,
        grain=part.grain,
        bands=part.bands,
        band_material=part.band_material,
        band_thickness=None if part.band_thickness is None else part.band_thickness,
        finished_length=None if long is None else Length(long),
        finished_width=None if wide is None else Length(wide),
        set_name=part.set_name,
        set_run=part.set_run,
        batch=part.batch,
        note=part.note,
        trimmed_length=Length(part.trimmed[0]) if part.rough else None,
        trimmed_width=Length(part.trimmed[1]) if part.rough else None,
        final_thickness=part.final_thickness,
        then=after_saw(part, unit),
        machine=part.method or "",
        shaped=bool(part.outline),
        drawing=outline_name(part.outline),
    )
