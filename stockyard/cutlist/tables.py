"""Headed tables: tabs, bars, semicolons, commas or columns of spaces; what their headers say."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from stockyard.cutlist.figures import Fix, Unclear
from stockyard.cutlist.marks import MARKS
from stockyard.cutlist.notes import finished_column
from stockyard.cutlist.spoken import is_spoken
from stockyard.cutlist.words import ROLES
from stockyard.measure import Unit

SPACES = "  "
MOST_COLUMNS = 60
DELIMITERS = ("\t", "|", ";", ",", SPACES)
# A figure that no title of a column has ("Edge 1" may be one).
_SIZED = re.compile(r"\d\d|\d[/.,]\d|\d\s*[x×*]")
_WIDE_GAP = re.compile(r"\t| {2,}")
_WORD = re.compile(r"[^\W\d_]+|#|\"")
_SIZE_ROLES = frozenset(("size", "sizes", "dimension", "dimensions", "dims", "maße", "masse", "abmessung"))
_UNITS = {
    "mm": Unit.MM,
    "in": Unit.INCH,
    "inch": Unit.INCH,
    "inches": Unit.INCH,
    '"': Unit.INCH,
    "zoll": Unit.INCH,
}


class Cell(NamedTuple):
    """A cell's text without its quotes, where it starts in the line and where it ends."""

    text: str
    start: int
    end: int


class Head(NamedTuple):
    """A column: its role ("" for an extra one), its title, the unit it says."""

    role: str
    title: str
    unit: Unit | None


@dataclass(frozen=True, slots=True)
class Table:
    """A table being read. `finished` is said by its headers; `bordered` has bars at both ends of a row."""

    delimiter: str
    heads: tuple[Head, ...]
    finished: bool | None = None
    bordered: bool = False

    @property
    def unit(self) -> Unit | None:
        """The unit of all its sizes, when its headers agree on one."""
        units = {h.unit for h in self.heads if h.unit}
        return next(iter(units)) if len(units) == 1 else None

    @property
    def told(self) -> str:
        """What is worth saying of its columns: those that are kept as notes or only number the rows."""
        numbers = [h.title for h in self.heads if h.role == "number" and self.has("name")]
        notes = [h.title for h in self.heads if not h.role and h.title]
        bits = [f"{', '.join(numbers)} only numbers the rows"] if numbers else []
        bits += [f"{', '.join(notes)} is kept as a note"] if notes else []
        return "table header" + (f": {'; '.join(bits)}" if bits else "")

    def has(self, role: str) -> bool:
        """Whether a column has this role."""
        return any(h.role == role for h in self.heads)


def split_cells(line: str, delimiter: str, *, bordered: bool | None = None) -> list[Cell]:
    """Split a line into cells; a cell in double quotes may hold the delimiter (RFC 4180)."""
    if delimiter == SPACES:
        gaps = [(m.start(), m.end()) for m in _WIDE_GAP.finditer(line.strip())]
        offset = len(line) - len(line.lstrip())
        bounds = [0, *(n for gap in gaps for n in gap), len(line.strip())]
        return [_cell(line, offset + a, offset + b) for a, b in zip(bounds[::2], bounds[1::2], strict=True)]
    cells: list[Cell] = []
    at, end = 0, len(line)
    if delimiter == "|" and bordered is not False:
        at = line.find("|") + 1 if line.lstrip().startswith("|") else 0
        end = len(line.rstrip()) - 1 if line.rstrip().endswith("|") and len(line.rstrip()) > at else end
    closed = '"' in line
    while at <= end:
        stop = -1
        if closed and line[at:end].lstrip(" ").startswith('"'):
            stop, closed = _closing(line, at, end, delimiter)
        if stop < 0:
            stop = line.find(delimiter, at, end)
            stop = end if stop < 0 else stop
        cells.append(_cell(line, at, stop))
        at = stop + 1
    return cells


def _closing(line: str, at: int, end: int, delimiter: str) -> tuple[int, bool]:
    """Return where the quoted cell at `at` ends (-1: its quote never closes, and none after it will)."""
    i = line.index('"', at) + 1
    if line[i:end].lstrip(" ").startswith(delimiter):
        # a lone mark: "as above", not the start of a quoted cell
        return line.index(delimiter, i, end), True
    while (i := line.find('"', i, end)) >= 0:
        if line.startswith('""', i) and i + 2 <= end:
            rest = line[i + 2 : end].lstrip(" ")
            # `""` then the end of the cell is an inch mark beside its quote only when it is tripled
            if not (rest == "" or rest.startswith(delimiter)) or line.startswith('"""', i):
                i += 2
                continue
            i += 1
        stop = i + 1
        while stop < end and line[stop] == " ":
            stop += 1
        if stop >= end or line[stop] == delimiter:
            return stop, True
        i += 1
    return -1, False


