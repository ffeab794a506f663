"""Pulling: taking promised pieces off the racks, and what happens when one is not there."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.errors import BadInput, Refused
from stockyard.kinds import Kind
from stockyard.yard.jobs import job_by_id
from stockyard.yard.model import BrokenPlan, Piece, State
from stockyard.yard.pieces import by_tag, by_tags, next_layer, on_hand, told
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


def pull(yard: Yard, tags: Sequence[str], job_id: int | None = None) -> tuple[Piece, ...]:
    """Tick off pieces as taken to the saw: one deed.

    A free full piece stands in for one of `job_id` that was still to be bought, when it is of the same
    material and size.

    Raises:
        BadInput: no tags, or one that no piece has.
        Refused: a piece is promised to nobody and to be bought for nobody, cut or gone.
    """
    if not tags:
        raise BadInput("say which pieces are pulled: give their tags")
    with yard.deed("pull") as deed:
        pieces = by_tags(yard, tags)
        deed.begin(f"pulled {', '.join(p.tag for p in pieces[:8])}{'...' if len(pieces) > 8 else ''}")
        for p in pieces:
            if p.state is State.RACKED and p.kind is Kind.FULL and job_id is not None:
                p = _bought(yard, p, job_id)
            if p.state is not State.PROMISED:
                raise Refused(f"{p.tag} cannot be pulled: it is {told(yard, p)}")
            if job_id is not None and not yard.row(
                "SELECT 1 FROM plan WHERE id = ? AND job_id = ?", (p.plan_id, job_id)
            ):
                raise Refused(f"{p.tag} cannot be pulled for this job: it is {told(yard, p)}")
            yard.write("UPDATE piece SET state = 'pulled', place_id = NULL WHERE tag = ?", (p.tag,))
    return by_tags(yard, [p.tag for p in pieces])


def _bought(yard: Yard, p: Piece, job_id: int) -> Piece:
    """Promise a full piece to the first layout of the job that waits for one like it."""
    plan = standing_plan(yard, job_id)
    row = plan and yard.row(
        "SELECT id FROM layout WHERE plan_id = ? AND tag IS NULL AND material_id = ? AND length = ?"
        " AND width = ? ORDER BY number",
        (plan.id, p.material_id, p.length, p.width),
    )
    if not plan or not row:
        name = job_by_id(yard, job_id).name
        raise Refused(f"{p.tag} is not in the plan of job {name}, and no piece like it is still to be bought")
    yard.write("UPDATE layout SET tag = ? WHERE id = ?", (p.tag, row["id"]))
    promise(yard, p, plan.id)
    return by_tag(yard, p.tag)


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
