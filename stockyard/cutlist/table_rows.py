"""Rows under a header: each cell read by its column, one draft a row."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from stockyard.cutlist import materials
from stockyard.cutlist.account import Claims
from stockyard.cutlist.asides import NOTE_MARK, Said
from stockyard.cutlist.banding import Banding, find
from stockyard.cutlist.batching import batch_cell
from stockyard.cutlist.draft import Draft, Heading, Order, Shop
from stockyard.cutlist.figures import Figure, Fix, Unclear, figure, pointed_thousand, whole_count
from stockyard.cutlist.matching import in_cell
from stockyard.cutlist.model import Use
from stockyard.cutlist.notes import grain_word
from stockyard.cutlist.roughing import rough_cell
from stockyard.cutlist.sizes import Face, face, find_size
from stockyard.cutlist.spoken import is_spoken
from stockyard.cutlist.tables import SPACES, Cell, Head, Table, head_of
from stockyard.cutlist.tokens import Place, Token, has_figure, scan
from stockyard.cutlist.words import COUNT_WORDS, DITTO_WORDS, NUMBER_WORDS, TOTAL_WORDS
from stockyard.measure import Unit
from stockyard.rough import AS_IS

_MONTH = r"(?:jan|feb|mar|mär|apr|may|mai|jun|jul|aug|sep|okt|oct|nov|dec|dez)[a-z]{0,6}"
_DATE = re.compile(
    rf"\d{{1,2}}[-./ ]{_MONTH}(?:[-./ ]\d{{2,4}})?$|{_MONTH}[-./ ]\d{{1,2}}$"
    r"|\d{4}-\d{2}-\d{2}|\d{1,2}[./]\d{1,2}[./]\d{2,4}$",
    re.IGNORECASE,
)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_OTHER_MONTHS = {"mär": 3, "mai": 5, "okt": 10, "dez": 12}


class Cells:
    """One row by role, so that reading a row is asking it for its columns."""

    def __init__(self, table: Table, cells: list[Cell]) -> None:
        self.table, self.all = table, cells
        self.by: dict[str, tuple[Cell, Head]] = {}
        self.extra: list[tuple[Cell, str]] = []
        for i, cell in enumerate(cells):
            head = table.heads[i] if i < len(table.heads) else Head("", "", None)
            if head.role and head.role not in ("note",) and head.role not in self.by:
                self.by[head.role] = (cell, head)
            elif cell.text and not (head.role == "" and cell.text == "-"):
                plain_note = head.role == "note" or not head.title
                self.extra.append((cell, "" if plain_note else f"{head.title}: "))

    def text(self, role: str) -> str:
        """Return the text under a role, "" when there is none."""
        found = self.by.get(role)
        return found[0].text if found else ""

    def start(self, role: str) -> int:
        """Return where the cell of a role starts; the end of the row when it has none."""
        found = self.by.get(role)
        return found[0].start if found else (self.all[-1].end if self.all else 0)

    def figure(self, role: str) -> Figure | None:
        """Return the figure under a role, None when the cell is empty. Raises `Unclear`."""
        found = self.by.get(role)
        if not found or found[0].text in ("", "-"):
            return None
        cell, head = found
        return _placed(cell, lambda text, at: _one_figure(text, at, head.unit))


def _placed(cell: Cell, read: Callable[[str, int], Figure]) -> Figure:
    """Read a cell's figure; a fix always replaces the whole cell."""
    if _DATE.match(cell.text):
        raise _date_doubt(cell)
    try:
        return read(cell.text, cell.start)
    except Unclear as doubt:
        fixes = tuple(Fix(f.says, cell.start, cell.end, f.text.strip()) for f in doubt.fixes)
        raise Unclear(doubt.message, cell.start, fixes) from None


def _one_figure(text: str, at: int, unit: Unit | None) -> Figure:
    tokens = scan(text, at)
    if len(tokens) != 1 or tokens[0].kind != "fig":
        raise Unclear(f"'{text[:40]}' is not a length", at)
    return figure(tokens[0].text, at, unit)