def _cell(line: str, start: int, end: int) -> Cell:
    raw = line[start:end]
    text = raw.strip()
    start += len(raw) - len(raw.lstrip())
    if text == '""':
        return Cell("", start, start)
    if len(text) > 2 and text[0] == text[-1] == '"':
        inner = text[1:-1].replace('""', '"')
        return Cell(inner.strip(), start, start + len(text))
    return Cell(text, start, start + len(text))


def head_of(cell: Cell) -> Head:
    """Return what the title of a column says it holds."""
    words = [w.casefold() for w in _WORD.findall(cell.text)]
    unit = next((_UNITS[w] for w in words if w in _UNITS), None)
    words = [w for w in words if w not in _UNITS] or words
    if "rip" in words:
        return Head("rip", cell.text, unit)
    roles = [("size" if w in _SIZE_ROLES else ROLES.get(w, "")) for w in words]
    if len(words) > 1:
        # "finished length", "no. of pieces", "edge band": the telling word decides, not the small one
        order = (
            "note",
            "set",
            "batch",
            "rough",
            "length",
            "width",
            "thickness",
            "grain",
            "edges",
            "count",
            "size",
            "material",
            "nominal",
        )
        strong = [r for w, r in zip(words, roles, strict=True) if len(w) > 2 and r]
        best = sorted(strong, key=lambda r: order.index(r) if r in order else 99)
        return Head(best[0] if best else "", cell.text, unit)
    return Head(roles[0] if roles else "", cell.text, unit)


def find_table(line: str) -> Table | None:
    """Return the table a header line starts, None when the line is no header.

    Raises:
        Unclear: two columns of the same kind, or a "No" that may be a count or a position.
    """
    for delimiter in DELIMITERS:
        if delimiter not in line:
            continue
        cells = split_cells(line, delimiter)
        while cells and not cells[-1].text:
            cells.pop()
        if len(cells) < 2 or any(_is_value(c.text) for c in cells):
            continue
        heads = [head_of(c) for c in cells]
        _no_upright(cells, heads, line)
        sized = {"length", "width", "size"} & {h.role for h in heads}
        known = sum(1 for h in heads if h.role)
        filled = sum(1 for c in cells if c.text)
        if sized and known >= 2 and known * 2 >= filled:
            return _settled(delimiter, cells, heads, line)
    return None


def _no_upright(cells: Sequence[Cell], heads: Sequence[Head], line: str) -> None:
    """Ask which of two columns such as H and W lies along the grain, when none is the length."""
    upright = [c for c in cells if MARKS.get(c.text.casefold().partition("(")[0].strip(" .:"), "T") in "HWD"]
    if len(upright) != 2 or {"length", "size", "nominal"} & {h.role for h in heads}:
        return
    if not any(h.role in ("name", "number", "count", "thickness", "material") for h in heads):
        return
    a, b = upright
    between = line[a.end : b.start]
    fixes = []
    for along, roles in ((a, ("Length", "Width")), (b, ("Width", "Length"))):
        (first, second) = (role + _unit_of(c.text) for role, c in zip(roles, upright, strict=True))
        text = f"{first}{between}{second}"
        fixes.append(Fix(f"{along.text} lies along the grain", a.start, b.end, text))
    raise Unclear(f"columns {a.text} and {b.text}: which lies along the grain?", a.start, tuple(fixes))


def _unit_of(title: str) -> str:
    _, bracket, unit = title.partition("(")
    return f" ({unit}" if bracket else ""


def _is_value(text: str) -> bool:
    return text[:1].isdigit() or text[:1] in (".", ",") or bool(_SIZED.search(text) or is_spoken(text))


def _settled(delimiter: str, cells: list[Cell], heads: list[Head], line: str) -> Table:
    """Settle columns that claim one role: the last name column is the name, two lengths are asked."""
    roles = [h.role for h in heads]
    lone_no = [i for i, c in enumerate(cells) if c.text.casefold().strip(" .:") in ("no", "nr")]
    if lone_no and roles.count("count") > 1:
        heads = [h._replace(role="number") if i in lone_no else h for i, h in enumerate(heads)]
    elif lone_no and heads[lone_no[0]].role == "count":
        c = cells[lone_no[0]]
        fixes = (Fix("how many", c.start, c.end, "Qty"), Fix("only a line number", c.start, c.end, "Pos"))
        raise Unclear(f"column '{c.text}': how many, or a line number?", c.start, fixes)
    for role in ("count", "length", "width", "thickness"):
        same = [i for i, h in enumerate(heads) if h.role == role]
        if len(same) > 1:
            raise Unclear(f"two columns say {role}: rename one of them", cells[same[1]].start)
    taken: set[str] = set()
    for i, h in enumerate(heads):
        if h.role in taken and h.role not in ("number", "note"):
            heads[i] = h._replace(role="")
        taken.add(h.role)
    said = [finished_column(h.title) for h in heads if h.role in ("length", "width", "size")]
    finished = finished_column(line) if any(s is not None for s in said) else None
    return Table(delimiter, tuple(heads), finished, delimiter == "|" and line.lstrip().startswith("|"))
