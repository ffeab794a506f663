"""What a routed sheet leaves over, kept in one piece: an L or a frame, its holes as flaws."""

from __future__ import annotations

from stockyard.desk.plan_check import apart
from stockyard.desk.questions import keep_rule
from stockyard.errors import Refused
from stockyard.flaws import MOST
from stockyard.kinds import Kind, Method
from stockyard.measure import Length
from stockyard.planning.placing.frames import Frame, frames
from stockyard.planning.problem import Problem, Stock
from stockyard.yard import Yard
from stockyard.yard.cutting import planned_layout
from stockyard.yard.materials import material
from stockyard.yard.model import Piece
from stockyard.yard.planned import GivenOffcut, StoredLayout
from stockyard.yard.plans import plan_by_id


def kept_whole(yard: Yard, piece: Piece) -> list[GivenOffcut]:
    """Return what the plan of a piece leaves over, each connected rest as one offcut with its holes.

    It takes the tag of the largest leftover that the papers show in it.

    Raises:
        Refused: it is not routed, or what remains is no more than plain rectangles.
    """
    layout = planned_layout(yard, piece)
    making = plan_by_id(yard, piece.plan_id).making if piece.plan_id is not None else None
    if layout is None or making is None or layout.method is not Method.ROUTER:
        raise Refused(f"{piece.tag} is not routed: what a saw leaves over are rectangles")
    form = material(yard, piece.material_id).form
    problem = Problem(
        stock=(), parts=(), kerf=apart(making, Method.ROUTER), worth=keep_rule(yard.settings, form),
        method=Method.ROUTER,
    )  # fmt: skip
    stock = Stock(id=piece.tag, kind=Kind.OFFCUT, material="", length=piece.length, width=piece.width,
                  flaws=piece.flaws)  # fmt: skip
    found = frames(problem, stock, [part.box for part in layout.placed])
    if not any(f.holes for f in found):
        raise Refused(f"{piece.tag} leaves no L and no frame over: its leftovers are as planned")
    if any(len(f.holes) > MOST for f in found):
        raise Refused(f"{piece.tag} leaves a frame with more than {MOST} holes over: cut it up")
    return [_offcut(layout, f) for f in found]


def in_one_piece(yard: Yard, piece: Piece) -> tuple[GivenOffcut, ...]:
    """Return what `kept_whole` does, nothing where that is not to be had."""
    try:
        return tuple(kept_whole(yard, piece))
    except Refused:
        return ()


def _offcut(layout: StoredLayout, f: Frame) -> GivenOffcut:
    x, y, dx, dy = f.box
    inside = [
        o for o in layout.leftovers
        if x <= o.x and y <= o.y and o.x + o.length <= x + dx and o.y + o.width <= y + dy
    ]  # fmt: skip
    largest = max(inside, key=lambda o: o.length * o.width, default=None)
    tag = largest.tag if largest else None
    return GivenOffcut(length=Length(dx), width=Length(dy), tag=tag, at=(x, y), holes=f.holes)
