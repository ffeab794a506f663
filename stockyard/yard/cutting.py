"""Cutting: one piece becomes parts, offcuts and scrap, and the areas add up to the square tick."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.errors import BadInput, Refused
from stockyard.figures import typed_size
from stockyard.flaws import covered, flaws_in
from stockyard.kinds import Kind
from stockyard.measure import LONGEST, Area, Length
from stockyard.wording import count
from stockyard.yard.jobs import job_by_id, own_part, still_to_cut
from stockyard.yard.measuring import refuse_turned, remeasured
from stockyard.yard.model import Flaw, Piece, State
from stockyard.yard.pieces import by_tag, by_tags, issue_tags, put, told, written_flaws
from stockyard.yard.places import place
from stockyard.yard.plan_rows import questions_of
from stockyard.yard.planned import GivenOffcut, GivenPart, StoredLayout
from stockyard.yard.plans import break_plan, plan_by_id
from stockyard.yard.store import Yard


@dataclass(frozen=True, slots=True, kw_only=True)
class CutDone:
    """What a piece became. `scrap` is an area (ticks²), kerf included; `plan_done` that it was the last.

    `missing`: parts that are still to be cut and no plan gives, by name; `still`: all parts of the job that
    are still to be cut.
    """

    piece: Piece
    parts: tuple[GivenPart, ...]
    offcuts: tuple[Piece, ...]
    scrap: int
    plan_done: bool
    missing: tuple[tuple[str, int], ...] = ()
    still: tuple[tuple[str, int], ...] = ()


def planned_layout(yard: Yard, p: Piece) -> StoredLayout | None:
    """Return what the plan of a promised or pulled piece wants from it."""
    if p.plan_id is None:
        return None
    return next((x for x in plan_by_id(yard, p.plan_id).layouts if x.tag == p.tag), None)


def with_planned_tags(yard: Yard, p: Piece, sizes: Sequence[tuple[int, int]]) -> list[GivenOffcut]:
    """Return offcuts of these measured sizes, with the tags on the papers: each takes the planned leftover
    it is nearest to in size, the largest first; offcuts that were not planned get new tags later.
    """
    layout = planned_layout(yard, p)
    free = list(layout.leftovers) if layout else []
    found: dict[int, GivenOffcut] = {}
    for i in sorted(range(len(sizes)), key=lambda i: -sizes[i][0] * sizes[i][1]):
        length, width = sizes[i]
        nearest = min(free, key=lambda o: abs(o.length - length) + abs(o.width - width), default=None)
        if nearest is not None:
            free.remove(nearest)
        found[i] = GivenOffcut(
            length=Length(length), width=Length(width), tag=nearest.tag if nearest else None
        )
    return [found[i] for i in range(len(sizes))]


def confirm_cut(
    yard: Yard,
    tag: str,
    *,
    parts: Sequence[GivenPart] | None = None,
    offcuts: Sequence[GivenOffcut] | None = None,
) -> CutDone:
    """Record that a piece was cut: one deed.

    `parts` and `offcuts` None mean what the plan says; a leftover left out is scrap. Offcuts lie on
    the bench until they get a place. Each carries its share of the cost by area; the parts the rest.

    Raises:
        Refused: the piece is cut or gone, or would give more than it is.
        BadInput: no plan says what it gives, or a size cannot come out of it.
    """
    with yard.deed("cut") as deed:
        wanted = _looked_at(yard, tag, parts, offcuts)
        deed.begin(f"cut {wanted.piece.tag}: {_amounts([wanted])}")
        return _confirmed(yard, wanted)


def confirm_planned(yard: Yard, tags: Sequence[str]) -> tuple[CutDone, ...]:
    """Record that several pieces were cut as their plans say: all in one deed.

    Raises:
        Refused: a piece is cut or gone, or a tag comes twice.
        BadInput: no tags, or no plan says what one gives.
    """
    if not tags:
        raise BadInput("say which pieces were cut")
    with yard.deed("cut") as deed:
        every = [_looked_at(yard, tag, None, None) for tag in tags]
        if len({w.piece.tag for w in every}) < len(every):
            raise Refused("a piece is cut only once: a tag comes twice")
        named = ", ".join(w.piece.tag for w in every[:6]) + (" ..." if len(every) > 6 else "")
        deed.begin(f"cut {named}: {_amounts(every)}")
        return tuple(_confirmed(yard, wanted) for wanted in every)


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A cutting that was looked at and found possible."""

    piece: Piece
    layout: StoredLayout | None
    parts: tuple[GivenPart, ...]
    offcuts: tuple[GivenOffcut, ...]
    scrap: int


