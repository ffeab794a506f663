"""Drafts become rows once the list's unit, its order of figures and its kind of sizes are settled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stockyard.cutlist.draft import Draft, Order, Shop
from stockyard.cutlist.edges import EdgesUnclear, banded, cut_size, told
from stockyard.cutlist.figures import Figure, thickness_name
from stockyard.cutlist.marks import SAYS
from stockyard.cutlist.model import Grain, Question, Reading, Remark, Row
from stockyard.cutlist.notes import ASK
from stockyard.cutlist.questions import Asked, about_list
from stockyard.cutlist.units import row_unit, with_units
from stockyard.cutlist.words import has_grain, is_board
from stockyard.measure import Unit, show

# A board part at least this many times as long as wide has its length along the grain.
_STICK = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """How the caller wants lists read: see `stockyard.cutlist.read`."""

    unit: Unit
    first: str | None = None
    finished: bool | None = None
    band_thickness: int = 0


@dataclass(frozen=True, slots=True)
class Settled:
    """The rows, what is worth a look, and the lines that turned out to be no part."""

    rows: tuple[Row, ...]
    warnings: tuple[Remark, ...]


def settle(drafts: Sequence[Draft], shop: Shop, ways: Ways, asked: Asked) -> Settled:
    """Turn drafts into rows, asking `asked` what the list leaves open."""
    if not drafts:
        return Settled((), ())
    unit, drafts = with_units(drafts, ways.unit, asked)
    _count(drafts, asked)
    matters = _Matters(drafts, shop)
    finished = _finished(drafts, ways, asked)
    warnings: list[Remark] = []
    faces = _Faces(unit, ways.first, asked, matters)
    faces.ask(drafts)
    rows = [
        _row(d, unit, shop, faces, ways, finished if d.finished is None else d.finished, asked, warnings)
        for d in drafts
    ]
    if faces.sticks:
        lines = ", ".join(str(n) for n in faces.sticks[:12]) + (" ..." if len(faces.sticks) > 12 else "")
        text = f"solid wood: the longer figure is taken as the length, along the grain (line {lines})"
        warnings.append(Remark(faces.sticks[0], text))
    return Settled(tuple(rows), tuple(warnings))


def thick_ticks(figure: Figure, unit: Unit) -> int:
    """Return a thickness in ticks: a bare fraction is always inches."""
    return figure.ticks(Unit.INCH if figure.fraction else unit)


def _count(drafts: Sequence[Draft], asked: Asked) -> None:
    """Ask once when lines give no count."""
    without = [d for d in drafts if d.count is None]
    if without:
        lines = sorted({d.line for d in without})
        many = f"{len(without)} parts have no count" if len(without) > 1 else "this part has no count"
        asked.settle(about_list("count", many, (("one", "one of each"),), lines, without[0].text))


def _finished(drafts: Sequence[Draft], ways: Ways, asked: Asked) -> bool:
    """Settle whether sizes are finished ones; it only matters once banded edges have a thickness."""
    if ways.finished is not None:
        return ways.finished
    unsaid = [d for d in drafts if d.bands.strip(" -") and d.finished is None and d.heading.finished is None]
    if not unsaid or ways.band_thickness == 0:
        return False
    text = "parts with banded edges: are these sizes cut or finished?"
    readings = (("cut", "cut sizes, before banding"), ("finished", "finished sizes, band included"))
    lines = sorted({d.line for d in unsaid})
    return asked.settle(about_list("finished", text, readings, lines, unsaid[0].text)) == "finished"


class _Matters:
    """Whether a draft's material has grain, and whether it is solid wood; by name, remembered."""

    def __init__(self, drafts: Sequence[Draft], shop: Shop) -> None:
        self.materials = shop.materials
        self.words = {m.name: frozenset(m.name.casefold().split()) for m in shop.materials}
        self.mentioned = any(d.grain for d in drafts)
        self.seen: dict[str, tuple[bool, bool]] = {}

    def of(self, draft: Draft) -> tuple[bool, bool]:
        """Return (has grain, is solid wood) for a draft's material."""
        if draft.nominal:
            return True, True
        if draft.material not in self.seen:
            self.seen[draft.material] = self._judge(draft.material)
        return self.seen[draft.material]

    def _judge(self, material: str) -> tuple[bool, bool]:
        if not material:
            return self.mentioned or any(m.grain for m in self.materials), False
        wanted = frozenset(material.casefold().split())
        known = [m for m in self.materials if wanted <= self.words[m.name] or self.words[m.name] <= wanted]
        if known:
            return any(m.grain for m in known), all(m.board for m in known)
        return has_grain(material), is_board(material)


