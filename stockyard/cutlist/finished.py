"""Banded edges of rows, and whether their sizes are cut or finished: read where it is said, else asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stockyard.bands import cut_size, finished_size
from stockyard.cutlist.band_words import read_band, split_cell
from stockyard.cutlist.draft import Draft
from stockyard.cutlist.edges import EdgesUnclear, banded, told
from stockyard.cutlist.model import Question, Reading, Row
from stockyard.cutlist.questions import Asked, about_list
from stockyard.errors import BadInput
from stockyard.figures import typed_size
from stockyard.measure import Length, Unit, parse, show

_CUT, _FINISHED, _NOTHING, _BARE = "cut", "finished", "nothing", "none"


@dataclass(frozen=True, slots=True)
class BandWays:
    """What holds where the list does not say: finished sizes or not, how thick a band is (0: not said).

    `trim` is how much each banded edge is sawn oversize; `unit` that of bare figures. Lengths in ticks.
    """

    finished: bool | None
    thickness: int
    trim: int
    unit: Unit


def with_bands(drafts: Sequence[Draft], rows: Sequence[Row], ways: BandWays, asked: Asked) -> list[Row]:
    """Return the rows with their bands, their cut sizes and, where it is known, their finished ones.

    What nobody says is asked; so is a part that its bands leave nothing of.
    """
    drafts = [_with_band(draft) for draft in drafts]
    edges = _edges(drafts, rows, asked)
    rows = [_banded(draft, row, on, ways.unit) for draft, row, on in zip(drafts, rows, edges, strict=True)]
    whole = _whole(drafts, rows, finished=ways.finished, asked=asked)
    thick = _thickness([row for row, w in zip(rows, whole, strict=True) if w], ways, asked)
    return [
        _sized(row, whole=w, thick=_own_or(row, thick, ways), trim=ways.trim, unit=ways.unit, asked=asked)
        for row, w in zip(rows, whole, strict=True)
    ]


def _with_band(draft: Draft) -> Draft:
    """Return a draft whose words about the band itself stand apart from those about its edges."""
    codes, own = split_cell(draft.bands)
    return replace(draft, bands=codes, band=draft.band or own) if own else draft


def _banded(draft: Draft, row: Row, edges: tuple[str, ...], unit: Unit) -> Row:
    if not edges:
        return row
    band = read_band(draft.band, unit)
    note = "; ".join(n for n in (row.note, band.note) if n)
    return replace(row, bands=edges, band_material=band.material, band_thickness=band.thickness, note=note)


def _whole(
    drafts: Sequence[Draft], rows: Sequence[Row], *, finished: bool | None, asked: Asked
) -> list[bool]:
    """Return which rows give finished sizes, asked once for all that do not say."""
    said = [d.heading.finished if d.finished is None else d.finished for d in drafts]
    said = [finished if s is None else s for s in said]
    unsaid = [row for row, s in zip(rows, said, strict=True) if s is None and row.bands]
    by_line: dict[int, str] = {}
    if unsaid:
        text = "parts with banded edges: are these sizes cut or finished?"
        readings = ((_CUT, "cut sizes, before banding"), (_FINISHED, "finished sizes, band included"))
        lines = sorted({row.line for row in unsaid})
        by_line = asked.each(about_list("finished", text, readings, lines, unsaid[0].text))
    return [
        (by_line.get(row.line) == _FINISHED) if s is None else s for row, s in zip(rows, said, strict=True)
    ]


def _own_or(row: Row, thick: Mapping[int, int], ways: BandWays) -> int | None:
    """Return how thick the band of a row is, 0 for one that adds nothing, None when nobody said."""
    if row.band_thickness is not None:
        return row.band_thickness
    return thick.get(row.line, ways.thickness or None)


def _sized(row: Row, *, whole: bool, thick: int | None, trim: int, unit: Unit, asked: Asked) -> Row:
    """Return a row with both sizes: the one written and the one that follows from the bands."""
    if not row.bands:
        return replace(row, finished_length=row.length, finished_width=row.width) if whole else row
    if thick is None:
        return row
    known = replace(row, band_thickness=Length(thick) if thick else None)
    if not whole:
        length, width = finished_size(row.length, row.width, row.bands, thick, trim)
        return replace(known, finished_length=Length(length), finished_width=Length(width))
    length, width = cut_size(row.length, row.width, row.bands, thick, trim)
    if min(length, width) <= 0:
        return _too_wide(row, thick, unit, asked)
    return replace(
        known,
        length=Length(length),
        width=Length(width),
        finished_length=row.length,
        finished_width=row.width,
    )


def _too_wide(row: Row, thick: int, unit: Unit, asked: Asked) -> Row:
    """Ask about a part that its bands leave nothing of: it is banded nowhere, or written again."""
    size = typed_size(row.length, row.width, unit)
    asked.settle(
        Question(
            id=f"bands{row.line}" + (f".{row.column}" if row.column > 1 else ""),
            line=row.line, column=row.column, text=row.text.strip()[:200], lines=(row.line,), kind="row",
            unclear=f"{row.name or 'this part'} is {size} finished, and bands of {show(thick, unit)} leave "
            "nothing of it",
            readings=(Reading(_BARE, "it has no banded edge"),),
        )
    )  # fmt: skip
    return replace(row, bands=(), band_material="", band_thickness=None)


def _thickness(rows: Sequence[Row], ways: BandWays, asked: Asked) -> dict[int, int]:
    """Return how thick the band of each line is, asked when finished sizes hang on it."""
    rows = [row for row in rows if row.bands and row.band_thickness is None]
    if not rows or ways.thickness:
        return {}
    lines = sorted({row.line for row in rows})
    readings = ((_NOTHING, "nothing is taken off for the band"),)
    text = "finished sizes: how thick is the edge band?"
    question = about_list("band", text, readings, lines, rows[0].text, or_else="its thickness")

    def measured(answer: str) -> str | None:
        try:
            return str(parse(answer, ways.unit))
        except BadInput:
            return None

    keys = asked.each(question, measured)
    return {line: 0 if key == _NOTHING else int(key) for line, key in keys.items()}


def _edges(drafts: Sequence[Draft], rows: Sequence[Row], asked: Asked) -> list[tuple[str, ...]]:
    """Return the banded edges of each row; the same words in doubt are asked once for all their lines."""
    out: list[tuple[str, ...]] = []
    doubts: dict[tuple[str, tuple[str, ...]], list[int]] = {}
    for k, (draft, row) in enumerate(zip(drafts, rows, strict=True)):
        out.append(())
        try:
            out[k] = banded(draft.bands, row.length, row.width)
        except EdgesUnclear as doubt:
            doubts.setdefault((str(doubt), doubt.readings), []).append(k)
    for (unclear, codes), which in doubts.items():
        first = drafts[which[0]]
        question = Question(
            id=f"edges{first.line}" + (f".{first.column}" if first.column > 1 else ""),
            line=first.line, column=first.column, text=first.text.strip()[:200], unclear=unclear,
            lines=tuple(sorted({drafts[k].line for k in which})), kind="row",
            readings=(*(Reading(code, told(code)) for code in codes), Reading("none", "no banded edge")),
            or_else="a code such as 2L1S",
        )  # fmt: skip

        def coded(answer: str, k: int = which[0]) -> str | None:
            try:
                return "+".join(banded(answer, rows[k].length, rows[k].width)) or "none"
            except EdgesUnclear:
                return None

        keys = asked.each(question, coded)
        for k in which:
            out[k] = banded(keys[drafts[k].line], rows[k].length, rows[k].width)
    return out
