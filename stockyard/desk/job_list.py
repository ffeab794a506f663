"""A pasted cut list against the yard: the parts of a job as they will be stored, or what to ask first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count

from stockyard.cutlist import CutList, KnownMaterial, Question, Row, read, read_table
from stockyard.cutlist.decode import LONGEST_TEXT
from stockyard.cutlist.model import Remark
from stockyard.cutlist.questions import for_each
from stockyard.desk.batches_asked import with_batches
from stockyard.desk.part_materials import Accepted, match
from stockyard.desk.rough_rows import with_allowances
from stockyard.errors import BadInput
from stockyard.kinds import Grain
from stockyard.measure import Unit, show
from stockyard.yard.materials import materials
from stockyard.yard.model import Form, JobPart
from stockyard.yard.store import Yard, on_one_state

__all__ = [
    "LONGEST_TEXT", "UNIT", "JobList", "JobPart", "Question", "Ways", "for_each", "read_table", "understand",
]  # fmt: skip

UNIT = "unit"
_ABOUT_LIST = (
    "first", "three", "count", UNIT, "finished", "band", "columns", "grain-HW", "grain-HD", "grain-WD",
)  # fmt: skip
_ABOUT_LINE = ("line", "grain", "edges", "bands", "heading", "material", "set", "rough", "batch")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """How a list is to be read: see `stockyard.cutlist.read`. `answers` are by question id."""

    unit: Unit | None = None
    answers: Mapping[str, str] = field(default_factory=dict)
    first: str | None = None
    finished: bool | None = None
    band_thickness: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class JobList:
    """What was understood. `parts` go with `rows` one to one and are final once no question is open.

    `unit` is the one in which its sizes need no rounding, the yard's if both or neither do; while it is
    asked which unit bare figures have, the one in which they show as written.
    """

    rows: tuple[Row, ...]
    parts: tuple[JobPart, ...]
    questions: tuple[Question, ...]
    warnings: tuple[Remark, ...]
    ignored: tuple[Remark, ...]
    unread: tuple[Remark, ...]
    unit: Unit


@on_one_state
def understand(yard: Yard, text: str, ways: Ways) -> JobList:
    """Read a list with the yard's unit and materials. Nothing is stored.

    Raises:
        BadInput: no text, or an answer that answers nothing.
    """
    known = [m for m in materials(yard) if not m.retired]
    answers = dict(ways.answers) | ({"unit": ways.unit.value} if ways.unit else {})
    found = read(
        text,
        unit=ways.unit or yard.unit,
        materials=[KnownMaterial(name=m.name, grain=m.grain, board=m.form is Form.BOARD) for m in known],
        answers=answers,
        first=ways.first,
        finished=ways.finished,
        band_thickness=ways.band_thickness,
        band_trim=yard.settings.band_trim,
    )
    matched = match(found.rows, known, answers, yard.unit)
    names = _names(found.rows)
    parts = [_part(name, row, matched.of(row)) for name, row in zip(names, found.rows, strict=True)]
    roughened = with_allowances(found.rows, parts, known, yard.settings, answers)
    whole, unserved = with_batches(yard, found.rows, roughened.parts, answers)
    questions = (*found.questions, *matched.questions, *roughened.questions, *unserved)
    _no_idle_answers(answers, questions, text)
    return JobList(
        rows=found.rows,
        parts=whole,
        questions=questions,
        warnings=tuple(sorted((*found.warnings, *matched.remarks), key=lambda r: r.line)),
        ignored=found.ignored,
        unread=found.unread,
        unit=_shown_unit(found, yard.unit),
    )


def _shown_unit(found: CutList, unit: Unit) -> Unit:
    if asked := [q for q in found.questions if q.id == UNIT]:
        return Unit(asked[0].readings[0].key)
    other = Unit.MM if unit is Unit.INCH else Unit.INCH

    def rounded(by: Unit) -> int:
        return sum(1 for r in found.rows for ticks in (r.length, r.width) if "≈" in show(ticks, by))

    return other if rounded(other) < rounded(unit) else unit


def _names(rows: Sequence[Row]) -> Iterator[str]:
    """Yield each row's name; nameless ones get numbers that no other row's name has."""
    taken = {row.name.casefold() for row in rows}
    for number, row in enumerate(rows, 1):
        name = row.name or next(n for i in count(number) if (n := f"part {i}") not in taken)
        taken.add(name)
        yield name


def _part(name: str, row: Row, accepted: Accepted) -> JobPart:
    note = row.note
    if row.rip_from and "rip" not in note.casefold():
        note = "; ".join(n for n in (note, f"rip from {row.rip_from}") if n)
    return JobPart(
        name=name,
        count=row.count,
        length=row.length,
        width=row.width,
        thickness_name=accepted.thickness_name,
        materials=accepted.titles,
        grain=row.grain or Grain.ALONG,
        bands=row.bands,
        band_material=row.band_material,
        band_thickness=row.band_thickness,
        finished_length=row.finished_length,
        finished_width=row.finished_width,
        set_name=row.set_name,
        set_run=row.set_run,
        set_each=row.set_each,
        batch=row.batch,
        note=note,
    )


def _no_idle_answers(answers: Mapping[str, str], questions: Sequence[Question], text: str) -> None:
    """Refuse an answer whose id can belong to no question about this list: it is a slip of the pen."""
    lines = text.count("\n") + 1
    for id in answers:
        stem = id.rstrip("0123456789.")
        number = id[len(stem) :].split(".")[0]
        about_line = (
            stem in _ABOUT_LINE and number.isdecimal() and len(number) < 10 and 1 <= int(number) <= lines
        )
        if id not in _ABOUT_LIST and not about_line:
            known = f"the questions are {', '.join(q.id for q in questions)}" if questions else "none is open"
            raise BadInput(f"there is no question '{id[:40]}': {known}")