def _date_doubt(cell: Cell) -> Unclear:
    """A spreadsheet has turned a fraction into a date: offer the fractions it may have been."""
    numbers = [int(n) for n in re.findall(r"\d+", cell.text)]
    if re.match(r"\d{4}-\d{2}-\d{2}", cell.text):
        pair = numbers[1:3]
    else:
        name = re.search(r"[^\W\d_]{3}", cell.text)
        month = name.group().casefold() if name else ""
        number = _MONTHS.index(month) + 1 if month in _MONTHS else _OTHER_MONTHS.get(month, 0)
        pair = [number, numbers[0]] if number else numbers[:2]
    texts = {f"{min(pair)}/{max(pair)}"} if len(pair) == 2 and min(pair) > 0 and pair[0] != pair[1] else set()
    fixes = tuple(Fix(t, cell.start, cell.end, t) for t in sorted(texts))
    return Unclear(
        f"'{cell.text}' looks like a date: a spreadsheet does that to fractions", cell.start, fixes
    )


def check_width(line: str, cells: Sequence[Cell], table: Table) -> None:
    """Ask when the first row has more or fewer columns than the header: one of them may have shifted.

    Raises:
        Unclear: so it is.
    """
    wide, wanted = len(cells), len(table.heads)
    says = f"{wide} columns where the header has {wanted}"
    if any(c.text for c in cells[wanted:]):
        raise Unclear(says, cells[0].start)
    if wide < wanted and table.delimiter != SPACES:
        fix = Fix("the last ones are empty", len(line), len(line), table.delimiter * (wanted - wide))
        raise Unclear(says, cells[0].start, (fix,))


def is_header(row: Cells) -> bool:
    """Whether a row looks like a header that is not understood: words for columns, or no figure at all."""
    if row.text("length")[:1].isdigit() or row.text("size")[:1].isdigit():
        return False
    filled = [c.text for c in row.all if c.text]
    roles = sum(1 for c in row.all if len(c.text) < 40 and head_of(c).role)
    said = any(has_figure(text) or is_spoken(text) for text in filled)
    return roles > 2 or (len(filled) > 1 and not said)


def is_total(row: Cells) -> bool:
    """Whether a table row gives a total instead of a part."""
    return any(c.text.casefold().rstrip(":") in TOTAL_WORDS for c in row.all[:3])


def is_title(row: Cells) -> bool:
    """Whether a table row is a title: words in its first filled cell, nothing in any other."""
    filled = [c for c in row.all if c.text]
    return len(filled) == 1 and not has_figure(filled[0].text)


def count_cell(row: Cells) -> int | None:
    """Return the count of a row, None when the table has no such column.

    Raises:
        Unclear: an empty cell, or one that is no count.
    """
    if not row.table.has("count"):
        return None
    text, at = row.text("count"), row.start("count")
    m = re.match(r"(?:x\s?)?(\d{1,12})(?:[.,]0{1,2})?\s*([^\W\d_]*)\.?$", text, re.IGNORECASE)
    if m and (not m[2] or m[2].casefold() in COUNT_WORDS):
        return whole_count(m[1], at)
    if text.casefold() in NUMBER_WORDS:
        return NUMBER_WORDS[text.casefold()]
    scan(text, at)
    raise Unclear(f"'{text[:30]}' is not a count" if text else "no count in this row", at)


_REPEATED = ("name", "material", "grain", "edges", "set", "batch", "rough")


def read_row(
    row: Cells, place: Place, heading: Heading, shop: Shop, above: Mapping[str, str], *, commas: bool
) -> Draft:
    """Return what a row says. `above` holds the row before it for ditto marks; `commas`: decimal commas.

    Raises:
        Unclear: a cell with more than one reading, or one missing.
    """
    words = {role: _same(row, role, above) for role in _REPEATED}
    named = materials.from_cell(words["material"], row.start("material"), shop)
    if commas:
        for role in ("length", "width", "thickness"):
            _placed_check(row, role)
    part = _face(row, shop, heading, named.thickness)
    nominal_cell = row.text("nominal").replace(" ", "") or None
    own = row.figure("thickness")
    said = _beside(row, shop, material=bool(named.words or heading.material), bands=bool(words["edges"]))
    name = words["name"] or row.text("number")
    _claim(row, said, number_used=not words["name"])
    return Draft(
        name=name,
        count=count_cell(row),
        first=part.first,
        second=part.second,
        order=part.order,
        marks=part.marks,
        thickness=own or part.thickness,
        named=named.thickness or own or heading.thickness,
        nominal=part.nominal or nominal_cell,
        rip_from=row.text("rip") or said.rip,
        material=named.words or heading.material,
        grain=grain_word(words["grain"]) or said.grain or heading.grain,
        bands=words["edges"] or ", ".join(said.bands) or heading.bands,
        band=said.band,
        match=in_cell(words["set"]) or said.match or heading.match,
        batch=batch_cell(words["batch"]) or said.batch or heading.batch,
        rough=rough_cell(words["rough"]) or said.rough or _of_sizes(row) or heading.rough,
        finished=said.finished if row.table.finished is None else row.table.finished,
        note="; ".join(said.notes),
        unread=tuple(said.unread),
        spans=said.claims.spans(),
        heading=heading,
        line=place.number,
        column=place.column(row.all[0].start if row.all else 0),
        text=place.raw,
    )


