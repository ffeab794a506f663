"""The lines of a cut list made rough: each part in the size that is sawn for it, and what must be asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockyard.cutlist import Question, Reading, Row
from stockyard.cutlist.questions import chosen
from stockyard.desk.allowances import over_said, roughened
from stockyard.errors import BadInput
from stockyard.kinds import Form
from stockyard.measure import Length
from stockyard.rough import AS_IS, OWN, Over
from stockyard.settings import Settings
from stockyard.yard.accepted import accepts
from stockyard.yard.model import JobPart, Material


@dataclass(frozen=True, slots=True)
class Roughened:
    """The parts in the sizes that are sawn, and what must be asked of those that can not be."""

    parts: tuple[JobPart, ...]
    questions: tuple[Question, ...]


def with_allowances(
    rows: Sequence[Row],
    parts: Sequence[JobPart],
    known: Sequence[Material],
    settings: Settings,
    answers: Mapping[str, str],
) -> Roughened:
    """Return parts as read in the sizes that are sawn; one that cannot be is asked about.

    Raises:
        BadInput: an answer that is none of its readings.
    """
    out, questions = [], []
    for row, part in zip(rows, parts, strict=True):
        accepted = [m for m in known if accepts(part, m)]
        over = over_said("" if row.rough == OWN else row.rough, accepted, settings)
        if row.rough == OWN:
            over = Over(row.over_length, row.over_width, over.face if over else Length(0))
        final = row.thickness if _names_rough(row, accepted) else None
        try:
            out.append(roughened(part, over, accepted, settings.unit, final))
        except BadInput as error:
            question = _question(row, str(error))
            answer = answers.get(question.id)
            if answer is None:
                questions.append(question)
            elif chosen(question, answer) is None:
                raise BadInput(f"'{answer[:40]}' does not answer {question.id}: say {AS_IS}") from None
            out.append(part)
    return Roughened(tuple(out), tuple(questions))


def _names_rough(row: Row, accepted: Sequence[Material]) -> bool:
    """Whether the thickness of a row is what it is planed to: the stock is named beside it."""
    return row.thickness is not None and any(m.form is Form.BOARD for m in accepted) and (
        (row.thickness_name or "").endswith("/4") or all(m.over is not None for m in accepted)
    )  # fmt: skip


def _question(row: Row, unclear: str) -> Question:
    return Question(
        id=f"rough{row.line}" + (f".{row.column}" if row.column > 1 else ""),
        line=row.line, column=row.column, text=row.text.strip()[:200], lines=(row.line,), kind="row",
        unclear=unclear, readings=(Reading(AS_IS, "it is sawn to its size, nothing is added"),),
    )  # fmt: skip
