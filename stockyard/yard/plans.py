"""Plans: storing one promises its pieces; releasing it gives them back."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import replace

from stockyard.errors import BadInput, Refused
from stockyard.wording import count
from stockyard.yard.jobs import job_by_id, keep_document
from stockyard.yard.model import BrokenPlan, GivenOffcut, GivenPart, Piece, State, StoredLayout, StoredPlan
from stockyard.yard.pieces import by_tag, issue_tags, told
from stockyard.yard.store import Yard


class PiecesTaken(Refused):
    """Pieces of a new plan that are no longer free; `tags` names them, so that it can be made again."""

    def __init__(self, message: str, tags: tuple[str, ...]) -> None:
        super().__init__(message)
        self.tags = tags


def store_plan(
    yard: Yard,
    job_id: int,
    body: str,
    status: str,
    layouts: Sequence[StoredLayout],
    *,
    replaces: int | None = None,
) -> StoredPlan:
    """Store a plan and promise all its pieces, or nothing: one deed.

    `body` is the plan as JSON, `status` proven, feasible or short. The leftovers of each layout get
    their tags here, so that papers can show them; layouts without a tag are pieces still to be bought.
    `replaces` is the plan of the same job whose promises this one takes over.

    Raises:
        PiecesTaken: pieces are promised to others, cut or gone meanwhile; they are named.
        Refused: a plan of the job stands already and is not the one replaced.
    """
    with yard.deed("plan") as deed:
        job = job_by_id(yard, job_id)
        old = standing_plan(yard, job_id)
        if (old.id if old else None) != replaces:
            raise Refused(f"job {job.name} has another plan by now: look at it, or release it first")
        deed.begin(f"planned job {job.name}: {count(len(layouts), 'piece')}")
        if old is not None:
            _let_go(yard, old, f"plan {old.number + 1} takes its place")
        _refuse_taken(yard, layouts)
        number = yard.one("SELECT coalesce(max(number), 0) + 1 FROM plan WHERE job_id = ?", (job_id,))
        plan_id = yard.insert(
            "plan", job_id=job_id, number=number, state="standing", status=status,
            body=keep_document(yard, body), made_at=yard.clock(),
        )  # fmt: skip
        tags = iter(issue_tags(yard, sum(len(x.leftovers) for x in layouts)))
        for x in layouts:
            named = replace(x, leftovers=tuple(replace(left, tag=next(tags)) for left in x.leftovers))
            yard.insert(
                "layout", plan_id=plan_id, number=x.number, tag=x.tag, material_id=x.material_id,
                length=x.length, width=x.width, gives=_gives(named),
            )  # fmt: skip
            if x.tag is not None:
                promise(yard, by_tag(yard, x.tag), plan_id)
    return plan_by_id(yard, plan_id)


def promise(yard: Yard, p: Piece, plan_id: int) -> None:
    """Promise a free piece within the open deed; one already off the racks counts as pulled."""
    state = State.PROMISED if p.state is State.RACKED else State.PULLED
    yard.write("UPDATE piece SET state = ?, plan_id = ? WHERE tag = ?", (state, plan_id, p.tag))


def release_plan(yard: Yard, plan_id: int, why: str = "not wanted") -> None:
    """Give up a plan: its pieces are free again, those at the saw lie on the bench. One deed.

    Raises:
        Refused: it does not stand.
    """
    with yard.deed("release") as deed:
        plan = plan_by_id(yard, plan_id)
        name = job_by_id(yard, plan.job_id).name
        if plan.state not in ("standing", "broken"):
            raise Refused(f"plan {plan.number} of job {name} is {plan.state} already")
        deed.begin(f"released plan {plan.number} of job {name}: {why}")
        _let_go(yard, plan, why)


def _let_go(yard: Yard, plan: StoredPlan, why: str) -> None:
    yard.write("UPDATE plan SET state = 'released', why = ? WHERE id = ?", (why, plan.id))
    for state, after in ((State.PROMISED, State.RACKED), (State.PULLED, State.BENCH)):
        yard.write(
            "UPDATE piece SET state = ?, plan_id = NULL WHERE plan_id = ? AND state = ?",
            (after, plan.id, state),
        )


def break_plan(yard: Yard, plan_id: int, why: str) -> None:
    """Mark a standing plan as broken within the open deed: it must be made again."""
    yard.write(
        "UPDATE plan SET state = 'broken', why = ? WHERE id = ? AND state = 'standing'", (why, plan_id)
    )


def broken_plan(yard: Yard, p: Piece) -> BrokenPlan | None:
    """Return the plan that a piece is promised to when that is broken."""
    plan = None if p.plan_id is None else plan_by_id(yard, p.plan_id)
    if plan is None or plan.state != "broken":
        return None
    return BrokenPlan(plan.job_id, job_by_id(yard, plan.job_id).name, p.tag)


def _refuse_taken(yard: Yard, layouts: Sequence[StoredLayout]) -> None:
    taken: dict[str, str] = {}
    for x in layouts:
        if x.tag is not None:
            p = by_tag(yard, x.tag)
            if p.state not in (State.RACKED, State.BENCH):
                taken[p.tag] = told(yard, p)
            elif (p.material_id, p.length, p.width) != (x.material_id, x.length, x.width):
                taken[p.tag] = "measured again, another size now"
    if taken:
        shown = ", ".join(f"{tag} is {why}" for tag, why in list(taken.items())[:6])
        raise PiecesTaken(f"the plan no longer holds: {shown}; plan again", tuple(taken))


def plan_by_id(yard: Yard, plan_id: int) -> StoredPlan:
    """Return one plan with its layouts."""
    row = yard.row(
        "SELECT n.*, d.body AS text FROM plan n JOIN document d ON d.digest = n.body WHERE n.id = ?",
        (plan_id,),
    )
    if row is None:
        raise BadInput(f"there is no plan number {plan_id}")
    layouts = yard.rows("SELECT * FROM layout WHERE plan_id = ? ORDER BY number", (plan_id,))
    return StoredPlan(
        id=plan_id, job_id=row["job_id"], number=row["number"], state=row["state"], why=row["why"],
        status=row["status"], body=row["text"], made_at=row["made_at"],
        layouts=tuple(_layout_of(x) for x in layouts),
    )  # fmt: skip


def standing_plan(yard: Yard, job_id: int) -> StoredPlan | None:
    """Return the plan of a job that stands or is broken, if there is one."""
    row = yard.row("SELECT id FROM plan WHERE job_id = ? AND state IN ('standing', 'broken')", (job_id,))
    return plan_by_id(yard, row["id"]) if row else None


def latest_plan(yard: Yard, job_id: int) -> StoredPlan | None:
    """Return the newest plan of a job, whatever became of it."""
    row = yard.row("SELECT id FROM plan WHERE job_id = ? ORDER BY number DESC LIMIT 1", (job_id,))
    return plan_by_id(yard, row["id"]) if row else None


def _gives(x: StoredLayout) -> str:
    parts = [{"name": p.name, "length": p.length, "width": p.width, "count": p.count} for p in x.parts]
    lefts = [{"tag": o.tag, "length": o.length, "width": o.width} for o in x.leftovers]
    return json.dumps({"parts": parts, "leftovers": lefts}, ensure_ascii=False)


def _layout_of(row: sqlite3.Row) -> StoredLayout:
    gives = json.loads(row["gives"])
    return StoredLayout(
        number=row["number"],
        tag=row["tag"],
        material_id=row["material_id"],
        length=row["length"],
        width=row["width"],
        parts=tuple(GivenPart(**p) for p in gives["parts"]),
        leftovers=tuple(GivenOffcut(**o) for o in gives["leftovers"]),
    )
