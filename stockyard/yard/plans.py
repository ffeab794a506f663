"""Plans: storing one promises its pieces; releasing it gives them back."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from stockyard.errors import BadInput, Refused
from stockyard.flaws import flaws_in
from stockyard.wording import count
from stockyard.yard.jobs import job_by_id
from stockyard.yard.kept_tags import kept_tags
from stockyard.yard.model import Piece, State
from stockyard.yard.pieces import by_tag, issue_tags, told
from stockyard.yard.plan_rows import questions_of, read_layouts, read_making, write_plan
from stockyard.yard.planned import BrokenPlan, NewPlan, StoredLayout, StoredPlan, StoredQuestion
from stockyard.yard.store import Yard


class PiecesTaken(Refused):
    """Pieces of a new plan that are no longer free; `tags` names them, so that it can be made again."""

    def __init__(self, message: str, tags: tuple[str, ...]) -> None:
        super().__init__(message, "pieces taken", {"tags": tags})

    @property
    def tags(self) -> tuple[str, ...]:
        """The tags of those pieces."""
        return tuple(str(tag) for tag in self.fields["tags"])  # type: ignore[attr-defined]


Verify = Callable[[StoredPlan, tuple[StoredQuestion, ...]], None]
"""Looks at a plan as it was read back; raises when it does not hold, and nothing is stored."""


def store_plan(
    yard: Yard,
    job_id: int,
    new: NewPlan,
    *,
    verify: Verify,
    replaces: int | None = None,
    called: Mapping[str, str] | None = None,
) -> StoredPlan:
    """Store a plan and promise all its pieces, or nothing: one deed.

    `verify` is called with what the tables hold, before anything is kept. The leftovers of each layout get
    their tags here, so that papers can show them; layouts without a tag are pieces still to be bought.
    `replaces` is the plan of the same job whose promises this one takes over: leftovers of layouts that are
    in both keep their tags. `called` names parts that were renamed since.

    Raises:
        PiecesTaken: pieces are promised to others, cut or gone meanwhile; they are named.
        Refused: a plan of the job stands already and is not the one replaced.
    """
    with yard.deed("plan") as deed:
        job = job_by_id(yard, job_id)
        old = standing_plan(yard, job_id)
        if (old.id if old else None) != replaces:
            raise Refused(f"job {job.name} has another plan by now: look at it, or release it first")
        deed.begin(f"planned job {job.name}: {count(len(new.layouts), 'piece')}")
        if old is not None:
            release_within(yard, old, f"plan {old.number + 1} takes its place")
        _refuse_taken(yard, new.layouts)
        number = yard.one("SELECT coalesce(max(number), 0) + 1 FROM plan WHERE job_id = ?", (job_id,))
        tagged = _tagged(yard, new.layouts, old.layouts if old else (), called)
        plan_id = write_plan(yard, job_id, number, replace(new, layouts=tagged))
        for x in new.layouts:
            if x.tag is not None:
                promise(yard, by_tag(yard, x.tag), plan_id)
        stored = plan_by_id(yard, plan_id)
        verify(stored, questions_of(yard, plan_id))
    return stored


def _tagged(
    yard: Yard,
    layouts: Sequence[StoredLayout],
    old: Sequence[StoredLayout],
    called: Mapping[str, str] | None,
) -> tuple[StoredLayout, ...]:
    """Return the layouts with a tag for every leftover: as in the old plan, or a new one."""
    kept = kept_tags(old, layouts, called)
    new = iter(issue_tags(yard, sum(len(x.leftovers) for x in layouts if x.number not in kept)))
    return tuple(
        replace(
            x,
            leftovers=tuple(
                replace(left, tag=kept[x.number][n] if x.number in kept else next(new))
                for n, left in enumerate(x.leftovers)
            ),
        )
        for x in layouts
    )


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
        release_within(yard, plan, why)
        part_ways(yard, plan.job_id)


def part_ways(yard: Yard, job_id: int) -> None:
    """Let jobs that were planned together be planned each for itself again, within the open deed."""
    if yard.write("UPDATE job SET together_id = NULL WHERE together_id = ?", (job_id,)):
        yard.write("UPDATE job SET state = 'dropped' WHERE id = ?", (job_id,))


def release_within(yard: Yard, plan: StoredPlan, why: str) -> None:
    """Give up a plan within the open deed."""
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
    row = yard.row(
        "SELECT j.id, j.name FROM plan n JOIN job j ON j.id = n.job_id WHERE n.id = ? AND n.state = 'broken'",
        (p.plan_id,),
    )
    return None if row is None else BrokenPlan(row["id"], row["name"], p.tag)


def _refuse_taken(yard: Yard, layouts: Sequence[StoredLayout]) -> None:
    taken: dict[str, str] = {}
    for x in layouts:
        if x.tag is not None:
            p = by_tag(yard, x.tag)
            if p.state not in (State.RACKED, State.BENCH):
                taken[p.tag] = told(yard, p)
            elif (p.material_id, p.length, p.width) != (x.material_id, x.length, x.width):
                taken[p.tag] = "measured again, another size now"
            elif any(flaws_in(p.flaws, *part.box) for part in x.placed):
                taken[p.tag] = "flawed where a part would lie"
    if taken:
        shown = ", ".join(f"{tag} is {why}" for tag, why in list(taken.items())[:6])
        raise PiecesTaken(f"the plan no longer holds: {shown}; plan again", tuple(taken))


def plan_by_id(yard: Yard, plan_id: int) -> StoredPlan:
    """Return one plan with its layouts."""
    row = yard.row("SELECT * FROM plan WHERE id = ?", (plan_id,))
    if row is None:
        raise BadInput(f"there is no plan number {plan_id}")
    return StoredPlan(
        id=plan_id, job_id=row["job_id"], number=row["number"], state=row["state"], why=row["why"],
        status=row["status"], made_at=row["made_at"], layouts=read_layouts(yard, row),
        making=read_making(yard, row),
    )  # fmt: skip


def plans_that_stand(yard: Yard) -> tuple[StoredPlan, ...]:
    """Return all plans that stand or are broken, by number."""
    rows = yard.rows("SELECT id FROM plan WHERE state IN ('standing', 'broken') ORDER BY id")
    return tuple(plan_by_id(yard, row["id"]) for row in rows)


def standing_plan(yard: Yard, job_id: int) -> StoredPlan | None:
    """Return the plan of a job that stands or is broken, if there is one."""
    row = yard.row("SELECT id FROM plan WHERE job_id = ? AND state IN ('standing', 'broken')", (job_id,))
    return plan_by_id(yard, row["id"]) if row else None


def latest_plan(yard: Yard, job_id: int) -> StoredPlan | None:
    """Return the newest plan of a job, whatever became of it."""
    row = yard.row("SELECT id FROM plan WHERE job_id = ? ORDER BY number DESC LIMIT 1", (job_id,))
    return plan_by_id(yard, row["id"]) if row else None


def printed_plan(yard: Yard, job_id: int) -> StoredPlan | None:
    """Return the plan of a job whose cut cards were put on paper last."""
    row = yard.row(
        "SELECT id FROM plan WHERE job_id = ? AND printed_at IS NOT NULL"
        " ORDER BY printed_at DESC, number DESC LIMIT 1",
        (job_id,),
    )
    return plan_by_id(yard, row["id"]) if row else None


def mark_printed(yard: Yard, plan: StoredPlan) -> None:
    """Note that what changed of a plan's cut cards is on paper now: one deed, unless that is known."""
    last = printed_plan(yard, plan.job_id)
    if last is not None and last.id == plan.id:
        return
    with yard.deed("papers") as deed:
        deed.begin(f"printed the cut cards of job {job_by_id(yard, plan.job_id).name}")
        yard.write("UPDATE plan SET printed_at = ? WHERE id = ?", (yard.clock(), plan.id))