class _Faces:
    """Which face figure of each draft is the length."""

    def __init__(self, unit: Unit, first: str | None, asked: Asked, matters: _Matters) -> None:
        self.unit, self.asked, self.matters = unit, asked, matters
        self.first, self.after_thickness = first or "along", "last"
        self.fixed = first is not None
        self.sticks: list[int] = []
        self.marked: dict[str, str] = {}

    def ask(self, drafts: Sequence[Draft]) -> None:
        """Ask once a list which figure lies along the grain, where that matters and nothing says it."""
        doubtful = [d for d in drafts if d.order is not Order.SAID and self._in_doubt(d)]
        plain = [d for d in doubtful if d.order is Order.UNSAID]
        if plain and not self.fixed:
            text = "no header says which figure is the length: is the first one along the grain?"
            readings = (
                ("along", "yes, the first figure is along the grain"),
                ("across", "no, it is across the grain"),
            )
            self.first = self.asked.settle(about_list("first", text, readings, _lines(plain), plain[0].text))
        thick_first = [d for d in doubtful if d.order is Order.AFTER_THICKNESS]
        if thick_first:
            text = "thickness comes first: which of the other two figures is along the grain?"
            readings = (("last", "the last (thickness x width x length)"), ("middle", "the middle one"))
            question = about_list("three", text, readings, _lines(thick_first), thick_first[0].text)
            self.after_thickness = self.asked.settle(question)
        for marks in dict.fromkeys(_pair(d) for d in doubtful if d.order is Order.MARKED):
            self.marked[marks] = self._ask_marked(marks, [d for d in doubtful if _pair(d) == marks])

    def _ask_marked(self, marks: str, drafts: Sequence[Draft]) -> str:
        a, b = (SAYS[mark] for mark in marks)
        text = f"{a} and {b} do not say how the grain runs: which lies along it?"
        readings = tuple((mark, f"the {SAYS[mark]} lies along the grain") for mark in marks)
        question = about_list(f"grain-{marks}", text, readings, _lines(drafts), drafts[0].text)
        return self.asked.settle(question)

    def _in_doubt(self, draft: Draft) -> bool:
        grain, board = self.matters.of(draft)
        if not grain or draft.grain in ("any", ASK) or draft.second is None:
            return False
        a, b = self._ticks(draft)
        return a != b and not (board and max(a, b) >= _STICK * min(a, b))

    def _ticks(self, draft: Draft) -> tuple[int, int]:
        unit = row_unit(draft, self.unit)
        second = draft.second or draft.first
        return draft.first.ticks(unit), second.ticks(unit)

    def of(self, draft: Draft) -> tuple[int, int]:
        """Return (length, width) of a draft with two face figures."""
        a, b = self._ticks(draft)
        if draft.order is Order.SAID or a == b:
            return a, b
        grain, board = self.matters.of(draft)
        if grain and board and max(a, b) >= _STICK * min(a, b) and draft.grain not in ("any", ASK):
            if draft.line not in self.sticks:
                self.sticks.append(draft.line)
            return max(a, b), min(a, b)
        if draft.order is Order.MARKED:
            return (a, b) if self.marked.get(_pair(draft), draft.marks[0]) == draft.marks[0] else (b, a)
        if draft.order is Order.AFTER_THICKNESS:
            return (b, a) if self.after_thickness == "last" else (a, b)
        return (a, b) if self.first == "along" or draft.grain == ASK else (b, a)


def _pair(draft: Draft) -> str:
    """Return the marks of a draft, the same for "W x H" and "H x W"."""
    return "".join(sorted(draft.marks, key="HWD".index))


def _lines(drafts: Sequence[Draft]) -> list[int]:
    return sorted({d.line for d in drafts})


