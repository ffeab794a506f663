"""Banded edges of rows, and whether their sizes are cut or finished: read where it is said, else asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stockyard.cutlist.draft import Draft
from stockyard.cutlist.edges import EdgesUnclear, banded, cut_size, told
from stockyard.cutlist.model import Question, Reading, Remark, Row
from stockyard.cutlist.questions import Asked, about_list
from stockyard.errors import BadInput
from stockyard.measure import Unit, parse

_CUT, _FINISHED, _NOTHING = "cut", "finished", "nothing"


def with_bands(
    drafts: Sequence[Draft], rows: Sequence[Row], finished: bool | None, band: int, unit: Unit, asked: Asked,
    warnings: list[Remark],
) -> list[Row]:  # fmt: skip
    """Return the rows with their banded edges, finished sizes made cut sizes.

    `finished` and `band` (ticks, 0: not said) hold where the list does not say; what nobody says is asked.
    """
    edges = _edges(drafts, rows, asked)
    rows = [replace(row, bands=on) for row, on in zip(rows, edges, strict=True)]
    said = [d.heading.finished if d.finished is None else d.finished for d in drafts]
    said = [finished if s is None else s for s in said]
    unsaid = [row for row, s in zip(rows, said, strict=True) if s is None and row.bands]
    by_line: dict[int, str] = {}
    if unsaid:
        text = "parts with banded edges: are these sizes cut or finished?"
        readings = ((_CUT, "cut sizes, before banding"), (_FINISHED, "finished sizes, band included"))
        lines = sorted({row.line for row in unsaid})
        by_line = asked.each(about_list("finished", text, readings, lines, unsaid[0].text))
    whole = [
        (by_line.get(row.line) == _FINISHED) if s is None else s for row, s in zip(rows, said, strict=True)
    ]
    thick = _thickness(
        [row for row, w in zip(rows, whole, strict=True) if w and row.bands], band, unit, asked
    )
    return [
        _reduced(row, thick.get(row.line, band), warnings) if w else row
        for row, w in zip(rows, whole, strict=True)
    ]


def _reduced(row: Row, thick: int, warnings: list[Remark]) -> Row:
    length, width = cut_size(row.length, row.width, row.bands, thick)
    if min(length, width) <= 0:
        warnings.append(Remark(row.line, "banding is thicker than the part: the size is left as written"))
        return row
    return replace(row, length=length, width=width, finished_length=row.length, finished_width=row.width)


def _thickness(rows: Sequence[Row], band: int, unit: Unit, asked: Asked) -> dict[int, int]:
    """Return how thick the band of each line is, asked when finished sizes hang on it."""
    if not rows or band:
        return {}
    lines = sorted({row.line for row in rows})
    readings = ((_NOTHING, "nothing is taken off for the band"),)
    text = "finished sizes: how thick is the edge band?"
    question = about_list("band", text, readings, lines, rows[0].text, or_else="its thickness")

    def measured(answer: str) -> str | None:
        try:
            return str(parse(answer, unit))
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
