"""Problem files read and plans written as JSON, exactly as the contract in DEVELOPERS.md gives them."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import reduce
from typing import Any, NoReturn, TypeVar

from stockyard.effort import Effort
from stockyard.errors import BadInput
from stockyard.measure import LONGEST, TICKS_PER, Length, Unit, read_number, read_ticks, show
from stockyard.planning.batches import refuse_unserved
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

LARGEST_FILE = 20_000_000
MOST_STOCK_ROWS = 50_000
MOST_FLAWS = 200
MOST_PARTS = 100_000
"""Pieces of all parts together."""
_MOST = 1_000_000_000
_PLACES = 30

_C = TypeVar("_C", Unit, Kind, Grain, Method, Run)


def read_problem(data: bytes | str) -> tuple[Problem, tuple[str, ...]]:
    """Return the problem in a file's content, and a note for each key that is not known.

    Raises:
        BadInput: not JSON, or a field that cannot be used; the text names the field and its value.
    """
    top = _Row("", _parse(data), {})
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
        raise BadInput(f"kerf: the bit, {wide}, is wider than parts[{narrow}] '{_shown(parts[narrow].id)}'")
    refuse_unequal(problem)
    refuse_unserved(problem)
    return problem, tuple(top.notes)


def _parse(data: bytes | str) -> Any:
    if len(data) > LARGEST_FILE:
        raise BadInput(f"the file is larger than {LARGEST_FILE // 1_000_000} MB: is it a problem file?")
    try:
        text = data.decode("utf-8-sig") if isinstance(data, bytes) else data
    except UnicodeDecodeError as e:
        raise BadInput(f"the file is not text: byte {e.start} is not UTF-8") from None
    try:
        return json.loads(
            text,
            parse_float=_decimal,
            parse_int=_decimal,
            parse_constant=str,
            object_pairs_hook=_once,
        )
    except json.JSONDecodeError as e:
        raise BadInput(f"the file is not JSON: line {e.lineno}, column {e.colno}: {e.msg}") from None
    except RecursionError:
        raise BadInput("the file is not a problem: its brackets are nested too deeply") from None


def _decimal(text: str) -> Decimal | str:
    """Return a number exactly, or as text when it is beyond all use: its field then refuses it."""
    if len(text) > 4 * _PLACES:
        return text
    try:
        value = Decimal(text)
    except InvalidOperation:
        return text
    return value if not value or -_PLACES < value.adjusted() < _PLACES else text


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    row = dict(pairs)
    if len(row) < len(pairs):
        keys = [k for k, _ in pairs]
        twice = next(k for k in keys if keys.count(k) > 1)
        raise BadInput(f"the key '{_shown(twice)}' stands twice in one object")
    return row


def _shown(value: Any) -> str:
    """Return a value as a person wrote it, short and on one line."""
    text = value if isinstance(value, str) else _words(value)
    text = "".join(c if c.isprintable() else "?" for c in text[:60])
    return text[:40] + "..." if len(text) > 40 else text


def _words(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{...}" if value else "{}"
    if isinstance(value, list):
        return "[...]" if value else "[]"
    return {None: "null", True: "true", False: "false"}.get(value, "") if _is_word(value) else f"{value}"


def _is_word(value: Any) -> bool:
    return value is None or isinstance(value, bool)


@dataclass
class _Row:
    """One JSON object: takes its fields out by name, each error naming the path and the value."""

    path: str
    data: Any
    notes: dict[str, None]
    unit: Unit = Unit.MM
    _taken: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        if not isinstance(self.data, dict):
            raise BadInput(f"{self.path or 'the file'}: '{_shown(self.data)}' must be an object in braces")

    def fail(self, key: str, words: str) -> NoReturn:
        value = self.data.get(key)
        raise BadInput(f"{self._at(key)}: '{_shown(value)}' {words}")

    def _at(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else key

    def get(self, key: str) -> Any:
        self._taken.add(key)
        return self.data.get(key)

    def need(self, key: str) -> Any:
        if key not in self.data:
            raise BadInput(f"{self._at(key)}: missing")
        return self.get(key)

    def end(self) -> None:
        """Note the keys nobody asked for."""
        for key in self.data:
            if key not in self._taken:
                where = self.path.split("[")[0]
                self.notes[f"{where + ': ' if where else ''}'{_shown(key)}' is not known and ignored"] = None

    def row(self, key: str) -> _Row | None:
        value = self.get(key)
        return None if value is None else _Row(self._at(key), value, self.notes, self.unit)

    def rows(self, key: str, most: int) -> Iterator[_Row]:
        value = self.need(key)
        if not isinstance(value, list):
            self.fail(key, "must be a list")
        if len(value) > most:
            raise BadInput(f"{self._at(key)}: {len(value)} rows, at most {most}")
        for i, item in enumerate(value):
            yield _Row(f"{self._at(key)}[{i}]", item, self.notes, self.unit)

    def text(self, key: str) -> str:
        value = self.need(key)
        if isinstance(value, Decimal) and value == value.to_integral_value():
            value = f"{value:f}"
        if not isinstance(value, str) or not value.strip():
            self.fail(key, "must be a word")
        if len(value) > 200 or not value.isprintable():
            self.fail(key, "must be one line of at most 200 characters")
        return value.strip()

    def choice(self, key: str, kind: type[_C], default: _C | None) -> _C:
        value = self.get(key)
        if value is None and default is not None:
            return default
        if value is None:
            self.need(key)
        if not isinstance(value, str) or value not in [str(k) for k in kind]:
            self.fail(key, "must be " + " or ".join(kind))
        return kind(value)

    def flag(self, key: str) -> bool:
        value = self.get(key)
        if value is not None and not isinstance(value, bool):
            self.fail(key, "must be true or false")
        return bool(value)

    def whole(self, key: str, default: int, least: int, most: int = _MOST) -> int:
        value = self.get(key)
        if value is None:
            return default
        if isinstance(value, str) and value.strip().isdecimal() and value.isascii() and len(value) < _PLACES:
            value = Decimal(value.strip())
        if not isinstance(value, Decimal) or value != value.to_integral_value():
            self.fail(key, "must be a whole number")
        self._within(key, Fraction(value), least, most)
        return int(value)

    def length(self, key: str, default: int | None, *, least: int = 1) -> int:
        """Return a length in ticks; `default` None means the field must be there."""
        value = self.need(key) if default is None else self.get(key)
        if value is None and default is not None:
            return default
        if isinstance(value, Decimal):
            exact = Fraction(value) * TICKS_PER[self.unit]
        elif isinstance(value, str):
            exact = self._read(key, value)
        else:
            self.fail(key, "must be a length")
        ticks = round(exact)
        if exact < 0 or ticks < least:
            self.fail(key, "must be 0 or more" if least == 0 else "must be more than 0")
        if ticks > LONGEST:
            self.fail(key, "is longer than 100 m: is the unit right?")
        return ticks

    def _read(self, key: str, value: str) -> Fraction:
        text = value.strip()
        try:
            return -read_ticks(text[1:], self.unit) if text.startswith("-") else read_ticks(text, self.unit)
        except BadInput as e:
            if text.startswith("-"):
                self.fail(key, "is not a length")
            raise BadInput(f"{self._at(key)}: {_one_line(e)}") from None

    def amount(self, key: str, *, most: int = _MOST) -> Fraction | None:
        """Return a plain number, 0 or more, exactly; None when it is not given."""
        value = self.get(key)
        if value is None:
            return None
        if isinstance(value, str):
            try:
                return read_number(value)
            except BadInput as e:
                raise BadInput(f"{self._at(key)}: {_one_line(e)}") from None
        if not isinstance(value, Decimal):
            self.fail(key, "must be a number")
        self._within(key, Fraction(value), 0, most)
        return Fraction(value)

    def _within(self, key: str, value: Fraction, least: int, most: int) -> None:
        if value < least:
            self.fail(key, f"must be {least} or more" if least != 1 else "must be more than 0")
        if value > most:
            self.fail(key, f"must be at most {most}")


def _worth(row: _Row | None) -> Worth:
    usual = Worth()
    if row is None:
        return usual
    area = row.amount("area", most=10**12)
    ticks = usual.keep_area if area is None else round(area * TICKS_PER[row.unit] ** 2)
    worth = Worth(keep_short_side=row.length("short_side", usual.keep_short_side, least=0), keep_area=ticks)
    row.end()
    return worth


def _effort(row: _Row | None) -> Effort:
    if row is None:
        return Effort()
    usual, side = Effort(), TICKS_PER[row.unit] ** 2
    given = {f.name: row.amount(f.name, most=10**12) for f in fields(Effort)}
    row.end()
    # A length of path costs an area, so that its price is a length.
    sides = {"path": TICKS_PER[row.unit]}
    found = {n: round(area * sides.get(n, side)) for n, area in given.items() if area is not None}
    return replace(usual, **found)


def _trim(row: _Row, usual: Trim) -> Trim:
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


def _stock(row: _Row, trim: Trim) -> Stock:
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
            raise BadInput(f"{row.path}.flaws[{i}]: it reaches out of the piece '{_shown(stock.id)}'")
    row.end()
    return stock


def _flaws(row: _Row) -> tuple[Flaw, ...]:
    """Return the rectangles of a stock row that no part may touch."""
    if row.get("flaws") is None:
        return ()
    found = []
    for own in row.rows("flaws", MOST_FLAWS):
        x, y = (own.length(key, None, least=0) for key in ("x", "y"))
        found.append(Flaw(x, y, own.length("dx", None), own.length("dy", None)))
        own.end()
    return tuple(found)


def _part(row: _Row, overs: Mapping[str, Over], stock: Sequence[Stock]) -> Part:
    part = Part(
        id=row.text("id"),
        length=row.length("length", None),
        width=row.length("width", None),
        count=row.whole("count", 1, 1),
        thickness=row.length("thickness", 0) or None,
        materials=_materials(row),
        grain=row.choice("grain", Grain, Grain.ALONG),
        priority=row.whole("priority", 0, -_MOST),
        batch="" if row.get("batch") is None else row.text("batch"),
        final_thickness=row.length("final_thickness", 0) or None,
    )
    part = _sawn(row, part, overs, stock)
    row.end()
    return part


def _overs(row: _Row | None) -> dict[str, Over]:
    """Return the allowance of each material that has one."""
    if row is None:
        return {}
    found = {name: _over(own) for name in row.data if (own := row.row(name)) is not None}
    row.end()
    return found


def _over(row: _Row) -> Over:
    """Return one allowance, or what those of several machines come to together."""
    if by := {name: _over(own) for name in MACHINES if (own := row.row(name)) is not None}:
        row.end()
        return replace(Over.of(by), by=())
    length, width, face = (Length(row.length(key, 0, least=0)) for key in ("length", "width", "face"))
    row.end()
    return Over(length, width, face)


def _sawn(row: _Row, part: Part, overs: Mapping[str, Over], stock: Sequence[Stock]) -> Part:
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
        raise BadInput(f"{row.path}.over: {why} ('{_shown(part.id)}')")
    length, width = over.sawn(part.length, part.width)
    thick = [t for s in rows if (t := s.measured or s.thickness)]
    planed = part.final_thickness if over.face else None
    if over.face and thick:
        if why := too_thin(over, max(thick) if planed else min(thick), planed, row.unit):
            raise BadInput(f"{row.path}.final_thickness: {why} ('{_shown(part.id)}')")
        planed = planed or over.planed(min(thick))
    least = None if planed is None else planed + 2 * over.face
    return replace(part, length=length, width=width, over=over, final_thickness=planed, least_thickness=least)


def _own(row: _Row) -> Over | None:
    own = row.row("over")
    return None if own is None else _over(own)


def _group(row: _Row) -> Group:
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


def _materials(row: _Row) -> tuple[str, ...] | None:
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
            raise BadInput(f"{where}[{i}].id: '{_shown(ident)}' is already used by {where}[{first[ident]}]")
        first[ident] = i


def _one_line(error: BadInput) -> str:
    """Return what is wrong with a value in one line, though the value has several."""
    return " ".join(str(error).split())
