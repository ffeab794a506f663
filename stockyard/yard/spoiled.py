"""A part that was cut and is no good: it counts no more, and what is left of it is an offcut or scrap."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.errors import BadInput, Refused
from stockyard.kinds import Kind
from stockyard.measure import show
from stockyard.yard.jobs import job_by_id, own_part, planned_as, still_to_cut
from stockyard.yard.model import Piece, State
from stockyard.yard.pieces import by_tag, by_tags, issue_tags, told
from stockyard.yard.planned import GivenPart
from stockyard.yard.plans import break_plan, standing_plan
from stockyard.yard.store import Yard


def spoil(
    yard: Yard, tag: str, parts: Sequence[GivenPart], left: Sequence[tuple[int, int]]
) -> tuple[Piece, ...]:
    """Take parts back that a cut piece gave: one deed; return what is left of them as offcuts on the bench.

    `left` are sizes (ticks) as measured. The plan of the job, if one stands, is broken: it does not give
    these parts.

    Raises:
        Refused: the piece is not cut, gave none of these for a job, or what is left is more than they were.
        BadInput: a size that is none.
    """
    with yard.deed("spoiled") as deed:
        p = by_tag(yard, tag)
        if p.state is not State.CUT:
            raise Refused(f"{p.tag} is not cut: it is {told(yard, p)}")
        deed.begin(f"{', '.join(f'{g.count} × {g.name}' for g in parts)} from {p.tag} spoiled")
        job_ids = {_take_back(yard, p, g) for g in parts}
        area = sum(g.length * g.width * g.count for g in parts)
        offcuts = _lay_down(yard, p, area, left)
        for job_id in job_ids:
            _open_again(yard, job_id, f"a part from {p.tag} was spoiled")
    return by_tags(yard, offcuts)


def _take_back(yard: Yard, p: Piece, g: GivenPart) -> int:
    name = g.name
    if p.plan_id is not None:
        _, name = own_part(yard, yard.one("SELECT job_id FROM plan WHERE id = ?", (p.plan_id,)), g.name)
    row = yard.row(
        "SELECT id, job_id, count FROM cut_part WHERE tag = ? AND name = ? AND length = ? AND width = ?"
        " AND job_id IS NOT NULL",
        (p.tag, name, g.length, g.width),
    )
    if row is None or row["count"] < g.count:
        size = f"{show(g.length, yard.unit)} x {show(g.width, yard.unit)}"
        raise Refused(f"{p.tag} gave {row['count'] if row else 0} × {g.name} {size}, not {g.count}")
    if row["count"] == g.count:
        yard.write("DELETE FROM cut_part WHERE id = ?", (row["id"],))
    else:
        yard.write("UPDATE cut_part SET count = count - ? WHERE id = ?", (g.count, row["id"]))
    return int(row["job_id"])


def _lay_down(yard: Yard, p: Piece, area: int, left: Sequence[tuple[int, int]]) -> list[str]:
    """Write what is left of the parts as offcuts that carry their share of the cost; the rest is scrap."""
    if any(length < 1 or width < 1 for length, width in left):
        raise BadInput("what is left has no size")
    kept = sum(length * width for length, width in left)
    if kept > area:
        raise Refused(f"what is left cannot be larger than what {p.tag} gave")
    tags = issue_tags(yard, len(left))
    costs = [p.cost * length * width // p.area for length, width in left]
    yard.write(
        "UPDATE cutting SET scrap = scrap + ?, cost = cost - ? WHERE tag = ?",
        (area - kept, sum(costs), p.tag),
    )
    for tag, (length, width), cost in zip(tags, left, costs, strict=True):
        yard.insert(
            "piece", tag=tag, material_id=p.material_id, kind=Kind.OFFCUT, length=length, width=width,
            thickness=p.thickness, state=State.BENCH, parent=p.tag, cost=cost, shelved_at=yard.clock(),
        )  # fmt: skip
    return list(tags)


def _open_again(yard: Yard, job_id: int, why: str) -> None:
    if not still_to_cut(yard, job_by_id(yard, job_id)):
        return
    holder = planned_as(yard, job_by_id(yard, job_id)).id
    yard.write("UPDATE job SET state = 'open' WHERE id IN (?, ?) AND state = 'done'", (job_id, holder))
    plan = standing_plan(yard, holder)
    if plan is not None:
        break_plan(yard, plan.id, why)
