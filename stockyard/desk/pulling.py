"""Pulling: the walk with what to fetch, ticking it off, and what is not where it should be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.desk.papers import papers_of, uncut_tags
from stockyard.desk.shown import PieceLine, lines
from stockyard.errors import BadInput
from stockyard.printing.papers import PullList
from stockyard.yard import Yard, jobs, pulling
from stockyard.yard.model import BrokenPlan, State
from stockyard.yard.pieces import on_hand
from stockyard.yard.plans import plan_by_id


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulled:
    """Tags ticked off, and how many pieces each of their jobs still has to pull."""

    tags: tuple[str, ...]
    left: tuple[tuple[str, int], ...]


def walk(yard: Yard, name: str) -> PullList:
    """Return what a planned job has still to fetch, by place in walking order, then what to buy.

    Raises:
        BadInput: no such job. Refused: it has no plan that holds.
    """
    with yard.reading():
        return papers_of(yard, jobs.job(yard, name)).pull_list


def uncut(yard: Yard, name: str) -> tuple[str, ...]:
    """Return the tags that the plan of a job has still to cut, in cutting order; errors as `walk`."""
    with yard.reading():
        return uncut_tags(yard, jobs.job(yard, name))


def pull(yard: Yard, tags: Sequence[str], name: str | None = None) -> Pulled:
    """Tick off pieces as taken to the saw: one deed. Without tags, all that `name` has still to pull.

    With both, a free full piece of `tags` may stand in for one that the job had still to buy.

    Raises:
        BadInput: neither, nothing is left, no such job or tag. Refused: a piece is not promised.
    """
    with yard.reading():
        job = jobs.job(yard, name) if name else None
        given = list(tags) or [p.tag for p in (pulling.to_pull(yard, job.id) if job else ())]
    if not given:
        raise BadInput(
            f"nothing is left to pull for {job.name}" if job else "say which pieces are pulled",
            "nothing to pull",
        )
    done = pulling.pull(yard, given, job.id if job else None)
    with yard.reading():
        ids = dict.fromkeys(plan_by_id(yard, p.plan_id).job_id for p in done if p.plan_id is not None)
        left = tuple((jobs.job_by_id(yard, i).name, len(pulling.to_pull(yard, i))) for i in ids)
    return Pulled(tags=tuple(p.tag for p in done), left=left)


def gone(yard: Yard, tag: str, why: str) -> BrokenPlan | None:
    """Write off a piece that is missing, damaged or given away: one deed; return the plan that needed it.

    Raises:
        BadInput: no piece has that tag. Refused: it is cut or gone already.
    """
    return pulling.report_gone(yard, tag, why)


def bench(yard: Yard) -> tuple[PieceLine, ...]:
    """Return the pieces off the racks: at the saw for a job, or on the bench and wanting a place."""
    with yard.reading():
        return lines(yard, on_hand(yard, states=(State.BENCH, State.PULLED)))
