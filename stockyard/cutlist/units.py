"""The unit of figures that have none: of one row, and of the list."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from stockyard.cutlist.draft import Draft
from stockyard.cutlist.figures import Figure, Fix, Unclear, pointed_thousand
from stockyard.cutlist.questions import Asked, about_list
from stockyard.measure import TICKS_PER, Unit

# An inch figure beyond 20 ft, or an inch thickness of 3 and more, is rather millimetres; so is a figure of
# 100 and more beside an inch mark, and a list of smaller ones rather inches (common practice, no source).
_LONG_INCHES, _THICK_INCHES, _SMALL_MM, _LONGEST_FEET = 240, 3, 100, 24
_FEET_ALONE = re.compile(r"(?:'|\b(?:ft|feet|foot)\.?|(?<=\d)(?:ft|feet|foot)\.?)$", re.IGNORECASE)
_METRES = re.compile(r"(cm|(?<!m)m)\.?$", re.IGNORECASE)
_NAMES = {Unit.MM: "millimetres", Unit.INCH: "inches"}
THESE = "these"


def row_unit(draft: Draft, unit: Unit) -> Unit:
    """Return the unit of a row's bare figures: that marked on any of them, else the list's."""
    marked = {f.unit for f in _figures(draft) if f.unit}
    return next(iter(marked)) if len(marked) == 1 else unit


def check_row(draft: Draft, unit: Unit) -> None:
    """Refuse figures of a row that the unit marked beside them, or millimetres, may not fit.

    Raises:
        Unclear: with each unit the figure may have as a reading.
    """
    marked = {f.unit for f in _figures(draft) if f.unit}
    for f in _figures(draft):
        if f.unit:
            continue
        if row_unit(draft, unit) is Unit.MM:
            pointed_thousand(f.text, f.start)
        if marked:
            _check_beside(f, draft, marked, unit)


def _check_beside(f: Figure, draft: Draft, marked: set[Unit], unit: Unit) -> None:
    thick = f is draft.thickness
    if len(marked) > 1:
        if not (thick and f.fraction):
            raise _which(f, "mm", "in")
    elif Unit.MM in marked:
        if f.fraction and not thick:
            raise _which(f, "in", "mm")
        if not thick and (mark := _mark(_METRES, draft)):
            raise _which(f, mark, "mm")
    elif not f.fraction:
        small = unit is Unit.MM and f.whole and f.value <= _LONGEST_FEET
        if small and not thick and _mark(_FEET_ALONE, draft):
            raise _which(f, "ft", "in")
        most = _THICK_INCHES if thick else _SMALL_MM if unit is Unit.MM else _LONG_INCHES
        if f.value >= most:
            raise _which(f, "mm", "in")


def _mark(wanted: re.Pattern[str], draft: Draft) -> str:
    """Return the first mark of this kind beside a length or width, "" if there is none."""
    for f in (draft.first, draft.second):
        if f and f.unit and (m := wanted.search(f.text)):
            return m.group().rstrip(".")
    return ""


def _which(f: Figure, *units: str) -> Unclear:
    signs = {"in": '"', "ft": "'"}
    fixes = tuple(Fix(f"{f.text} {u}", f.start, f.end, f.text + signs.get(u, f" {u}")) for u in units)
    return Unclear(f"'{f.text}' beside a figure with a unit: {' or '.join(units)}?", f.start, fixes)


def _figures(draft: Draft) -> Iterable[Figure]:
    return (f for f in (draft.first, draft.second, draft.thickness) if f)


def with_units(drafts: Sequence[Draft], unit: Unit, asked: Asked) -> tuple[Unit, Sequence[Draft]]:
    """Settle the unit of bare figures, asking when they look like the other one.

    Returns the list's unit, and the drafts, those marked that have the other unit alone.
    """
    bare = [d for d in drafts if not any(f.unit for f in _figures(d))]
    faces = [(d, f) for d in bare for f in (d.first, d.second) if f]
    odd, other = (_like_mm(drafts, bare), Unit.MM) if unit is Unit.INCH else (_like_inches(bare), Unit.INCH)
    answer = asked.answers.get("unit")
    if not odd and answer is None:
        return unit, drafts
    first = min(odd, key=lambda d: d.line) if odd else drafts[0]
    lines = sorted({d.line for d in odd}) or [first.line]
    readings = [(other.value, _NAMES[other]), (unit.value, _NAMES[unit])]
    if {id(d) for d, _ in faces} - {id(d) for d in odd}:
        readings.append((THESE, f"{_NAMES[other]} on these lines only, {_NAMES[unit]} on the others"))
    text = f"figures with no unit: the shop works in {_NAMES[unit]}, these look like {_NAMES[other]}"
    key = asked.settle(about_list("unit", text, readings, lines, first.text))
    if key != THESE:
        return Unit(key), drafts
    here = {id(d) for d in odd}
    return unit, [_marked(d, other) if id(d) in here else d for d in drafts]


def _like_mm(drafts: Sequence[Draft], bare: Sequence[Draft]) -> list[Draft]:
    odd = [d for d in bare for f in (d.first, d.second) if f and f.value > _LONG_INCHES and not f.fraction]
    thick = [(d, f) for d in bare for f in (d.thickness, d.named)]
    thick += [(d, d.named) for d in drafts if d.carried or d.named is d.heading.thickness]
    return odd + [d for d, f in thick if f and not f.unit and not f.fraction and f.value >= _THICK_INCHES]


def _like_inches(bare: Sequence[Draft]) -> list[Draft]:
    faces = [(d, f) for d in bare for f in (d.first, d.second) if f]
    if faces and all(f.value < _SMALL_MM for _, f in faces):
        return [d for d, _ in faces]
    return [d for d, f in faces if f.fraction]


def _marked(draft: Draft, unit: Unit) -> Draft:
    """Return a draft whose figures have a unit, as if it were written; an 18 beside inches is millimetres."""
    second = _in(draft.second, unit) if draft.second else None
    thick = draft.thickness
    if thick:
        metric = unit is Unit.MM or (not thick.fraction and thick.value >= _THICK_INCHES)
        thick = _in(thick, Unit.MM if metric and not thick.fraction else Unit.INCH)
    return replace(draft, first=_in(draft.first, unit), second=second, thickness=thick)


def _in(f: Figure, unit: Unit) -> Figure:
    return f if f.unit else replace(f, value=f.value * TICKS_PER[unit], unit=unit)
