"""Pulling: the walk with what to fetch, ticking it off, and what is not where it should be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.desk.papers import papers_of, uncut_tags
from stockyard.desk.pull_walk import interchangeable, put_back_words
from stockyard.desk.shown import PieceLine, lines
from stockyard.errors import BadInput, Refused
from stockyard.kinds import Kind
from stockyard.printing.papers import PullList
from stockyard.wording import count
from stockyard.yard import Yard, jobs, pieces, pulling
from stockyard.yard.model import State, Storage
from stockyard.yard.pieces import at_place, on_hand
from stockyard.yard.places import place_by_id
from stockyard.yard.planned import BrokenPlan
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


def twins(yard: Yard, name: str) -> dict[str, tuple[PieceLine, ...]]:
    """Return the pieces that may be taken in the stead of one still to be pulled, by its tag.

    Those at the same place come first, the free ones before those promised to another job, which gets the
    one named here in exchange.
    """
    with yard.reading():
        job = jobs.planned_job(yard, name)
        wanted = [p for p in pulling.to_pull(yard, job.id) if p.kind is Kind.FULL]
        if not wanted:
            return {}
        own = {p.tag for p in pulling.to_pull(yard, job.id)}
        every = [p for p in on_hand(yard, states=(State.RACKED, State.PROMISED)) if p.tag not in own]
        found = {
            p.tag: sorted(
                (other for other in every if interchangeable(other, p)),
                key=lambda o: (o.place_id != p.place_id, o.state is State.PROMISED, o.depth, o.tag),
            )
            for p in wanted
        }
        shown = {
            line.tag: line for line in lines(yard, {o.tag: o for f in found.values() for o in f}.values())
        }
    return {tag: tuple(shown[o.tag] for o in each) for tag, each in found.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class ToPutBack:
    """What was lifted off a stack, or has to be, and goes back on it: the lowest first.

    `ready`: nothing is to be pulled there any more.
    """

    place: str
    tags: tuple[str, ...]
    says: str
    ready: bool


def to_put_back(yard: Yard, name: str) -> dict[str, ToPutBack]:
    """Return what goes back on each stack from which pieces of a job were pulled or are to be, by place.

    It stays until it is put back (`put_back`) or laid elsewhere.

    Raises:
        BadInput: no such job.
    """
    with yard.reading():
        job = jobs.planned_job(yard, name)
        lifted = {i: set(tags) for i, tags in pulling.lifted_off(yard, job.id).items()}
        wanted = [p for p in pulling.to_pull(yard, job.id) if p.place_id is not None]
        own = {p.tag for p in wanted}
        found: dict[str, ToPutBack] = {}
        for place_id in dict.fromkeys((*lifted, *(p.place_id for p in wanted if p.place_id is not None))):
            spot = place_by_id(yard, place_id)
            if spot.storage is not Storage.FLAT:
                continue
            held = at_place(yard, spot.code)
            deepest = max((p.depth for p in wanted if p.place_id == place_id), default=-1)
            off = lifted.get(place_id, set()) | {p.tag for p in held[: deepest + 1]}
            tags = tuple(p.tag for p in reversed(held) if p.tag in off - own)
            if tags:
                words = put_back_words(tags)
                found[spot.code] = ToPutBack(place=spot.code, tags=tags, says=words, ready=deepest < 0)
        return found


def put_back(yard: Yard, name: str, place: str) -> None:
    """Record that what was lifted off a stack lies on it again, in the order told: one deed.

    Raises:
        BadInput: no such job. Refused: nothing is to be put back there.
    """
    with yard.reading():
        found = to_put_back(yard, name).get(place)
    if found is None:
        raise Refused(f"nothing is to be put back at {place}: it was put back before")
    pieces.move(yard, found.tags, place)


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
