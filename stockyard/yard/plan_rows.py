"""A plan as rows: written once, within the deed that stores it, and read back."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

from stockyard.kinds import Method
from stockyard.yard.jobs import keep_document
from stockyard.yard.older_plans import body_of, filled
from stockyard.yard.planned import (
    LeftOut,
    Making,
    NewPlan,
    PlannedCut,
    PlannedLeftover,
    PlannedPart,
    StoredLayout,
    StoredQuestion,
)
from stockyard.yard.store import Yard

# What `layout.gives` holds since parts and leftovers are rows.
_NOTHING = '{"parts": [], "leftovers": []}'


def write_plan(yard: Yard, job_id: int, number: int, new: NewPlan) -> int:
    """Write a plan whose leftovers all have tags; return its id."""
    made = new.making
    plan_id = yard.insert(
        "plan", job_id=job_id, number=number, state="standing", status=new.status,
        body=keep_document(yard, ""), made_at=yard.clock(), kerf=made.kerf, seed=made.seed,
        time_limit=made.time_limit, work_limit=made.work_limit, program=made.program,
        settings=keep_document(yard, made.settings),
    )  # fmt: skip
    asked = [_write_question(yard, plan_id, n, q) for n, q in enumerate(new.questions, 1)]
    for x in new.layouts:
        layout_id = yard.insert(
            "layout", plan_id=plan_id, number=x.number, tag=x.tag, material_id=x.material_id,
            length=x.length, width=x.width, gives=_NOTHING, stock=x.stock or None,
            question_id=asked[x.question - 1] if x.question else None,
        )  # fmt: skip
        _write_layout(yard, layout_id, x)
    return plan_id


def _write_question(yard: Yard, plan_id: int, number: int, q: StoredQuestion) -> int:
    made = yard.insert(
        "question", plan_id=plan_id, number=number, problem=keep_document(yard, q.problem), status=q.status,
        bound_cost=q.bound_cost, bound_area=q.bound_area, bound_says=q.bound_says, method=q.method,
    )  # fmt: skip
    rows = [(made, line, out.part, out.count, out.reason) for line, out in enumerate(q.left_out, 1)]
    yard.insert_many("left_out", ("question_id", "line", "part", "count", "reason"), rows)
    return made


def _write_layout(yard: Yard, layout_id: int, x: StoredLayout) -> None:
    yard.insert_many(
        "layout_part",
        ("layout_id", "line", "name", "length", "width", "x", "y", "turned", "number"),
        [
            (layout_id, line, p.name, p.length, p.width, p.x, p.y, int(p.turned), p.number)
            for line, p in enumerate(x.placed, 1)
        ],
    )
    yard.insert_many(
        "layout_cut",
        ("layout_id", "step", "piece", "direction", "at", "fence", "low", "high", "turn", "setting"),
        [
            (layout_id, c.step, c.piece, c.direction, c.at, c.fence, c.low, c.high, c.turn, c.setting)
            for c in x.cuts
        ],
    )
    yard.insert_many(
        "layout_leftover",
        ("layout_id", "line", "tag", "x", "y", "length", "width", "factory"),
        [
            (layout_id, line, o.tag, o.x, o.y, o.length, o.width, " ".join(o.factory))
            for line, o in enumerate(x.leftovers, 1)
        ],
    )


def read_layouts(yard: Yard, plan: sqlite3.Row) -> tuple[StoredLayout, ...]:
    """Return the layouts of a plan, given its row."""
    rows = yard.rows(
        "SELECT l.*, q.number AS question, q.method FROM layout l"
        " LEFT JOIN question q ON q.id = l.question_id WHERE l.plan_id = ? ORDER BY l.number",
        (plan["id"],),
    )
    if plan["kerf"] is None:
        body = body_of(yard.one("SELECT body FROM document WHERE digest = ?", (plan["body"],)))
        return tuple(filled(_bare(row), row["gives"], body) for row in rows)
    parts, cuts, lefts = (
        _by_layout(
            yard.rows(
                f"SELECT t.* FROM {table} t JOIN layout l ON l.id = t.layout_id WHERE l.plan_id = ?"
                f" ORDER BY t.layout_id, t.{order}",
                (plan["id"],),
            )
        )
        for table, order in (("layout_part", "line"), ("layout_cut", "step"), ("layout_leftover", "line"))
    )
    return tuple(
        replace(
            _bare(row),
            placed=tuple(map(_part, parts[row["id"]])),
            cuts=tuple(map(_cut, cuts[row["id"]])),
            leftovers=tuple(map(_leftover, lefts[row["id"]])),
        )
        for row in rows
    )


def _by_layout(rows: Iterable[sqlite3.Row]) -> defaultdict[int, list[sqlite3.Row]]:
    found: defaultdict[int, list[sqlite3.Row]] = defaultdict(list)
    for row in rows:
        found[row["layout_id"]].append(row)
    return found


def _bare(row: sqlite3.Row) -> StoredLayout:
    return StoredLayout(
        number=row["number"], tag=row["tag"], material_id=row["material_id"], length=row["length"],
        width=row["width"], question=row["question"] or 0, stock=row["stock"] or "",
        method=Method(row["method"] or "saw"),
    )  # fmt: skip


def _part(row: sqlite3.Row) -> PlannedPart:
    return PlannedPart(
        name=row["name"], length=row["length"], width=row["width"], x=row["x"], y=row["y"],
        turned=bool(row["turned"]), number=row["number"],
    )  # fmt: skip


def _cut(row: sqlite3.Row) -> PlannedCut:
    return PlannedCut(
        step=row["step"], piece=row["piece"], direction=row["direction"], at=row["at"], fence=row["fence"],
        low=row["low"], high=row["high"], turn=row["turn"], setting=row["setting"],
    )  # fmt: skip


def _leftover(row: sqlite3.Row) -> PlannedLeftover:
    return PlannedLeftover(
        length=row["length"], width=row["width"], tag=row["tag"], x=row["x"], y=row["y"],
        factory=tuple(row["factory"].split()),
    )  # fmt: skip


def cut_numbers(yard: Yard, job_id: int) -> dict[str, set[int]]:
    """Return the numbers on paper of the parts that plans of a job had on pieces which are cut, by name."""
    rows = yard.rows(
        "SELECT t.name, t.number FROM plan n JOIN layout l ON l.plan_id = n.id"
        " JOIN cutting c ON c.layout_id = l.id JOIN layout_part t ON t.layout_id = l.id"
        " WHERE n.job_id = ? AND t.number IS NOT NULL",
        (job_id,),
    )
    found: dict[str, set[int]] = {}
    for row in rows:
        found.setdefault(row["name"], set()).add(row["number"])
    return found


def factory_edges(yard: Yard) -> dict[str, tuple[str, ...]]:
    """Return the edges that want a trim still of every leftover that has such, by tag, as last planned."""
    rows = yard.rows("SELECT tag, factory FROM layout_leftover WHERE factory <> '' ORDER BY id")
    return {row["tag"]: tuple(row["factory"].split()) for row in rows}


def read_making(yard: Yard, plan: sqlite3.Row) -> Making | None:
    """Return how a plan was made, given its row; None when that was not kept then."""
    if plan["kerf"] is None:
        return None
    return Making(
        kerf=plan["kerf"], seed=plan["seed"], time_limit=plan["time_limit"], work_limit=plan["work_limit"],
        program=plan["program"],
        settings=yard.one("SELECT body FROM document WHERE digest = ?", (plan["settings"],)),
    )  # fmt: skip


def questions_of(yard: Yard, plan_id: int) -> tuple[StoredQuestion, ...]:
    """Return what a plan was asked; nothing for one made before that was kept."""
    rows = yard.rows(
        "SELECT q.*, d.body FROM question q JOIN document d ON d.digest = q.problem WHERE q.plan_id = ?"
        " ORDER BY q.number",
        (plan_id,),
    )
    return tuple(
        StoredQuestion(
            problem=row["body"], status=row["status"], bound_cost=row["bound_cost"],
            bound_area=row["bound_area"], bound_says=row["bound_says"], left_out=_left_out(yard, row["id"]),
            method=Method(row["method"]),
        )
        for row in rows
    )  # fmt: skip


def _left_out(yard: Yard, question_id: int) -> tuple[LeftOut, ...]:
    rows = yard.rows("SELECT * FROM left_out WHERE question_id = ? ORDER BY line", (question_id,))
    return tuple(LeftOut(row["part"], row["count"], row["reason"]) for row in rows)