def _row(
    draft: Draft, unit: Unit, shop: Shop, faces: _Faces, ways: Ways, finished: bool, asked: Asked,
    warnings: list[Remark],
) -> Row:  # fmt: skip
    own = row_unit(draft, unit)
    thickness = thick_ticks(draft.thickness, own) if draft.thickness else None
    if draft.nominal and draft.second is None:
        actual = shop.lumber.actual(draft.nominal)
        thickness, width = actual if actual else (thickness, 0)
        length = draft.first.ticks(own)
    else:
        length, width = faces.of(draft)
    length, width, grain = _grain(draft, length, width, unit, asked)
    thickness, name = _thickness(draft, thickness, unit, own, shop, warnings)
    row = Row(
        name=draft.name, count=1 if draft.count is None else draft.count, length=length, width=width,
        thickness=thickness, thickness_name=name, material=draft.material, nominal=draft.nominal,
        rip_from=draft.rip_from, grain=grain, bands=_bands(draft, length, width, asked), note=draft.note,
        line=draft.line, column=draft.column,
        text=draft.text,
    )  # fmt: skip
    if not finished and not draft.heading.finished:
        return row
    cut_length, cut_width = cut_size(length, width, row.bands, ways.band_thickness)
    if min(cut_length, cut_width) <= 0:
        warnings.append(Remark(draft.line, "banding is thicker than the part: the size is left as written"))
        return row
    return replace(row, length=cut_length, width=cut_width, finished_length=length, finished_width=width)


def _grain(draft: Draft, length: int, width: int, unit: Unit, asked: Asked) -> tuple[int, int, Grain | None]:
    """Settle the grain of one row; "grain up" and the like are asked."""
    if draft.grain != ASK:
        return length, width, Grain(draft.grain) if draft.grain else None
    says = (
        ("along", f"along {show(length, unit)}"),
        ("across", f"along {show(width, unit)}"),
        ("any", "either way"),
    )
    question = Question(
        id=f"grain{draft.line}" + (f".{draft.column}" if draft.column > 1 else ""),
        line=draft.line,
        column=draft.column,
        text=draft.text.strip()[:200],
        unclear=f"which way does the grain run on {draft.name or 'this part'}?",
        readings=tuple(Reading(k, s) for k, s in says),
        lines=(draft.line,),
        kind="row",
    )
    key = asked.settle(question)
    if key == "across" and draft.order is not Order.SAID:
        return width, length, Grain.ALONG
    return length, width, Grain(key)


def _bands(draft: Draft, length: int, width: int, asked: Asked) -> tuple[str, ...]:
    """Return the banded edges of a row; a code with several readings is asked."""
    try:
        return banded(draft.bands, length, width)
    except EdgesUnclear as doubt:
        choices = [Reading(code, told(code)) for code in doubt.readings]
        question = Question(
            id=f"edges{draft.line}", line=draft.line, column=draft.column, text=draft.text.strip()[:200],
            unclear=str(doubt), lines=(draft.line,), kind="row",
            readings=(*choices, Reading("none", "no banded edge")),
        )  # fmt: skip
        return banded(asked.settle(question), length, width)


def _thickness(
    draft: Draft, own: int | None, unit: Unit, own_unit: Unit, shop: Shop, warnings: list[Remark]
) -> tuple[int | None, str | None]:
    """Return a row's thickness in ticks and its trade name."""
    named = draft.named
    if draft.nominal:
        return own, None
    if named is None:
        return own, thickness_name(draft.thickness, own_unit) if draft.thickness else None
    if named.quarter:
        quarter = shop.lumber.quarters.get(named.quarter)
        if quarter and quarter.two_sides and own and own > quarter.two_sides:
            most, this = show(quarter.two_sides, Unit.INCH), show(own, Unit.INCH)
            text = f"{named.quarter} surfaces to {most} in, this part is {this} in thick"
            warnings.append(Remark(draft.line, text))
        return own, named.quarter
    named_unit = unit if named is draft.heading.thickness else own_unit
    ticks = thick_ticks(named, named_unit)
    if own is None or own == ticks:
        return ticks, thickness_name(named, named_unit)
    assert draft.thickness is not None
    mine = thickness_name(draft.thickness, own_unit)
    warnings.append(
        Remark(
            draft.line, f"{mine} thick, where {thickness_name(named, named_unit)} is named above or beside"
        )
    )
    return own, mine
