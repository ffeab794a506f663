"""Putting away: pieces off the racks go back where they came from, or where each is told to go."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.errors import BadInput, Refused
from stockyard.wording import count
from stockyard.yard.jobs import job_by_id
from stockyard.yard.model import Piece, State
from stockyard.yard.pieces import by_tag, by_tags, put, told
from stockyard.yard.places import place
from stockyard.yard.plans import part_ways, plan_by_id, release_within
from stockyard.yard.store import Yard


@dataclass(frozen=True, slots=True)
class CameFrom:
    """Where a piece lay last: its place, and its layer there."""

    place_id: int
    layer: int


def came_from(yard: Yard, tag: str) -> CameFrom | None:
    """Return where a piece off the racks lay last; None for one that never lay at a place."""
    for row in yard.rows(
        "SELECT was FROM entry WHERE thing = 'piece' AND thing_key = ? AND was IS NOT NULL ORDER BY id DESC",
        (tag,),
    ):
        place_id = json.loads(row["was"]).get("place_id")
        if place_id is not None and yard.row("SELECT 1 FROM place WHERE id = ?", (place_id,)):
            return CameFrom(place_id, yard.one("SELECT layer FROM piece WHERE tag = ?", (tag,)))
    return None


def cancel(yard: Yard, plan_id: int, why: str) -> tuple[Piece, ...]:
    """Give up a plan and put all that was pulled for it back where it came from: one deed.

    What lay lowest goes back first. A piece that never lay at a place stays on the bench.

    Raises:
        Refused: the plan does not stand.
    """
    with yard.deed("release") as deed:
        plan = plan_by_id(yard, plan_id)
        name = job_by_id(yard, plan.job_id).name
        if plan.state not in ("standing", "broken"):
            raise Refused(f"plan {plan.number} of job {name} is {plan.state} already")
        rows = yard.rows("SELECT tag FROM piece WHERE plan_id = ? AND state = 'pulled'", (plan_id,))
        pulled = by_tags(yard, [row["tag"] for row in rows])
        deed.begin(
            f"released plan {plan.number} of job {name}: {why}; put back {count(len(pulled), 'piece')}"
        )
        release_within(yard, plan, why)
        part_ways(yard, plan.job_id)
        _back(yard, pulled)
    return by_tags(yard, [p.tag for p in pulled])


def _back(yard: Yard, pieces: Sequence[Piece]) -> None:
    known = [(p, at) for p in pieces if (at := came_from(yard, p.tag)) is not None]
    for p, at in sorted(known, key=lambda one: one[1].layer):
        put(yard, [by_tag(yard, p.tag)], at.place_id)


def put_away(yard: Yard, where: Sequence[tuple[str, str]]) -> tuple[Piece, ...]:
    """Put pieces from the bench or the saw at places, tag and code, in the order given: one deed.

    Raises:
        BadInput: no pieces, or no such tag or place. Refused: one is not on the bench, or comes twice.
    """
    if not where:
        raise BadInput("say which pieces are put away: give their tags")
    with yard.deed("return") as deed:
        pieces = by_tags(yard, [tag for tag, _ in where])
        if len({p.tag for p in pieces}) < len(pieces):
            raise Refused("a piece is put away only once: a tag comes twice")
        spots = [place(yard, code) for _, code in where]
        for p in pieces:
            if p.state not in (State.BENCH, State.PULLED):
                raise Refused(f"{p.tag} is not on the bench: it is {told(yard, p)}")
        codes = dict.fromkeys(spot.code for spot in spots)
        named = ", ".join(p.tag for p in pieces[:6]) + (" ..." if len(pieces) > 6 else "")
        deed.begin(f"returned {named} to {', '.join(list(codes)[:4])}{' ...' if len(codes) > 4 else ''}")
        for p, spot in zip(pieces, spots, strict=True):
            put(yard, [p], spot.id)
    return by_tags(yard, [p.tag for p in pieces])
