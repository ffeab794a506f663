"""What is clear of flaws in a piece, and cutting it out."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.advice.clearing import ClearCut, Cleared, cleared
from stockyard.desk.questions import keep_rule
from stockyard.desk.shown import FlawLine, PieceLine, flaw_line, lines
from stockyard.errors import Refused
from stockyard.measure import Length
from stockyard.yard import Yard
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.materials import material
from stockyard.yard.model import Piece, State
from stockyard.yard.pieces import by_tag, told
from stockyard.yard.planned import GivenOffcut


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearPart:
    """The biggest clear rectangle of a piece, the cuts that free it, strips worth keeping beside it.

    `offcuts` are what was put on the bench, nothing where it was only asked.
    """

    piece: PieceLine
    clear: FlawLine
    cuts: tuple[ClearCut, ...]
    others: tuple[FlawLine, ...]
    offcuts: tuple[PieceLine, ...] = ()


def clear(yard: Yard, tag: str) -> ClearPart:
    """Return what is clear in a piece.

    Raises:
        BadInput: no such tag. Refused: it is cut or gone.
    """
    with yard.reading():
        return _shown(yard, *_cleared(yard, tag))


def cut_clear(yard: Yard, tag: str) -> ClearPart:
    """Record that the biggest clear rectangle was cut out, and the strips worth keeping: one deed.

    Raises:
        BadInput: no such tag. Refused: it is cut, gone or promised, or has no flaw.
    """
    with yard.reading():
        piece, found = _cleared(yard, tag)
        if piece.state not in (State.RACKED, State.BENCH):
            raise Refused(f"{piece.tag} is {told(yard, piece)}: its plan cuts around its flaws")
        if not found.cuts:
            raise Refused(f"{piece.tag} has no flaw: there is nothing to cut off")
    given = [
        GivenOffcut(length=Length(s.dx), width=Length(s.dy), at=(s.x, s.y))
        for s in (found.clear, *found.others)
    ]
    done = confirm_cut(yard, piece.tag, parts=(), offcuts=given)
    with yard.reading():
        return _shown(yard, done.piece, found, done.offcuts)


def _cleared(yard: Yard, tag: str) -> tuple[Piece, Cleared]:
    piece = by_tag(yard, tag)
    if piece.state in (State.CUT, State.GONE):
        raise Refused(f"{piece.tag} is {told(yard, piece)}")
    rule = keep_rule(yard.settings, material(yard, piece.material_id).form)
    found = cleared(piece.flaws, piece.length, piece.width, yard.settings.kerf, rule.keeps)
    assert found is not None, "a piece without anything clear is not recorded"
    return piece, found


def _shown(yard: Yard, piece: Piece, found: Cleared, offcuts: tuple[Piece, ...] = ()) -> ClearPart:
    return ClearPart(
        piece=lines(yard, (piece,))[0],
        clear=flaw_line(found.clear),
        cuts=found.cuts,
        others=tuple(flaw_line(s) for s in found.others),
        offcuts=lines(yard, offcuts),
    )
