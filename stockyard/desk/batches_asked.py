"""Batches of a list that no pieces in the yard can serve: asked about before the list becomes a job."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from stockyard.cutlist import Question, Reading, Row
from stockyard.cutlist.questions import chosen
from stockyard.desk.questions import UNSERVED, questions
from stockyard.errors import BadInput
from stockyard.yard.model import Job, JobPart
from stockyard.yard.store import Yard

KEEP, NONE = "keep", "none"


def with_batches(
    yard: Yard, rows: Sequence[Row], parts: Sequence[JobPart], answers: Mapping[str, str]
) -> tuple[tuple[JobPart, ...], tuple[Question, ...]]:
    """Return parts with the batches that they are to have, and what must be asked of batches.

    Raises:
        BadInput: an answer that is none of its readings.
    """
    dropped, asked = set(), []
    for name, says in _unserved(yard, parts):
        question = _question(rows, parts, name, says)
        answer = answers.get(question.id)
        key = None if answer is None else chosen(question, answer)
        if answer is None:
            asked.append(question)
        elif key is None:
            raise BadInput(f"'{answer[:40]}' does not answer {question.id}: say {KEEP} or {NONE}")
        elif key == NONE:
            dropped.add(name)
    return tuple(replace(p, batch="") if p.batch in dropped else p for p in parts), tuple(asked)


def _unserved(yard: Yard, parts: Sequence[JobPart]) -> Iterator[tuple[str, str]]:
    """Yield each batch that no pieces can give, and why; what else is wrong is asked elsewhere."""
    for name in dict.fromkeys(p.batch for p in parts if p.batch):
        alone = tuple(replace(p, set_name="", set_run="", set_each=1) for p in parts if p.batch == name)
        try:
            questions(yard, Job(id=0, name="", text="", parts=alone, created_at=""))
        except BadInput as error:
            if error.code == UNSERVED:
                yield name, str(error)


def _question(rows: Sequence[Row], parts: Sequence[JobPart], name: str, says: str) -> Question:
    """Return what is asked of a batch, at its first row."""
    found = [row for row, part in zip(rows, parts, strict=True) if part.batch == name]
    row = found[0]
    return Question(
        id=f"batch{row.line}" + (f".{row.column}" if row.column > 1 else ""),
        line=row.line, column=row.column, text=row.text.strip()[:200],
        lines=tuple(dict.fromkeys(r.line for r in found)), kind="row", unclear=says,
        readings=(
            Reading(KEEP, "it stays a batch, to be planned once such pieces are in the yard"),
            Reading(NONE, "it is no batch: its parts come from any pieces"),
        ),
    )  # fmt: skip
