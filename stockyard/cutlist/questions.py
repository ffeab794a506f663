"""Questions and their answers: one about a line, or one about the whole list."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from stockyard.cutlist.figures import Fix, Unclear
from stockyard.cutlist.model import Question, Reading
from stockyard.cutlist.tokens import column
from stockyard.errors import BadInput

SKIP = "skip"
_LINED = re.compile(r"(?:line\s*)?(\d{1,6})\s*[:=]\s*(\S.*)$", re.IGNORECASE)


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


def _nothing(_text: str) -> str | None:
    return None


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

    def each(self, question: Question, other: Callable[[str], str | None] = _nothing) -> dict[int, str]:
        """Return the key answered for each line of a question; the lines not answered stay open.

        `other` reads an answer that is none of the readings: it returns what to take, or None.

        Raises:
            BadInput: an answer that is neither.
        """
        first = question.readings[0].key if question.readings else ""
        answer = self.answers.get(question.id)
        if answer is None:
            self.open.append(question)
            return dict.fromkeys(question.lines, first)
        keys: dict[int, str] = {}
        for line, text in for_each(answer, question.lines).items():
            key = chosen(question, text) or other(text)
            if key is None:
                known = ", ".join([*(r.key for r in question.readings), *_some(question.or_else)])
                raise BadInput(f"'{text[:40]}' does not answer {question.id}: choose one of {known}")
            keys[line] = key
        if left := tuple(n for n in question.lines if n not in keys):
            self.open.append(replace(question, line=left[0], column=1, lines=left))
        return dict.fromkeys(question.lines, first) | keys


def _some(text: str) -> list[str]:
    return [text] if text else []


def for_each(answer: str, lines: Sequence[int]) -> dict[int, str]:
    """Return the answer for each line: "5: 2; 7: 1", "2; 1" in the order of the lines, or one for all.

    Raises:
        BadInput: a line that is not asked about, or not as many answers as lines.
    """
    bits = [bit.strip() for bit in answer.split(";") if bit.strip()]
    named = [_LINED.match(bit) for bit in bits]
    if bits and all(m and int(m[1]) in lines for m in named):
        return {int(m[1]): m[2] for m in named if m}
    if len(bits) <= 1:
        return dict.fromkeys(lines, answer)
    if len(bits) != len(lines) or any(named):
        where = ", ".join(str(n) for n in lines[:12]) + (" ..." if len(lines) > 12 else "")
        raise BadInput(
            f"'{answer[:40]}': answer for all, or for lines {where} as '{lines[0]}: ANSWER; {lines[-1]}: ...'"
        )
    return dict(zip(lines, bits, strict=True))


def about_list(
    id: str, unclear: str, readings: Sequence[tuple[str, str]], lines: Sequence[int], text: str,
    *, or_else: str = "",
) -> Question:  # fmt: skip
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
        or_else=or_else,
    )
