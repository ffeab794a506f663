"""Pulling: taking promised pieces off the racks, and what happens when one is not there."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.errors import BadInput, Refused
from stockyard.kinds import Kind
from stockyard.yard.jobs import job_by_id
from stockyard.yard.model import Piece, State
from stockyard.yard.pieces import by_tag, by_tags, next_layer, on_hand, told
from stockyard.yard.planned import BrokenPlan
from stockyard.yard.plans import break_plan, broken_plan, promise, standing_plan
from stockyard.yard.store import Yard


def to_pull(yard: Yard, job_id: int) -> tuple[Piece, ...]:
    """Return the pieces of a job still on the racks, in walking order, each place from the top down."""
    plan = standing_plan(yard, job_id)
    if plan is None:
        return ()
    return tuple(p for p in on_hand(yard, states=(State.PROMISED,)) if p.plan_id == plan.id)


def pulled_for(yard: Yard, job_id: int) -> tuple[Piece, ...]:
    """Return the pieces at the saw for a job."""
    plan = standing_plan(yard, job_id)
    if plan is None:
        return ()
    return tuple(p for p in on_hand(yard, states=(State.PULLED,)) if p.plan_id == plan.id)


def lifted_off(yard: Yard, job_id: int) -> dict[int, tuple[str, ...]]:
    """Return, for each flat stack from which a job's pieces were pulled, the tags that lay on one of them.

    From the bottom up. What was laid on the stack since counts as lying right: it is left out.
    """
    rows = yard.rows(
        "WITH taken AS (SELECT p.layer, e.deed_id, CAST(e.was ->> '$.place_id' AS INTEGER) AS place_id"
        "  FROM plan n JOIN piece p ON p.plan_id = n.id JOIN entry e ON e.id = (SELECT max(x.id) FROM entry x"
        "   WHERE x.thing = 'piece' AND x.thing_key = p.tag AND json_type(x.now, '$.place_id') = 'null')"
        "  WHERE n.job_id = ? AND p.state IN ('pulled', 'cut'))"
        " SELECT DISTINCT q.place_id, q.layer, q.tag FROM taken t JOIN place w ON w.id = t.place_id"
        " JOIN piece q ON q.place_id = t.place_id AND q.layer > t.layer"
        " WHERE w.storage = 'flat stack' AND t.deed_id > (SELECT max(x.deed_id) FROM entry x"
        "  WHERE x.thing = 'piece' AND x.thing_key = q.tag AND json_type(x.now, '$.layer') IS NOT NULL)"
        " ORDER BY q.place_id, q.layer",
        (job_id,),
    )
    found: dict[int, list[str]] = {}
    for row in rows:
        found.setdefault(row["place_id"], []).append(row["tag"])
    return {place_id: tuple(tags) for place_id, tags in found.items()}


@dataclass(frozen=True, slots=True)
class Pulled:
    """Pieces at the saw: those just pulled, and those that were there `already`.

    `swapped` pairs a full piece that was taken with the one like it that the plan had named, "" for one that
    was still to be bought.
    """

    pieces: tuple[Piece, ...]
    already: tuple[Piece, ...]
    swapped: tuple[tuple[str, str], ...]


def pull(yard: Yard, tags: Sequence[str], job_id: int | None = None) -> Pulled:
    """Tick off pieces as taken to the saw: one deed.

    Full pieces alike and without a flaw are interchangeable: one that the plan does not name takes the place
    of one that it does and that lies on a rack still, or that was still to be bought.

    Raises:
        BadInput: no tags, or one that no piece has.
        Refused: no plan wants a piece, several do and no job is said, or it is cut or gone.
    """
    if not tags:
        raise BadInput("say which pieces are pulled: give their tags")
    with yard.deed("pull") as deed:
        every = by_tags(yard, tags)
        already = tuple(p for p in every if p.state is State.PULLED and _is_for(yard, p, job_id))
        pieces = [p for p in every if p not in already]
        swapped: list[tuple[str, str]] = []
        if pieces:
            deed.begin(f"pulled {', '.join(p.tag for p in pieces[:8])}{'...' if len(pieces) > 8 else ''}")
        # What the plans name goes first, so that nothing just scanned is what another takes the place of.
        pieces.sort(key=lambda p: not (p.state is State.PROMISED and _is_for(yard, p, job_id)))
        for p in pieces:
            p = by_tag(yard, p.tag)
            wanted = p.state is State.PROMISED and _is_for(yard, p, job_id)
            if p.kind is Kind.FULL and not p.flaws and not wanted:
                p = _swapped_in(yard, p, job_id, swapped)
            if p.state is not State.PROMISED and p.state is not State.PULLED:
                raise Refused(f"{p.tag} cannot be pulled: it is {told(yard, p)}")
            if not _is_for(yard, p, job_id):
                raise Refused(f"{p.tag} cannot be pulled for this job: it is {told(yard, p)}")
            yard.write("UPDATE piece SET state = 'pulled', place_id = NULL WHERE tag = ?", (p.tag,))
    return Pulled(by_tags(yard, [p.tag for p in pieces]), already, tuple(swapped))


def _is_for(yard: Yard, p: Piece, job_id: int | None) -> bool:
    """Whether a piece is promised to a job; to any job where none is said."""
    if job_id is None or p.plan_id is None:
        return p.plan_id is not None
    return yard.row("SELECT 1 FROM plan WHERE id = ? AND job_id = ?", (p.plan_id, job_id)) is not None


def _swapped_in(yard: Yard, p: Piece, job_id: int | None, swapped: list[tuple[str, str]]) -> Piece:
    """Put a full piece in the place of one like it in a plan, the other one free or promised in its stead."""
    if p.state not in (State.RACKED, State.BENCH, State.PROMISED):
        return p
    rows = yard.rows(
        "SELECT l.id, l.tag, l.plan_id, j.name FROM layout l JOIN plan n ON n.id = l.plan_id"
        " JOIN job j ON j.id = n.job_id LEFT JOIN piece p ON p.tag = l.tag"
        " WHERE n.state IN ('standing', 'broken') AND (:job IS NULL OR n.job_id = :job)"
        " AND (l.material_id, l.length, l.width) = (:material, :length, :width)"
        " AND (l.tag IS NULL OR (p.state = 'promised' AND p.kind = 'full' AND p.flaws = '[]'"
        "      AND (p.material_id, p.length, p.width) = (l.material_id, l.length, l.width)))"
        " ORDER BY l.tag IS NULL, l.plan_id, l.number",
        {"job": job_id, "material": p.material_id, "length": p.length, "width": p.width},
    )
    if not rows:
        if job_id is not None and p.state is not State.PROMISED:
            name = job_by_id(yard, job_id).name
            raise Refused(f"{p.tag} is not in the plan of job {name}, and nothing like it is wanted there")
        return p
    names = dict.fromkeys(row["name"] for row in rows)
    if len(names) > 1:
        raise Refused(f"{p.tag} is like pieces of {', '.join(names)}", "which job")
    _swap(yard, p, rows[0])
    swapped.append((p.tag, rows[0]["tag"] or ""))
    return by_tag(yard, p.tag)


def _swap(yard: Yard, p: Piece, wanted: sqlite3.Row) -> None:
    """Name `p` in a layout; what that named is free, or goes to the plan that had promised `p`."""
    other = by_tag(yard, wanted["tag"]) if wanted["tag"] else None
    if p.plan_id is not None and other is None:
        raise Refused(f"{p.tag} cannot be pulled for this job: it is {told(yard, p)}")
    for one in (p, other):
        if one is not None and one.state is State.PROMISED:
            yard.write("UPDATE piece SET state = 'racked', plan_id = NULL WHERE tag = ?", (one.tag,))
    if p.plan_id is not None and other is not None:
        yard.write("UPDATE layout SET tag = ? WHERE plan_id = ? AND tag = ?", (other.tag, p.plan_id, p.tag))
        promise(yard, by_tag(yard, other.tag), p.plan_id)
    yard.write("UPDATE layout SET tag = ? WHERE id = ?", (p.tag, wanted["id"]))
    promise(yard, by_tag(yard, p.tag), wanted["plan_id"])


def report_gone(yard: Yard, tag: str, why: str) -> BrokenPlan | None:
    """Record that a piece is missing or damaged: one deed. A plan that needed it is broken and returned.

    Raises:
        Refused: it is cut or gone already.
    """
    with yard.deed("gone") as deed:
        p = by_tag(yard, tag)
        if p.state in (State.CUT, State.GONE):
            raise Refused(f"{p.tag} is {told(yard, p)} already")
        deed.begin(f"{p.tag} is gone: {why}")
        return write_off(yard, p, why)


def write_off(yard: Yard, p: Piece, why: str) -> BrokenPlan | None:
    """Mark a piece as gone within the open deed, breaking the plan that needed it."""
    if p.plan_id is not None:
        break_plan(yard, p.plan_id, f"{p.tag} is gone: {why}")
    broken = broken_plan(yard, p)
    yard.write(
        "UPDATE piece SET state = 'gone', plan_id = NULL, place_id = NULL, gone_because = ? WHERE tag = ?",
        (why.strip() or "no reason given", p.tag),
    )
    return broken


def found_again(yard: Yard, tag: str, place_id: int) -> None:
    """Put a piece that was written off back on a rack, within the open deed."""
    yard.write(
        "UPDATE piece SET state = 'racked', gone_because = NULL, place_id = ?, layer = ? WHERE tag = ?",
        (place_id, next_layer(yard), tag),
    )
