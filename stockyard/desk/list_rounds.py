"""The questions of a cut list in one round: one doubt on several lines is asked once, and nothing twice."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from stockyard.desk.job_list import UNIT, JobList, Question, Ways, understand
from stockyard.errors import BadInput
from stockyard.yard.store import Yard, on_one_state

# Asked about a whole list, however its doubtful lines are read.
_WHATEVER = frozenset({"first", "finished", UNIT})
_FIGURE = re.compile(r"\d+(?:[ -]\d+/\d+|/\d+|[.,]\d+)?")
_QUOTED = re.compile(r"'[^']*'")


@dataclass(frozen=True, slots=True)
class Round:
    """What is asked now, and the questions whose answers were taken. Each tuple of questions is one doubt."""

    asked: tuple[tuple[Question, ...], ...]
    answered: tuple[Question, ...]


@on_one_state
def this_round(yard: Yard, text: str, ways: Ways, found: JobList) -> Round:
    """Return the questions of a list as they are put to a person; `found` is what `understand` made of it.

    What is asked about the whole list whichever way its doubtful lines are read is asked beside them.
    """
    doubts = {q.id: q.readings[0].key for q in found.questions if q.retype and q.readings}
    questions = list(found.questions)
    if doubts:
        whole = _read(yard, text, replace(ways, answers=dict(ways.answers) | doubts))
        later = {q.id: q for q in whole if q.id in _WHATEVER and q.id not in ways.answers}
        questions = [*later.values(), *(q for q in questions if q.id not in later)]
    open_now = {q.id for q in questions}
    bare = _read(yard, text, replace(ways, answers={})) if ways.answers else ()
    answered = tuple(q for q in bare if q.id in ways.answers and q.id not in open_now)
    return Round(tuple(_alike(questions)), answered)


def _read(yard: Yard, text: str, ways: Ways) -> tuple[Question, ...]:
    try:
        return understand(yard, text, ways).questions
    except BadInput:
        return ()


def _alike(questions: Iterable[Question]) -> list[tuple[Question, ...]]:
    """Put questions about single lines together where they ask and offer the same of other figures."""
    together: dict[object, list[Question]] = {}
    for q in questions:
        key: object = (
            (_shape(q.unclear), *(_shape(r.says) for r in q.readings)) if q.retype and q.readings else q.id
        )
        together.setdefault(key, []).append(q)
    return [tuple(group) for group in together.values()]


def _shape(says: str) -> str:
    return _FIGURE.sub("#", _QUOTED.sub("'", says))


def for_lines(base: str, lines: Sequence[int], each: Mapping[int, str], before: str = "") -> str:
    """Return one answer for a question about `lines`: `base` for all, `each` for single ones.

    `before` is what was answered earlier for other lines of the question, as this function writes it.
    """
    given = dict(_lined(before))
    if not each and not given:
        return base
    given |= {n: text for n in lines if (text := each.get(n) or base)}
    return "; ".join(f"{n}: {text}" for n, text in sorted(given.items()))


def _lined(before: str) -> Iterator[tuple[int, str]]:
    for bit in before.split(";"):
        number, _, text = bit.partition(":")
        if number.strip().isdecimal() and text.strip():
            yield int(number), text.strip()
