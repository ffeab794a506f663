"""Questions and their answers: one about a line, or one about the whole list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from stockyard.cutlist.figures import Fix, Unclear
from stockyard.cutlist.model import Question, Reading
from stockyard.cutlist.tokens import column
from stockyard.errors import BadInput

SKIP = "skip"


def chosen(question: Question, answer: str) -> str | None:
    """Return the key of the reading an answer picks (its key, number or words), None when it picks none."""
    wanted = answer.strip().casefold()
    for i, reading in enumerate(question.readings, start=1):
        if wanted in (reading.key.casefold(), reading.says.casefold(), str(i)):
            return reading.key
    return None


def about_line(number: int, depth: int, raw: str, line: str, doubt: Unclear) -> Question:
    """Return the question a doubtful line raises; the `depth`th about the same line."""
    readings = tuple(Reading(str(i), fix.says) for i, fix in enumerate(doubt.fixes, start=1))
    return Question(
        id=f"line{number}" if depth == 1 else f"line{number}.{depth}",
        line=number,
        column=column(raw, line, doubt.start),
        text=raw.strip()[:200],
        unclear=doubt.message,
        readings=readings,
        lines=(number,),
        retype=True,
    )


def mended(line: str, fix: Fix) -> str:
    """Return the line with a fix put in."""
    return line[: fix.start] + fix.text + line[fix.end :]


@dataclass(slots=True)
class Asked:
    """The questions of one list. `settle` returns the answer to use and notes what is still open."""

    answers: Mapping[str, str]
    open: list[Question] = field(default_factory=list)

    def settle(self, question: Question) -> str:
        """Return the key answered, else the first reading's key with the question left open.

        Raises:
            BadInput: the answer given is none of the readings.
        """
        answer = self.answers.get(question.id)
        if answer is None:
            self.open.append(question)
            return question.readings[0].key
        key = chosen(question, answer)
        if key is None:
            known = ", ".join(r.key for r in question.readings)
            raise BadInput(f"'{answer[:40]}' does not answer {question.id}: choose one of {known}")
        return key


def about_list(
    id: str, unclear: str, readings: Sequence[tuple[str, str]], lines: Sequence[int], text: str
) -> Question:
    """Return a question about several lines at once, shown at the first of them."""
    return Question(
        id=id,
        line=lines[0],
        column=1,
        text=text.strip()[:200],
        unclear=unclear,
        readings=tuple(Reading(k, s) for k, s in readings),
        lines=tuple(lines),
        kind="list",
    )