def _beside(row: Cells, shop: Shop, *, material: bool, bands: bool) -> Said:
    """Read the cells of columns for notes and of columns nobody knows.

    Raises:
        Unclear: a note names a material or bands where no column does.
    """
    said = Said(shop, Claims())
    for cell, title in row.extra:
        text = cell.text.lstrip(NOTE_MARK).strip()
        if text == cell.text and not said.remark(title + text, Token("word", text, cell.start, cell.end)):
            tokens = scan(text, cell.start)
            found = Banding() if bands else find(tokens, range(len(tokens)), 0, 0)
            if found.said and len(found.used) == len(tokens):
                said.bands.append(found.said)
                said.band = f"{said.band} {found.own}".strip()
                said.claims.take(cell.start, cell.end, Use.BANDS)
                said.notes.append(title + text)
                continue
            words = "" if material else materials.words_in(text, shop)
            if words or found.said:
                fix = Fix(f"only a note: '{text[:40]}'", cell.start, cell.end, f"{NOTE_MARK} {text}")
                what = words or found.said
                raise Unclear(f"'{text[:40]}': does '{what}' say something of the part?", cell.start, (fix,))
            said.note(title + text, cell.start, cell.end)
        elif text != cell.text:
            said.note(title + text, cell.start, cell.end)
    return said


_USES = {
    "name": Use.NAME, "count": Use.COUNT, "length": Use.SIZE, "width": Use.SIZE, "size": Use.SIZE,
    "thickness": Use.THICKNESS, "material": Use.MATERIAL, "grain": Use.GRAIN, "edges": Use.BANDS,
    "set": Use.SET, "batch": Use.BATCH, "rough": Use.ROUGH, "nominal": Use.LUMBER, "rip": Use.LUMBER,
}  # fmt: skip


def _of_sizes(row: Cells) -> str:
    """Return what the titles of the columns of sizes say: those of "rough length" have nothing to add."""
    titles = [row.by[role][1].title.casefold() for role in ("length", "width", "size") if role in row.by]
    return AS_IS if any("rough" in title for title in titles) else ""


def _claim(row: Cells, said: Said, *, number_used: bool) -> None:
    """Claim the cells of a row by their columns; a line number that names nothing is told at the header."""
    for role, (cell, _) in row.by.items():
        use = _USES.get(role) or (Use.NAME if number_used else Use.REPORTED)
        said.claims.take(cell.start, cell.end, use)


def _same(row: Cells, role: str, above: Mapping[str, str]) -> str:
    text = row.text(role)
    if text.casefold() not in DITTO_WORDS:
        return text
    if not above.get(role):
        raise Unclear(f"'{text}' stands for nothing: no such cell above", row.start(role))
    return above[role]


def _placed_check(row: Cells, role: str) -> None:
    if found := row.by.get(role):
        cell = found[0]
        try:
            pointed_thousand(cell.text, cell.start)
        except Unclear as doubt:
            fixes = tuple(Fix(f.says, cell.start, cell.end, f.text) for f in doubt.fixes)
            raise Unclear(doubt.message, doubt.start, fixes) from None


def _face(row: Cells, shop: Shop, heading: Heading, named: Figure | None) -> Face:
    """Return length and width of a row, and what its size column says besides."""
    if row.text("size"):
        if row.text("length") or row.text("width"):
            raise Unclear("a size and a length or width of its own: which holds?", row.start("size"))
        size = find_size(scan(row.text("size"), row.start("size")))
        if size is None:
            raise Unclear(f"'{row.text('size')[:30]}' is not a size", row.start("size"))
        return face(size, shop, in_context=heading.nominal, thick_said=named is not None)
    length, width = row.figure("length"), row.figure("width")
    if length is None:
        raise Unclear("no length in this row", row.start("length"))
    nominal = row.text("nominal").replace(" ", "") or heading.nominal
    if width is None and not nominal:
        raise Unclear("no width in this row", row.start("width"))
    if width is None and nominal and shop.lumber.actual(nominal) is None:
        raise Unclear(f"no width, and '{nominal[:30]}' is no size of lumber", row.start("nominal"))
    return Face(length, width, Order.SAID, nominal=None if width else nominal)
