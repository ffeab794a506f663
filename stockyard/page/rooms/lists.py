"""Cut list: what was typed and beside it what was understood; what is unclear is answered in place."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace

from stockyard.desk import job_list, jobs, list_drafts, list_rounds
from stockyard.desk.band_words import after_saw
from stockyard.desk.job_list import JobList, Question, Ways
from stockyard.desk.list_rounds import Round
from stockyard.errors import BadInput, Refused
from stockyard.measure import Unit
from stockyard.page.doors import Read, Write
from stockyard.page.visit import Answer, Go, Page, Visit

# Fields of the form, before the id of a question: the answer to it; to several at once, and to one of them
# another; for one line another; typed; what was answered for other lines; and the lines asked about.
_ANSWER, _ALL, _OTHER, _LINE, _TYPED, _BEFORE, _LINES = "a:", "g:", "o:", "l:", "t:", "p:", "n:"
# Lines that may be answered one by one, of one question.
_MANY = 40
NAMELESS = "give the job a name first"


@dataclass(frozen=True, slots=True)
class Line:
    """One line as it was typed, and what was made of it: parts, how many, what they become after the saw."""

    number: int
    text: str
    parts: tuple[tuple[job_list.JobPart, int, str], ...]
    says: tuple[str, ...]
    asked: bool


def blank(visit: Visit) -> Answer:
    """Show an empty list, or one laid aside."""
    if draft := visit.asked("draft"):
        taken = list_drafts.take_up(visit.yard, draft)
        return _page(visit, taken.name, taken.text, taken.ways)
    return _page(visit, "", "", Ways())


def read(visit: Visit) -> Answer:
    """Show what is understood. Nothing is stored."""
    return _page(visit, visit.said("name"), _text(visit), _ways(visit))


def store(visit: Visit) -> Answer:
    """Store a list without open questions as a job; else ask them."""
    name, text, ways = visit.said("name"), _text(visit), _ways(visit)
    try:
        found = job_list.understand(visit.yard, text, ways)
        if found.questions:
            return _page(visit, name, text, ways, "Some of it is not clear yet: answer below, then store it.")
        if not found.parts:
            raise BadInput("the list holds no parts")
    except BadInput as error:
        return _page(visit, name, text, ways, str(error))
    try:
        made = jobs.add_job(visit.yard, name, text, found.parts)
    except (BadInput, Refused) as error:
        return _page(visit, name, text, ways, name_says=str(error) if name else NAMELESS)
    list_drafts.drop(visit.yard, name)
    return Go(f"/jobs/{made.number}/plan")


def keep(visit: Visit) -> Answer:
    """Lay a list aside with the answers given so far."""
    name, text, ways = visit.said("name"), _text(visit), _ways(visit)
    try:
        list_drafts.lay_aside(visit.yard, list_drafts.ListDraft(name=name, text=text, ways=ways))
    except BadInput as error:
        return _page(visit, name, text, ways, name_says=str(error) if name else NAMELESS)
    return Go("/lists", told=False)


def _text(visit: Visit) -> str:
    """Return the text typed, or that of a file dropped."""
    if visit.files:
        ((_, content),) = visit.files.values()
        return job_list.read_table(content)
    return visit.form.get("text", "").replace("\r\n", "\n")


def _ways(visit: Visit) -> Ways:
    """Return the answers of the form: what is said of one line goes before what is said of all."""
    form = {name: value.strip() for name, value in visit.form.items() if value.strip()}
    answers: dict[str, str] = {}
    for name, value in form.items():
        if name.startswith(_ALL):
            answers |= dict.fromkeys(name.removeprefix(_ALL).split(), value)
    for prefix in (_ANSWER, _OTHER):
        answers |= {name.removeprefix(prefix): v for name, v in form.items() if name.startswith(prefix)}
    for name in [n for n in form if n.startswith(_LINES)]:
        id = name.removeprefix(_LINES)
        if answer := _by_line(id, form, answers.get(id, "")):
            answers[id] = answer
    answers |= {name.removeprefix(_TYPED): v for name, v in form.items() if name.startswith(_TYPED)}
    unit = visit.said("unit")
    first = visit.said("first")
    return Ways(
        unit=Unit(unit) if unit in tuple(Unit) else None,
        answers=answers,
        first=first if first in ("along", "across") else None,
    )


def _by_line(id: str, form: Mapping[str, str], base: str) -> str:
    """Return the answer to a question about several lines."""
    lines = [int(n) for n in form[_LINES + id].split() if n.isascii() and n.isdecimal() and len(n) < 7]
    each = {n: form[key] for n in lines if (key := f"{_LINE}{id}:{n}") in form}
    return list_rounds.for_lines(base, lines, each, form.get(_BEFORE + id, ""))


def _page(visit: Visit, name: str, text: str, ways: Ways, says: str = "", *, name_says: str = "") -> Answer:
    found: JobList | None = None
    asked = Round((), ())
    if text.strip():
        found, ways, trouble = _understood(visit, text, ways)
        says = says or trouble
        if found is not None:
            asked = list_rounds.this_round(visit.yard, text, ways, found)
    values = {
        "title": "Cut list",
        "name": name,
        "text": text,
        "ways": ways,
        "found": found,
        "says": says,
        "lines": _lines(text, found) if found else (),
        "drafts": tuple(list_drafts.laid_aside(visit.yard)),
        "asked": asked.asked,
        "answered": asked.answered,
        "unseen": _unseen(ways, asked),
        "told_of": _told_of(ways, asked),
        "name_says": name_says,
        "many": _MANY,
    }
    return Page("lists.html", values)


def _understood(visit: Visit, text: str, ways: Ways) -> tuple[JobList | None, Ways, str]:
    """Read a list; an answer that answers nothing any more is left out, and said."""
    trouble = ""
    for _ in range(len(ways.answers) + 1):
        try:
            return job_list.understand(visit.yard, text, ways), ways, trouble
        except BadInput as error:
            trouble = trouble or str(error)
            wrong = next(
                (id for id in ways.answers if f"{id}:" in str(error) or f"'{id}'" in str(error)), None
            )
            wrong = wrong or next((id for id in ways.answers if f" {id}" in str(error)), None)
            if wrong is None:
                break
            ways = replace(ways, answers={k: v for k, v in ways.answers.items() if k != wrong})
    try:
        bare = replace(ways, answers={})
        return job_list.understand(visit.yard, text, bare), bare, trouble
    except BadInput as error:
        return None, ways, str(error)


def _unseen(ways: Ways, asked: Round) -> dict[str, str]:
    """Return the answers that no question on the page shows: they go along unseen."""
    shown = {q.id for group in asked.asked for q in group} | {q.id for q in asked.answered}
    return {id: answer for id, answer in ways.answers.items() if id not in shown}


def _lines(text: str, found: JobList) -> tuple[Line, ...]:
    """Return each line of the text with what was made of it."""
    parts: dict[int, list[tuple[job_list.JobPart, int, str]]] = {}
    for row, part in zip(found.rows, found.parts, strict=True):
        parts.setdefault(row.line, []).append((part, row.count, after_saw(part, found.unit)))
    says: dict[int, list[str]] = {}
    for word, remarks in (
        ("look", found.warnings),
        ("not understood", found.unread),
        ("no part", found.ignored),
    ):
        for remark in remarks:
            says.setdefault(remark.line, []).append(f"{word}: {remark.says}")
    asked = {n for q in found.questions for n in _about(q)}
    return tuple(
        Line(n, line, tuple(parts.get(n, ())), tuple(says.get(n, ())), n in asked)
        for n, line in enumerate(text.splitlines(), 1)
    )


def _told_of(ways: Ways, asked: Round) -> dict[str, dict[int, str]]:
    """Return what was answered line by line, of the questions shown."""
    found: dict[str, dict[int, str]] = {}
    for q in (*asked.answered, *(q for group in asked.asked for q in group)):
        answer = ways.answers.get(q.id, "")
        if len(q.lines) > 1 and answer and answer not in [r.key for r in q.readings]:
            with suppress(BadInput):
                found[q.id] = job_list.for_each(answer, q.lines)
    return found


def _about(question: Question) -> tuple[int, ...]:
    return question.lines or (question.line,)


DOORS = (
    Read("/lists", blank),
    Write("/lists/read", read),
    Write("/lists/store", store),
    Write("/lists/keep", keep),
)