def _looked_at(
    yard: Yard, tag: str, parts: Sequence[GivenPart] | None, offcuts: Sequence[GivenOffcut] | None
) -> _Wanted:
    p = by_tag(yard, tag)
    if p.state in (State.CUT, State.GONE):
        raise Refused(f"{p.tag} cannot be cut: it is {told(yard, p)}")
    layout = planned_layout(yard, p)
    if layout is None and (parts is None or offcuts is None):
        raise BadInput(f"no plan says how {p.tag} is cut: say what it gave")
    given = tuple(layout.parts if parts is None and layout else parts or ())
    lefts = tuple(layout.leftovers if offcuts is None and layout else offcuts or ())
    return _Wanted(p, layout, given, lefts, _scrap(yard, p, layout, given, lefts))


def _amounts(every: Sequence[_Wanted]) -> str:
    parts = sum(g.count for w in every for g in w.parts)
    return f"{count(parts, 'part')}, {count(sum(len(w.offcuts) for w in every), 'offcut')}"


def _confirmed(yard: Yard, w: _Wanted) -> CutDone:
    """Write one cutting within the open deed."""
    tags = _record(yard, w.piece, w.layout, w.parts, w.offcuts, w.scrap)
    done, missing, still = _finish_plan(yard, w.piece.plan_id or 0) if w.layout is not None else _NOTHING
    return CutDone(
        piece=by_tag(yard, w.piece.tag), parts=w.parts, offcuts=by_tags(yard, tags), scrap=w.scrap,
        plan_done=done, missing=tuple(missing.items()), still=tuple(still.items()),
    )  # fmt: skip


_NOTHING: tuple[bool, Counter[str], Counter[str]] = (False, Counter(), Counter())


def _scrap(
    yard: Yard,
    p: Piece,
    layout: StoredLayout | None,
    parts: Sequence[GivenPart],
    offcuts: Sequence[GivenOffcut],
) -> Area:
    """Return the area left as scrap, after looking that everything can come out of the piece."""
    for length, width in [(s.length, s.width) for s in parts] + [(s.length, s.width) for s in offcuts]:
        low, high = sorted((length, width))
        text = typed_size(length, width, yard.unit)
        if low < 1 or high > LONGEST:
            raise BadInput(f"{text} is not a size")
        if low > min(p.length, p.width) or high > max(p.length, p.width):
            raise BadInput(f"{text} cannot come out of {p.tag}: it is larger")
    if any(g.count < 1 for g in parts):
        raise BadInput("a part is cut at least once")
    used = sum(g.length * g.width * g.count for g in parts) + sum(_solid(p, layout, o) for o in offcuts)
    if used > p.area:
        raise Refused(f"{p.tag} cannot give that much: its parts and offcuts are larger than the piece")
    return Area(p.area - used)


