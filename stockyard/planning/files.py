"""Problem files read, exactly as the contract in DEVELOPERS.md gives them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from functools import reduce

from stockyard.effort import Effort
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER, Length, Unit, show
from stockyard.planning.batches import refuse_unserved
from stockyard.planning.json_rows import MOST, Row, parse, shown
from stockyard.planning.problem import (
    BATCH_SPREAD,
    MONEY,
    NO_TRIM,
    Flaw,
    Grain,
    Group,
    Kind,
    Method,
    Part,
    Problem,
    Run,
    Stock,
    Trim,
    narrower_than_bit,
    turns,
)
from stockyard.planning.sets import refuse_unequal
from stockyard.planning.worth import Worth
from stockyard.rough import MACHINES, NONE, Over, too_large, too_thin

MOST_STOCK_ROWS = 50_000
MOST_FLAWS = 200
MOST_PARTS = 100_000
"""Pieces of all parts together."""


def read_problem(data: bytes | str) -> tuple[Problem, tuple[str, ...]]:
    """Return the problem in a file's content, and a note for each key that is not known.

    Raises:
        BadInput: not JSON, or a field that cannot be used; the text names the field and its value.
    """
    top = Row("", parse(data), {})
    top.unit = unit = top.choice("unit", Unit, Unit.MM)
    kerf, trim = top.length("kerf", 0, least=0), Trim.all_round(top.length("edge_trim", 0, least=0))
    method, one_pass = top.choice("method", Method, Method.SAW), top.flag("one_pass")
    worth, effort = _worth(top.row("keep")), _effort(top.row("effort"))
    stock = tuple(_stock(row, trim) for row in top.rows("stock", MOST_STOCK_ROWS))
    overs = _overs(top.row("over"))
    parts = tuple(_part(row, overs, stock) for row in top.rows("parts", MOST_PARTS))
    spread = top.length("batch_spread", BATCH_SPREAD, least=0)
    groups = () if top.get("groups") is None else tuple(_group(row) for row in top.rows("groups", MOST_PARTS))
    _unique("stock", [s.id for s in stock])
    _unique("parts", [p.id for p in parts])
    _unique("groups", [g.id for g in groups])
    total = 0
    for i, part in enumerate(parts):
        total += part.count
        if total > MOST_PARTS:
            raise BadInput(f"parts[{i}].count: '{part.count}' makes more than {MOST_PARTS} parts in all")
    top.end()
    problem = Problem(
        stock=stock, parts=parts, unit=unit, kerf=kerf, method=method, worth=worth, effort=effort,
        one_pass=one_pass, groups=groups, batch_spread=spread,
    )  # fmt: skip
    narrow = next((n for n, p in enumerate(parts) if narrower_than_bit(problem, p)), None)
    if narrow is not None:
        wide = show(kerf, unit, mark=True)
        raise BadInput(f"kerf: the bit, {wide}, is wider than parts[{narrow}] '{shown(parts[narrow].id)}'")
    refuse_unequal(problem)
    refuse_unserved(problem)
    return problem, tuple(top.notes)


def _worth(row: Row | None) -> Worth:
    usual = Worth()
    if row is None:
        return usual
    area = row.amount("area", most=10**12)
    ticks = usual.keep_area if area is None else round(area * TICKS_PER[row.unit] ** 2)
    worth = Worth(keep_short_side=row.length("short_side", usual.keep_short_side, least=0), keep_area=ticks)
    row.end()
    return worth


def _effort(row: Row | None) -> Effort:
    if row is None:
        return Effort()
    usual, side = Effort(), TICKS_PER[row.unit] ** 2
    given = {f.name: row.amount(f.name, most=10**12) for f in fields(Effort)}
    row.end()
    # A length of path costs an area, so that its price is a length.
    sides = {"path": TICKS_PER[row.unit]}
    found = {n: round(area * sides.get(n, side)) for n, area in given.items() if area is not None}
    return replace(usual, **found)


def _trim(row: Row, usual: Trim) -> Trim:
    """Return the edge trims of a stock row: one figure, one for the ends and one for the sides, or four."""
    value = row.get("edge_trim")
    if value is None:
        return usual
    if not isinstance(value, dict):
        return Trim.all_round(row.length("edge_trim", 0, least=0))
    own = row.row("edge_trim")
    assert own is not None
    ends, sides = own.length("ends", 0, least=0), own.length("sides", 0, least=0)
    trim = Trim(*(own.length(edge, ends if edge[0] == "x" else sides, least=0) for edge in Trim._fields))
    own.end()
    return trim


def _stock(row: Row, trim: Trim) -> Stock:
    kind = row.choice("kind", Kind, None)
    cost = (row.amount("cost") or 0) * MONEY
    if cost != int(cost):
        row.fail("cost", "has more than 4 places")
    no_end = "count" in row.data and row.get("count") is None
    stock = Stock(
        id=row.text("id"),
        kind=kind,
        material=row.text("material"),
        length=row.length("length", None),
        width=row.length("width", None),
        thickness=row.length("thickness", 0) or None,
        count=None if no_end else row.whole("count", 1, 0),
        cost=int(cost),
        grain=row.flag("grain"),
        dig=row.whole("dig", 0, 0),
        edge_trim=_trim(row, trim if kind is Kind.FULL else NO_TRIM),
        flaws=_flaws(row),
        measured=row.length("measured", 0) or None,
    )
    for i, f in enumerate(stock.flaws):
        if f.x + f.dx > stock.length or f.y + f.dy > stock.width:
            raise BadInput(f"{row.path}.flaws[{i}]: it reaches out of the piece '{shown(stock.id)}'")
    row.end()
    return stock


def _flaws(row: Row) -> tuple[Flaw, ...]:
    """Return the rectangles of a stock row that no part may touch."""
    if row.get("flaws") is None:
        return ()
    found = []
    for own in row.rows("flaws", MOST_FLAWS):
        x, y = (own.length(key, None, least=0) for key in ("x", "y"))
        found.append(Flaw(x, y, own.length("dx", None), own.length("dy", None)))
        own.end()
    return tuple(found)


def _part(row: Row, overs: Mapping[str, Over], stock: Sequence[Stock]) -> Part:
    part = Part(
        id=row.text("id"),
        length=row.length("length", None),
        width=row.length("width", None),
        count=row.whole("count", 1, 1),
        thickness=row.length("thickness", 0) or None,
        materials=_materials(row),
        grain=row.choice("grain", Grain, Grain.ALONG),
        priority=row.whole("priority", 0, -MOST),
        batch="" if row.get("batch") is None else row.text("batch"),
        final_thickness=row.length("final_thickness", 0) or None,
    )
    part = _sawn(row, part, overs, stock)
    row.end()
    return part


def _overs(row: Row | None) -> dict[str, Over]:
    """Return the allowance of each material that has one."""
    if row is None:
        return {}
    found = {name: _over(own) for name in row.data if (own := row.row(name)) is not None}
    row.end()
    return found


def _over(row: Row) -> Over:
    """Return one allowance, or what those of several machines come to together."""
    if by := {name: _over(own) for name in MACHINES if (own := row.row(name)) is not None}:
        row.end()
        return replace(Over.of(by), by=())
    length, width, face = (Length(row.length(key, 0, least=0)) for key in ("length", "width", "face"))
    row.end()
    return Over(length, width, face)


def _sawn(row: Row, part: Part, overs: Mapping[str, Over], stock: Sequence[Stock]) -> Part:
    """Return a part in the size that is sawn for it: its own allowance, else its materials' largest.

    Raises:
        BadInput: the allowance is larger than the part, or no piece thick enough.
    """
    rows = [s for s in stock if turns(part, s)]
    own = [overs.get(name) for name in sorted({s.material for s in rows})]
    over = reduce(Over.most, (o for o in own if o), NONE) if own and all(own) else None
    if "over" in row.data:
        over = None if row.data["over"] is False and row.flag("over") is False else _own(row)
    if over is None:
        return replace(part, final_thickness=None)
    if why := too_large(over, part.length, part.width, row.unit):
        raise BadInput(f"{row.path}.over: {why} ('{shown(part.id)}')")
    length, width = over.sawn(part.length, part.width)
    thick = [t for s in rows if (t := s.measured or s.thickness)]
    planed = part.final_thickness if over.face else None
    if over.face and thick:
        if why := too_thin(over, max(thick) if planed else min(thick), planed, row.unit):
            raise BadInput(f"{row.path}.final_thickness: {why} ('{shown(part.id)}')")
        planed = planed or over.planed(min(thick))
    least = None if planed is None else planed + 2 * over.face
    return replace(part, length=length, width=width, over=over, final_thickness=planed, least_thickness=least)


def _own(row: Row) -> Over | None:
    own = row.row("over")
    return None if own is None else _over(own)


def _group(row: Row) -> Group:
    members = row.need("members")
    if not isinstance(members, list) or not members or not all(isinstance(m, str) for m in members):
        row.fail("members", "must be a list of part ids")
    group = Group(
        id=row.text("id"),
        run=row.choice("run", Run, None),
        members=tuple(m.strip() for m in members),
        count=row.whole("count", 1, 1),
    )
    row.end()
    return group


def _materials(row: Row) -> tuple[str, ...] | None:
    value = row.get("material")
    if value is None:
        return None
    names = value if isinstance(value, list) else [value]
    if not names or not all(isinstance(n, str) and n.strip() for n in names):
        row.fail("material", "must be null, a name or a list of names")
    return tuple(dict.fromkeys(n.strip() for n in names))


def _unique(where: str, ids: list[str]) -> None:
    first: dict[str, int] = {}
    for i, ident in enumerate(ids):
        if ident in first:
            raise BadInput(f"{where}[{i}].id: '{shown(ident)}' is already used by {where}[{first[ident]}]")
        first[ident] = i
