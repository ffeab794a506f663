"""Pieces as a person is shown them: what they are, where they are, and for whom."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from stockyard.desk.lumber import board_feet, measured
from stockyard.kinds import Form, Kind
from stockyard.measure import Area, Length, Money
from stockyard.yard import Yard
from stockyard.yard.materials import materials
from stockyard.yard.model import Flaw, Material, Piece, State, word_for
from stockyard.yard.pieces import by_tags, job_names, whereabouts
from stockyard.yard.places import places
from stockyard.yard.planned import BrokenPlan

__all__ = ["BrokenPlan", "FlawLine", "Kind", "PieceLine", "State", "lines", "lines_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FlawLine:
    """A rectangle of a piece, from its corner 0: where it begins and its size along and across."""

    x: Length
    y: Length
    length: Length
    width: Length

    @property
    def flaw(self) -> Flaw:
        """The same as the yard has it."""
        return Flaw(self.x, self.y, self.length, self.width)


def flaw_line(f: Flaw) -> FlawLine:
    """Return a rectangle of a piece as shown."""
    return FlawLine(x=Length(f.x), y=Length(f.y), length=Length(f.dx), width=Length(f.dy))


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceLine:
    """One piece. `thickness` is as measured on it, or else as measured of its material (`own_thickness`
    tells); `place` is empty off the racks, `job` where no plan holds it; `says` is where it is in words.
    `word` is what it is: full, offcut, board. `guessed`: the cost was worked out from other sizes. `lumber`
    says how much lumber a board is, whole ones as they are tallied; empty for sheets. `area` is what is
    there: of an L or a frame less than its size.
    """

    tag: str
    material: str
    kind: Kind
    word: str
    length: Length
    width: Length
    area: Area
    thickness: Length
    own_thickness: bool
    state: State
    place: str
    depth: int
    job: str
    says: str
    supplier: str
    cost: Money
    guessed: bool
    note: str
    flaws: tuple[FlawLine, ...]
    parent: str | None
    labelled: bool
    shelved_at: str
    board_feet: Fraction | None
    lumber: str

    @property
    def holed(self) -> bool:
        """Whether it is an L or a frame: not all of its size is there."""
        return self.area < self.length * self.width


def lines(yard: Yard, found: Iterable[Piece]) -> tuple[PieceLine, ...]:
    """Return each piece as shown, in the order given."""
    with yard.reading():
        known = {m.id: m for m in materials(yard)}
        codes = {p.id: p.code for p in places(yard)}
        jobs = job_names(yard)
        return tuple(
            PieceLine(
                tag=p.tag,
                material=known[p.material_id].title,
                kind=p.kind,
                word=word_for(p, known[p.material_id]),
                length=p.length,
                width=p.width,
                area=p.area,
                thickness=Length(p.thickness or known[p.material_id].thickness),
                own_thickness=p.thickness is not None,
                state=p.state,
                place=codes.get(p.place_id or 0, ""),
                depth=p.depth,
                job=jobs.get(p.plan_id or 0, "") if p.state in (State.PROMISED, State.PULLED) else "",
                says=whereabouts(p, codes.get(p.place_id or 0, ""), jobs.get(p.plan_id or 0, "")),
                supplier=p.supplier,
                cost=p.cost,
                guessed=p.guessed,
                note=p.note,
                flaws=tuple(flaw_line(f) for f in p.flaws),
                parent=p.parent,
                labelled=p.labelled,
                shelved_at=p.shelved_at,
                board_feet=_feet(p, known[p.material_id]),
                lumber=measured(yard, known[p.material_id], p.length, p.width, full=p.kind is Kind.FULL),
            )
            for p in found
        )


def _feet(p: Piece, m: Material) -> Fraction | None:
    return board_feet(m, p.length, p.width, tally=p.kind is Kind.FULL) if m.form is Form.BOARD else None


def lines_of(yard: Yard, tags: Iterable[str]) -> tuple[PieceLine, ...]:
    """Return the pieces of these tags as shown.

    Raises:
        BadInput: one is not a tag, or no piece has it.
    """
    with yard.reading():
        return lines(yard, by_tags(yard, list(tags)))
