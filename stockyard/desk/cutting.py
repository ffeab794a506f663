"""Cutting: what a piece gave, and putting what is left on a rack."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stockyard.desk.parts_named import Wanted, parts_given, wanted_from
from stockyard.desk.shelve_advice import misfits
from stockyard.desk.shown import PieceLine, lines
from stockyard.errors import BadInput
from stockyard.measure import Area, Length, read_size
from stockyard.yard import Yard, jobs
from stockyard.yard.cutting import (
    CutDone,
    confirm_cut,
    confirm_planned,
    planned_layout,
    return_offcut,
    with_planned_tags,
)
from stockyard.yard.model import Piece, State
from stockyard.yard.pieces import by_tag
from stockyard.yard.planned import BrokenPlan, GivenOffcut, GivenPart
from stockyard.yard.plans import broken_plan, plan_by_id, standing_plan
from stockyard.yard.spoiled import spoil


@dataclass(frozen=True, slots=True, kw_only=True)
class PartCut:
    """One line of the parts that a piece gave."""

    name: str
    count: int
    length: Length
    width: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceCut:
    """What a piece became; kerf counts as scrap.

    `still` are the parts of the job that are still to be cut, by name; `missing` those of them that its plan
    does not give, so that `job` must be planned again.
    """

    piece: PieceLine
    parts: tuple[PartCut, ...]
    offcuts: tuple[PieceLine, ...]
    scrap: Area
    plan_done: bool
    missing: tuple[tuple[str, int], ...]
    still: tuple[tuple[str, int], ...]
    job: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PutBack:
    """A piece on its rack, a plan that it no longer fits, and remarks on the place it was put."""

    piece: PieceLine
    broken: BrokenPlan | None
    remarks: tuple[str, ...]


def cut(
    yard: Yard,
    tag: str,
    *,
    parts: Sequence[str] | None = None,
    offcuts: Sequence[str] | None = None,
    whole: bool = False,
) -> PieceCut:
    """Record that a piece was cut, as its plan says where nothing else is given: one deed.

    `parts` are named as the card numbers them, 'side 3' or 'side 1-3', or counted, '2:side'; of a piece that
    no plan names, '2:side:720 x 560'. `offcuts` are sizes as measured, which take the planned
    tags nearest in size. `whole`: what a routed sheet leaves over is kept in one piece, its holes as flaws.

    Raises:
        BadInput: no such tag, a text that says no part or size, no plan, or a size that cannot come out.
        Refused: it is cut or gone, or would give more than it is, or nothing is to be kept whole.
    """
    with yard.reading():
        piece = by_tag(yard, tag)
        wanted = wanted_from(yard, piece)
        given = None
        if parts is not None:
            given = parts_given(wanted, parts, yard) if wanted else [_part(yard, text) for text in parts]
        sizes = [read_size(text, yard.unit) for text in offcuts] if offcuts is not None else None
        lefts = with_planned_tags(yard, piece, sizes) if sizes is not None else None
        if whole:
            from stockyard.desk.frames import kept_whole

            lefts = kept_whole(yard, piece)
    return _shown(yard, [confirm_cut(yard, tag, parts=given, offcuts=lefts)])[0]


def spoiled(yard: Yard, tag: str, parts: Sequence[str], left: Sequence[str]) -> PieceCut:
    """Record that parts of a piece are no good, while it is cut or afterwards: one deed.

    All else is as planned or as cut. `parts` are named as in `cut`; `left` are the sizes of what is left of
    them, offcuts on the bench. The job wants the parts again.

    Raises:
        BadInput: no such tag, part or size, or no plan names the piece.
        Refused: the piece is gone, gave no such part, or what is left is more than it was.
    """
    with yard.reading():
        piece = by_tag(yard, tag)
        wanted = wanted_from(yard, piece)
        if wanted is None:
            raise BadInput(f"no plan names {piece.tag}: there is no part of it to name")
        bad = parts_given(wanted, parts, yard)
        sizes = [read_size(text, yard.unit) for text in left]
        layout = planned_layout(yard, piece)
    if not bad:
        raise BadInput("say which part is spoiled, as its card numbers it: 'side 3'")
    if piece.state is State.CUT:
        offcuts = spoil(yard, piece.tag, bad, sizes)
        return _spoiled(yard, by_tag(yard, piece.tag), offcuts)
    if layout is None:
        raise BadInput(f"no plan says how {piece.tag} is cut", "no plan for piece", {"tag": piece.tag})
    good = Counter({(g.name, g.length, g.width): g.count for g in layout.parts})
    good.subtract({(g.name, g.length, g.width): g.count for g in bad})
    if min(good.values()) < 0:
        few = next(name for (name, _, _), n in good.items() if n < 0)
        raise BadInput(f"{piece.tag} does not give that many of {few}: its card shows what it gives")
    given = [GivenPart(name=a, length=b, width=c, count=n) for (a, b, c), n in good.items() if n]
    lefts = [*layout.leftovers, *(GivenOffcut(length=Length(a), width=Length(b)) for a, b in sizes)]
    return _shown(yard, [confirm_cut(yard, piece.tag, parts=given, offcuts=lefts)])[0]


def _spoiled(yard: Yard, piece: Piece, offcuts: Sequence[Piece]) -> PieceCut:
    """Tell of a piece cut before whose part was spoiled since."""
    with yard.reading():
        job = jobs.job_by_id(yard, plan_by_id(yard, piece.plan_id or 0).job_id)
        still = tuple(jobs.still_to_cut(yard, job).items())
        plan = standing_plan(yard, job.id)
        return PieceCut(
            piece=lines(yard, (piece,))[0], parts=(), offcuts=lines(yard, offcuts), scrap=Area(0),
            plan_done=plan is None, missing=still, still=still, job=job.name,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class CutBefore:
    """A piece that was cut for a job, and the parts of it as they may be named: 'side 3'."""

    piece: PieceLine
    parts: tuple[str, ...]


def cut_before(yard: Yard, name: str) -> tuple[CutBefore, ...]:
    """Return the pieces that were cut for a job and the parts they gave, the last one first.

    Raises:
        BadInput: no such job.
    """
    with yard.reading():
        job = jobs.planned_job(yard, name)
        given = [(by_tag(yard, tag), names) for tag, names in jobs.given_parts(yard, job)]
        shown = zip(lines(yard, (p for p, _ in given)), given, strict=True)
        return tuple(
            CutBefore(piece=line, parts=tuple(_numbered(wanted_from(yard, p), names)))
            for line, (p, names) in shown
        )


def _numbered(wanted: Wanted | None, names: Sequence[str]) -> Iterator[str]:
    for name in names:
        numbers = wanted.numbers.get(name, ()) if wanted else ()
        yield from (f"{name} {n}" for n in numbers) if numbers else (f"1:{name}",)


def cut_job(yard: Yard, name: str) -> tuple[PieceCut, ...]:
    """Record that everything pulled for a job was cut as planned: one deed, all or nothing.

    Raises:
        BadInput: no such job, or nothing that was pulled for it is still to be cut.
    """
    with yard.reading():
        job = jobs.planned_job(yard, name)
        plan = standing_plan(yard, job.id)
        tags = [x.tag for x in plan.layouts if x.tag] if plan else []
        pulled = [t for t in tags if by_tag(yard, t).state is State.PULLED]
    if not pulled:
        raise BadInput(
            f"nothing that was pulled for {job.name} is still to be cut: pull it first",
            "nothing to cut",
            {"job": job.name},
        )
    return _shown(yard, confirm_planned(yard, pulled))


def planned_for(yard: Yard, tag: str) -> tuple[tuple[PartCut, ...], tuple[tuple[str, Length, Length], ...]]:
    """Return what the plan wants from a piece: its parts, and its leftovers as (tag, length, width).

    Raises:
        BadInput: no such tag, or no plan wants anything from it.
    """
    with yard.reading():
        layout = planned_layout(yard, by_tag(yard, tag))
    if layout is None:
        raise BadInput(f"no plan says how {tag} is cut", "no plan for piece", {"tag": tag})
    lefts = tuple((o.tag or "", o.length, o.width) for o in layout.leftovers)
    return _parts(layout.parts), lefts


def one_piece(yard: Yard, tag: str) -> tuple[GivenOffcut, ...]:
    """Return what a routed piece leaves over as `whole` keeps it, nothing where that is not to be had.

    Raises:
        BadInput: no such tag.
    """
    from stockyard.desk.frames import in_one_piece

    with yard.reading():
        return in_one_piece(yard, by_tag(yard, tag))


def return_piece(yard: Yard, tag: str, place: str, size: str | None = None) -> PutBack:
    """Put a piece from the bench or the saw on a rack, with its size as really measured: one deed.

    Raises:
        BadInput: no such tag, place or size. Refused: it is not on the bench, or cannot be that large.
    """
    measured = read_size(size, yard.unit) if size else None
    piece = return_offcut(yard, tag, place, measured)
    with yard.reading():
        (line,) = lines(yard, (piece,))
        return PutBack(piece=line, broken=broken_plan(yard, piece), remarks=misfits(yard, (piece,)))


def _part(yard: Yard, text: str) -> GivenPart:
    number, _, rest = text.partition(":")
    name, _, size = rest.rpartition(":")
    if not re.fullmatch(r"[0-9]{1,6}", number.strip()) or not name.strip():
        raise BadInput(f"'{text[:40]}' is not COUNT:NAME:SIZE, such as 2:side:720 x 560")
    length, width = read_size(size, yard.unit)
    return GivenPart(name=name.strip(), length=length, width=width, count=int(number))


def _shown(yard: Yard, done: Sequence[CutDone]) -> tuple[PieceCut, ...]:
    with yard.reading():
        return tuple(
            PieceCut(
                piece=lines(yard, (d.piece,))[0],
                parts=_parts(d.parts),
                offcuts=lines(yard, d.offcuts),
                scrap=Area(d.scrap),
                plan_done=d.plan_done,
                missing=d.missing,
                still=d.still,
                job=_job_of(yard, d.piece),
            )
            for d in done
        )


def _job_of(yard: Yard, p: Piece) -> str:
    return "" if p.plan_id is None else jobs.job_by_id(yard, plan_by_id(yard, p.plan_id).job_id).name


def _parts(given: Sequence[GivenPart]) -> tuple[PartCut, ...]:
    return tuple(PartCut(name=g.name, count=g.count, length=g.length, width=g.width) for g in given)
