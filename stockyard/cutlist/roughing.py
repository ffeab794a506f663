"""Rough, then final, in lists: parts sawn larger to be milled or glued up, and trimmed later.

"rough cut", "trim later", "oversize 1/2", "1/2 x 1/4 oversize": what a person says of such parts; "as is" and
"rough sizes" say that nothing is added.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from stockyard.cutlist.draft import Draft
from stockyard.cutlist.model import Question, Reading, Row
from stockyard.cutlist.questions import Asked
from stockyard.errors import BadInput
from stockyard.measure import Unit
from stockyard.rough import AS_IS, OWN, USUAL, read_over

_FIGURE = r"\d[\d\s./,-]{0,12}(?:mm|cm|in|\"|″)?"
_BOTH = rf"{_FIGURE}(?:\s?[x×]\s?{_FIGURE})?"
_OVER = r"(?:leave |cut |left )?over[ -]?size(?:d)?"
_SAID = re.compile(
    rf"(?:{_OVER}(?: by)?:? (?P<after>{_BOTH})|\+?(?P<before>{_BOTH}) (?:{_OVER}|over)"
    rf"|(?:leave|cut) (?P<left>{_BOTH}) (?:over|longer and wider|extra)"
    rf"|(?P<usual>{_OVER}|rough[ -]?cut|cut rough|rough|to be milled"
    r"|(?:to )?mill(?:ed)?(?: later| first| to size)?"
    r"|(?:to )?trim(?:med)? (?:later|after(?: (?:milling|glue[ -]?up|gluing(?: up)?))?)|to be trimmed)"
    r"|(?P<is>(?:cut )?as is|no (?:allowance|oversize)|not oversize|(?:all )?rough sizes?|rough dimensions?)"
    r")(?: for (?:glue[ -]?up|gluing(?: up)?|milling))?$",
    re.IGNORECASE,
)
_LEADS = frozenset(("oversize", "oversized", "over", "rough", "leave", "cut", "trim", "trimmed", "to", "mill",
                    "milled", "no", "not", "as", "left"))  # fmt: skip
_NO = frozenset(("", "-", "no", "n", "none", "0"))
_YES = frozenset(("x", "yes", "y"))
_SPACE = re.compile(r"\s+")


def rough_said(text: str) -> str:
    """Return `usual`, `as is` or a figure as written when words speak of nothing but that, else nothing."""
    m = _SAID.match(_SPACE.sub(" ", text.strip()))
    if m is None:
        return ""
    if m["usual"] or m["is"]:
        return USUAL if m["usual"] else AS_IS
    return (m["after"] or m["before"] or m["left"]).strip()


def rough_cell(text: str) -> str:
    """Return what a cell of a column of allowances says."""
    folded = text.strip().casefold()
    if folded in _NO:
        return AS_IS if folded else ""
    return USUAL if folded in _YES else rough_said(text) or text.strip()[:40]


def leads(word: str) -> bool:
    """Whether words about an allowance may begin with this one."""
    return word.casefold() in _LEADS


def with_rough(drafts: Sequence[Draft], rows: Iterable[Row], unit: Unit, asked: Asked) -> list[Row]:
    """Return the rows with what each says of its allowance; figures that are none are asked about."""
    return [_one(draft, row, unit, asked) for draft, row in zip(drafts, rows, strict=True)]


def _one(draft: Draft, row: Row, unit: Unit, asked: Asked) -> Row:
    said = draft.rough or draft.heading.rough
    if said in ("", USUAL, AS_IS):
        return replace(row, rough=said)
    try:
        over = read_over(said, unit)
    except BadInput as error:
        question = Question(
            id=f"rough{row.line}" + (f".{row.column}" if row.column > 1 else ""),
            line=row.line, column=row.column, text=row.text.strip()[:200], lines=(row.line,), kind="row",
            unclear=" ".join(str(error).split()), readings=(Reading(AS_IS, "nothing is added"),),
        )  # fmt: skip
        asked.settle(question)
        return replace(row, rough=AS_IS)
    return replace(row, rough=OWN, over_length=over.length, over_width=over.width)
