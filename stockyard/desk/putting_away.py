"""Putting away: what was pulled goes back where it lay, what was cut off where its card says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.desk.jobs import no_plan
from stockyard.desk.papers import PlaceFinder, lying
from stockyard.desk.shelve_advice import misfits
from stockyard.desk.shown import PieceLine, lines
from stockyard.errors import BadInput
from stockyard.yard import Yard, jobs, putting
from stockyard.yard.materials import materials
from stockyard.yard.model import Piece, State
from stockyard.yard.pieces import on_hand
from stockyard.yard.places import places
from stockyard.yard.plans import standing_plan


@dataclass(frozen=True, slots=True, kw_only=True)
class PutAway:
    """Pieces put at their places, remarks on these, and the tags of those that no place suits."""

    pieces: tuple[PieceLine, ...]
    remarks: tuple[str, ...]
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cancelled:
    """A plan given up, and its pieces back at their places; `left` stay on the bench."""

    job: str
    plan: int
    pieces: tuple[PieceLine, ...]
    left: tuple[str, ...]


def cancel(yard: Yard, name: str, why: str) -> Cancelled:
    """Give up the plan of a job and put all that was pulled back where it came from: one deed.

    Raises:
        BadInput: no such job, or it has no plan.
    """
    with yard.reading():
        job = jobs.planned_job(yard, name)
        plan = standing_plan(yard, job.id)
        if plan is None:
            raise no_plan(job)
    done = putting.cancel(yard, plan.id, why)
    with yard.reading():
        racked = [p for p in done if p.state is State.RACKED]
        left = tuple(p.tag for p in done if p.state is not State.RACKED)
        return Cancelled(job=job.name, plan=plan.number, pieces=lines(yard, racked), left=left)


def put_away(yard: Yard, tags: Sequence[str], place: str) -> PutAway:
    """Put pieces from the bench or the saw at a place: one deed.

    Raises:
        BadInput: no tags, or no such tag or place. Refused: one is not on the bench.
    """
    return _told(yard, putting.put_away(yard, [(tag, place) for tag in tags]), ())


def put_all_away(yard: Yard) -> PutAway:
    """Put everything that wants a place away: one deed. What lay on a rack goes back there; the rest goes
    where its cut card sends it.

    Raises:
        BadInput: nothing wants a place, or no place suits any of it.
    """
    with yard.reading():
        finder, known = PlaceFinder(yard), {m.id: m for m in materials(yard)}
        codes = {p.id: p.code for p in places(yard)}
        where: list[tuple[str, str]] = []
        left: list[str] = []
        bench = sorted(on_hand(yard, states=(State.BENCH,)), key=lambda p: -p.area)
        for p in bench:
            at = putting.came_from(yard, p.tag)
            material = known[p.material_id]
            code = (
                codes[at.place_id]
                if at
                else finder.place_for(lying(material, p.length, p.width, p.thickness))
            )
            where.append((p.tag, code)) if code else left.append(p.tag)
    if not bench:
        raise BadInput("nothing on the bench wants a place", "nothing to return")
    if not where:
        raise BadInput(f"no place suits {', '.join(left[:8])}", "no fit")
    return _told(yard, putting.put_away(yard, where), tuple(left))


def _told(yard: Yard, done: Sequence[Piece], left: tuple[str, ...]) -> PutAway:
    with yard.reading():
        return PutAway(pieces=lines(yard, done), remarks=misfits(yard, done), left=left)