def _record(
    yard: Yard,
    p: Piece,
    layout: StoredLayout | None,
    parts: Sequence[GivenPart],
    offcuts: Sequence[GivenOffcut],
    scrap: int,
) -> list[str]:
    """Write the cutting within the open deed; return the tags of the offcuts."""
    new = iter(issue_tags(yard, sum(o.tag is None for o in offcuts)))
    tags = [o.tag or next(new) for o in offcuts]
    costs = [p.cost * _solid(p, layout, o) // p.area for o in offcuts]
    where = None
    job = None
    if layout is not None:
        where = yard.one("SELECT id FROM layout WHERE plan_id = ? AND number = ?", (p.plan_id, layout.number))
        job = yard.one("SELECT job_id FROM plan WHERE id = ?", (p.plan_id,))
    now = yard.clock()
    yard.write("UPDATE piece SET state = 'cut', place_id = NULL WHERE tag = ?", (p.tag,))
    yard.insert("cutting", tag=p.tag, layout_id=where, scrap=scrap, cost=p.cost - sum(costs), cut_at=now)
    rows = [
        (p.tag, *(own_part(yard, job, name) if job is not None else (None, name)), length, width, n)
        for (name, length, width), n in _totals(parts).items()
    ]
    yard.insert_many("cut_part", ("tag", "job_id", "name", "length", "width", "count"), rows)
    for t, o, cost in zip(tags, offcuts, costs, strict=True):
        yard.insert(
            "piece", tag=t, material_id=p.material_id, kind=Kind.OFFCUT, length=o.length, width=o.width,
            thickness=p.thickness, state=State.BENCH, parent=p.tag, cost=cost, shelved_at=now,
            guessed=p.guessed, flaws=written_flaws(_flaws(p, layout, o)),
            hollow=o.length * o.width - _solid(p, layout, o),
        )  # fmt: skip
    return tags


def _flaws(p: Piece, layout: StoredLayout | None, offcut: GivenOffcut) -> tuple[Flaw, ...]:
    """Return which flaws of a piece lie in an offcut of it, as far as known where that lay."""
    spot = offcut.at
    if spot is None:
        planned = layout.leftovers if layout else ()
        spot = next(((o.x, o.y) for o in planned if offcut.tag and o.tag == offcut.tag), None)
    known = flaws_in(p.flaws, *spot, offcut.length, offcut.width) if spot else ()
    return (*known, *offcut.holes)


def _solid(p: Piece, layout: StoredLayout | None, offcut: GivenOffcut) -> int:
    """Return the area of an offcut that is there: of a piece with holes, what it may have of them is not."""
    around = offcut.length * offcut.width - covered(offcut.holes)
    return around - min(p.hollow, covered(_flaws(p, layout, offcut)) - covered(offcut.holes))


def _totals(parts: Sequence[GivenPart]) -> Counter[tuple[str, int, int]]:
    totals: Counter[tuple[str, int, int]] = Counter()
    for g in parts:
        totals[g.name, g.length, g.width] += g.count
    return totals


def _finish_plan(yard: Yard, plan_id: int) -> tuple[bool, Counter[str], Counter[str]]:
    """Close a plan whose last layout is cut, and its job unless parts are still to be cut.

    A plan that goes on but lacks parts that it should have given is broken. Return whether it is done, the
    parts that it does not give and those still to be cut.
    """
    plan = plan_by_id(yard, plan_id)
    still = still_to_cut(yard, job_by_id(yard, plan.job_id))
    cut = {
        row["number"]
        for row in yard.rows(
            "SELECT l.number FROM layout l JOIN cutting c ON c.layout_id = l.id WHERE l.plan_id = ?",
            (plan_id,),
        )
    }
    to_come = Counter(p.name for x in plan.layouts if x.number not in cut for p in x.placed)
    missing = still - to_come
    if plan.state != "standing":
        return False, missing, still
    if len(cut) == len(plan.layouts):
        yard.write("UPDATE plan SET state = 'done' WHERE id = ?", (plan_id,))
        if not missing:
            yard.write("UPDATE job SET state = 'done' WHERE ? IN (id, together_id)", (plan.job_id,))
        return True, missing, still
    left_out = Counter[str]()
    for q in questions_of(yard, plan_id):
        left_out.update({out.part: out.count for out in q.left_out})
    if lost := missing - left_out:
        told = ", ".join(f"{n} × {name}" for name, n in lost.items())
        break_plan(yard, plan_id, f"{told} not cut as planned")
    return False, lost, still


def return_offcut(yard: Yard, tag: str, code: str, size: tuple[int, int] | None = None) -> Piece:
    """Give a piece on the bench a place, and its size as really measured if that differs: one deed.

    Raises:
        Refused: it is not on the bench, or larger than what it was cut from allows, or its size is
            written the other way round.
    """
    with yard.deed("return") as deed:
        p = by_tag(yard, tag)
        if p.state not in (State.BENCH, State.PULLED):
            raise Refused(f"{p.tag} is not on the bench: it is {told(yard, p)}")
        spot = place(yard, code)
        deed.begin(f"returned {p.tag} to {spot.code}")
        if size is not None and size != (p.length, p.width):
            refuse_turned(yard, p, *size)
            remeasured(yard, p, *size)
        put(yard, [p], spot.id)
    return by_tag(yard, p.tag)
