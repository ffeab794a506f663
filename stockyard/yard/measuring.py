"""Measuring a piece again: its size, the scrap of what it came from, and the plan that counted on it."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.errors import Refused
from stockyard.figures import typed_size
from stockyard.flaws import Flaw, covered, flaws_in, looked_at, said
from stockyard.kinds import Kind
from stockyard.yard.model import Piece, State
from stockyard.yard.offers import offers
from stockyard.yard.pieces import by_tag, told, written_flaws
from stockyard.yard.plans import break_plan, plan_by_id
from stockyard.yard.store import Yard


def remeasure(
    yard: Yard,
    tag: str,
    length: int,
    width: int,
    thickness: int | None = None,
    *,
    larger: bool = False,
    flaws: Sequence[Flaw] = (),
    instead: bool = False,
) -> Piece:
    """Write down the size and the flaws of a piece as it really is: one deed.

    For an offcut the scrap of the piece it came from takes up the difference, so areas still add up. A full
    piece that has become smaller is one no more (`stays_full`), and a label that names another size is no
    longer its label.
    `flaws` come to those known, or `instead` of them.
    `larger` says that the recorded size was the mistake: a side may then be longer by more than a kerf.
    A plan that counted on a longer side is broken, and one that has a part where a flaw is.

    Raises:
        BadInput: a flaw outside the piece, or nothing of it is clear.
        Refused: the piece is cut or gone, or it would be larger than it was or than what it was cut
            from allows.
    """
    with yard.deed("measure") as deed:
        p = by_tag(yard, tag)
        if p.state in (State.CUT, State.GONE):
            raise Refused(f"{p.tag} cannot be measured: it is {told(yard, p)}")
        thickness = thickness or p.thickness
        known = () if instead else flaws_in(p.flaws, 0, 0, length, width)
        now = looked_at((*known, *flaws), length, width, yard.unit, p.tag)
        if covered(now) < _hollow(p, length, width):
            raise Refused(f"{p.tag} is no whole rectangle: those flaws leave out what was cut from it")
        is_size = (length, width, thickness) != (p.length, p.width, p.thickness)
        news = [typed_size(length, width, yard.unit)] if is_size else []
        news += [f"flaw {said(f, yard.unit)}" for f in now if f not in p.flaws]
        news += [f"no flaw {said(f, yard.unit)}" for f in p.flaws if f not in now]
        if not news:
            raise Refused(f"{p.tag} has that size already" + (" and those flaws" if flaws or instead else ""))
        if not larger:
            _refuse_growth(yard, p, length, width)
        deed.begin(f"measured {p.tag} again: {', '.join(news)}")
        remeasured(yard, p, length, width)
        if thickness != p.thickness:
            yard.write("UPDATE piece SET thickness = ? WHERE tag = ?", (thickness, p.tag))
        if now != p.flaws:
            _note_flaws(yard, p, now)
    return by_tag(yard, p.tag)


def _note_flaws(yard: Yard, p: Piece, flaws: tuple[Flaw, ...]) -> None:
    """Write down flaws within the open deed; a plan with a part on one is broken, a label is not right."""
    yard.write("UPDATE piece SET flaws = ?, labelled = 0 WHERE tag = ?", (written_flaws(flaws), p.tag))
    layouts = plan_by_id(yard, p.plan_id).layouts if p.plan_id is not None else ()
    for part in (part for x in layouts if x.tag == p.tag for part in x.placed):
        if hit := flaws_in(flaws, *part.box):
            where = said(hit[0]._replace(x=part.x + hit[0].x, y=part.y + hit[0].y), yard.unit)
            break_plan(yard, p.plan_id or 0, f"{p.tag} has a flaw where {part.name} lies: {where}")
            return


def _refuse_growth(yard: Yard, p: Piece, length: int, width: int) -> None:
    """Refuse a side longer than recorded by more than a saw and a tape are out: the width of a cut."""
    slack = yard.settings.kerf
    if length > p.length + slack or width > p.width + slack:
        raise Refused(f"{_recorded(yard, p)} and cannot have grown", "grown", {"tag": p.tag})


def refuse_turned(yard: Yard, p: Piece, length: int, width: int) -> None:
    """Refuse the recorded size written the other way round: it would turn the grain."""
    slack = yard.settings.kerf
    turned = abs(length - p.width) <= slack and abs(width - p.length) <= slack
    if turned and abs(p.length - p.width) > slack:
        raise Refused(f"{_recorded(yard, p)}: write its size that way round")


def _recorded(yard: Yard, p: Piece) -> str:
    size = typed_size(p.length, p.width, yard.unit)
    return f"{p.tag} is recorded as {size}, along the grain first,"


def remeasured(yard: Yard, p: Piece, length: int, width: int) -> None:
    """Give a piece its measured size within the open deed, the scrap of its parent taking the difference."""
    if p.parent is not None:
        more = length * width - _hollow(p, length, width) - p.area
        scrap = yard.one("SELECT scrap FROM cutting WHERE tag = ?", (p.parent,))
        if more > scrap:
            raise Refused(f"{p.tag} cannot be that large: {p.parent}, which it was cut from, had less left")
        yard.write("UPDATE cutting SET scrap = scrap - ? WHERE tag = ?", (more, p.parent))
    if p.plan_id is not None and (length < p.length or width < p.width):
        size = typed_size(length, width, yard.unit)
        break_plan(yard, p.plan_id, f"{p.tag} measures only {size}")
    kind = p.kind if stays_full(yard, p, length, width) else Kind.OFFCUT
    labelled = p.labelled and (kind, length, width) == (p.kind, p.length, p.width)
    yard.write(
        "UPDATE piece SET kind = ?, length = ?, width = ?, labelled = ?, flaws = ?, hollow = ? WHERE tag = ?",
        (
            kind, length, width, labelled, written_flaws(flaws_in(p.flaws, 0, 0, length, width)),
            _hollow(p, length, width), p.tag,
        ),
    )  # fmt: skip


def _hollow(p: Piece, length: int, width: int) -> int:
    """Return how much of a piece of that measured size is not there: of its flaws, no more than was."""
    return min(p.hollow, covered(flaws_in(p.flaws, 0, 0, length, width)), length * width - 1)


def stays_full(yard: Yard, p: Piece, length: int, width: int) -> bool:
    """Whether a full piece of that measured size is still as bought: as recorded, or as it is on sale.

    A saw and a tape are out by no more than the width of a cut.
    """
    slack = yard.settings.kerf
    if length >= p.length - slack and width >= p.width - slack:
        return True
    on_sale = ((o.length, o.width) for o in offers(yard, p.material_id))
    return any(abs(length - a) <= slack and abs(width - b) <= slack for a, b in on_sale)
