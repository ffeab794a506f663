"""Pulling: the walk with what to fetch, ticking it off, and what is not where it should be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.desk.papers import papers_of, uncut_tags
from stockyard.desk.shown import PieceLine, lines
from stockyard.errors import BadInput
from stockyard.kinds import Kind
from stockyard.printing.papers import PullList
from stockyard.wording import count
from stockyard.yard import Yard, jobs, pulling
from stockyard.yard.model import BrokenPlan, State
from stockyard.yard.pieces import on_hand
from stockyard.yard.plans import plan_by_id


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulled:
    """Tags ticked off; those that were at the saw already; full pieces that took the place of one like them
    (the tag taken and the tag named, "" for one still to be bought); and for each of their jobs how many
    pieces it has still to pull and how many lie at the saw.
    """

    tags: tuple[str, ...]
    already: tuple[str, ...]
    swapped: tuple[tuple[str, str], ...]
    left: tuple[tuple[str, int, int], ...]


def walk(yard: Yard, name: str) -> PullList:
    """Return what a planned job has still to fetch, by place in walking order, then what to buy.

    Raises:
        BadInput: no such job. Refused: it has no plan that holds.
    """
    with yard.reading():
        return papers_of(yard, jobs.planned_job(yard, name)).pull_list


def twins(yard: Yard, name: str) -> dict[str, tuple[str, ...]]:
    """Return the free full pieces that are like one still to be pulled, by its tag: the nearest first.

    Any of them may be taken in its stead.
    """
    with yard.reading():
        wanted = [p for p in pulling.to_pull(yard, jobs.planned_job(yard, name).id) if p.kind is Kind.FULL]
        kinds = {(p.material_id, p.length, p.width) for p in wanted}
        free = [p for p in on_hand(yard, states=(State.RACKED,)) if p.kind is Kind.FULL] if wanted else []
    alike = [p for p in free if (p.material_id, p.length, p.width) in kinds]
    return {
        p.tag: tuple(
            other.tag
            for other in sorted(alike, key=lambda o: (o.place_id != p.place_id, o.depth, o.tag))
            if (other.material_id, other.length, other.width) == (p.material_id, p.length, p.width)
        )
        for p in wanted
    }


def uncut(yard: Yard, name: str) -> tuple[str, ...]:
    """Return the tags that the plan of a job has still to cut, in cutting order; errors as `walk`."""
    with yard.reading():
        return uncut_tags(yard, jobs.planned_job(yard, name))


def pull(yard: Yard, tags: Sequence[str], name: str | None = None) -> Pulled:
    """Tick off pieces as taken to the saw: one deed. Without tags, all that `name` has still to pull.

    A full piece may stand in for one like it that the plan names, or that was still to be bought.

    Raises:
        BadInput: neither, nothing is left, no such job or tag. Refused: a piece is not promised.
    """
    with yard.reading():
        job = jobs.planned_job(yard, name) if name else None
        given = list(tags) or [p.tag for p in (pulling.to_pull(yard, job.id) if job else ())]
        at_saw = len(pulling.pulled_for(yard, job.id)) if job else 0
    if not given:
        there = f", {count(at_saw, 'piece')} at the saw" if at_saw else ""
        raise BadInput(
            f"nothing is left to pull for {job.name}{there}" if job else "say which pieces are pulled",
            "nothing to pull",
        )
    done = pulling.pull(yard, given, job.id if job else None)
    with yard.reading():
        every = (*done.pieces, *done.already)
        ids = dict.fromkeys(plan_by_id(yard, p.plan_id).job_id for p in every if p.plan_id is not None)
        return Pulled(
            tags=tuple(p.tag for p in done.pieces),
            already=tuple(p.tag for p in done.already),
            swapped=done.swapped,
            left=tuple(
                (
                    jobs.job_by_id(yard, i).name,
                    len(pulling.to_pull(yard, i)),
                    len(pulling.pulled_for(yard, i)),
                )
                for i in ids
            ),
        )


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
