"""Which of the yard's materials the rows of a cut list may be cut from, or the question to ask."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from stockyard.cutlist import Question, Reading, Row
from stockyard.cutlist.model import Remark
from stockyard.cutlist.questions import chosen, for_each
from stockyard.errors import BadInput
from stockyard.measure import Unit, named_thickness, plain
from stockyard.yard.model import Form, Material

AS_WRITTEN = "as written"
ANY = "any"
_MOST_READINGS = 20


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a row asks for: material words, and a thickness by name and, if the name says one, in ticks."""

    words: str
    name: str
    ticks: int | None

    @classmethod
    def by(cls, row: Row) -> Wanted:
        """Return what `row` asks for."""
        lumber = row.rip_from or row.nominal
        name = lumber or row.thickness_name or ""
        return cls(row.material, name, None if not lumber and _is_quarter(name) else row.thickness)

    @property
    def title(self) -> str:
        """Words and thickness as a person says them, "" when the row says neither."""
        return " ".join(w for w in (self.words, self.name) if w)


@dataclass(frozen=True, slots=True)
class Accepted:
    """The materials a part may be cut from (None: any), and the thickness to store with them."""

    titles: tuple[str, ...] | None
    thickness_name: str | None


@dataclass(slots=True)
class Matched:
    """Every kind of material that a list asks for, what is accepted for it on each line, and what is open."""

    accepted: dict[tuple[Wanted, int], Accepted] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)

    def of(self, row: Row) -> Accepted:
        """Return what is accepted for a row."""
        return self.accepted[Wanted.by(row), row.line]


def match(rows: Sequence[Row], known: Sequence[Material], answers: Mapping[str, str], unit: Unit) -> Matched:
    """Match each kind of material asked for with the yard's: one fits, or it is asked.

    What the yard has nothing like of is kept as written, with a remark.

    Raises:
        BadInput: an answer that is none of its readings.
    """
    out = Matched()
    lines: dict[Wanted, set[int]] = {}
    for row in rows:
        lines.setdefault(Wanted.by(row), set()).add(row.line)
    for row in rows:
        wanted = Wanted.by(row)
        if (wanted, row.line) not in out.accepted:
            here = _one(row, wanted, known, answers, unit, sorted(lines[wanted]), out)
            out.accepted |= {(wanted, line): accepted for line, accepted in here.items()}
    return out


def _one(
    row: Row, wanted: Wanted, known: Sequence[Material], answers: Mapping[str, str], unit: Unit,
    lines: Sequence[int], out: Matched,
) -> dict[int, Accepted]:  # fmt: skip
    """Return what is accepted for one kind of material, by line."""
    found = _found(wanted, known, unit)
    exact = [m for m in found if m.name.casefold() == wanted.words.casefold()]
    only = exact if len(exact) == 1 else found
    question = _question(row, wanted, found, _near(wanted, known, unit), lines)
    answer = answers.get(question.id)
    placeholder = _taken([question.readings[0].key], wanted, known, found)
    if answer is not None:
        given = for_each(answer, lines)
        if left := tuple(n for n in lines if n not in given):
            out.questions.append(replace(question, line=left[0], column=1, lines=left))
        return dict.fromkeys(lines, placeholder) | {
            line: _answered(question, text, wanted, known, found) for line, text in given.items()
        }
    if len(only) == 1 and wanted.title:
        if not wanted.words:
            text = f"no material said: {only[0].title} is the only {wanted.name} in the yard"
            out.remarks.append(Remark(row.line, text))
        return dict.fromkeys(lines, _of(only))
    if [r.key for r in question.readings] == [AS_WRITTEN]:
        text = f"the yard has no '{wanted.title}': add the material before planning"
        out.remarks.append(Remark(row.line, text))
    else:
        out.questions.append(question)
    return dict.fromkeys(lines, placeholder)


def _says(material: Material, words: str) -> bool:
    """Whether a material's name holds every word, whole or by a start of three letters and more."""
    own = _words(material.name)
    return all(w in own or (len(w) >= 3 and any(o.startswith(w) for o in own)) for w in _words(words))


def _words(text: str) -> set[str]:
    return {w for w in plain(text).casefold().replace(",", " ").split() if w}


def _found(wanted: Wanted, known: Iterable[Material], unit: Unit) -> list[Material]:
    """Return the materials of these words whose thickness is so named, else those whose name says as much."""
    said = [m for m in known if _says(m, wanted.words)]
    if not wanted.name:
        return said
    named = [m for m in said if _squeezed(m.thickness_name) == _squeezed(wanted.name)]
    lumber = "x" in wanted.name
    return named or [
        m
        for m in said
        if wanted.ticks is not None and _ticks(m.thickness_name, unit) == wanted.ticks
        if m.form is Form.BOARD or not lumber
    ]


def _near(wanted: Wanted, known: Sequence[Material], unit: Unit) -> list[Material]:
    """Return the materials of these words in another thickness, else those as thick of other words."""
    if wanted.words and (same := [m for m in known if _says(m, wanted.words)]):
        return same
    return _found(Wanted("", wanted.name, wanted.ticks), known, unit) if wanted.name else []


def _squeezed(name: str) -> str:
    return plain(name).casefold().replace(" ", "")


def _is_quarter(name: str) -> bool:
    top, _, bottom = name.strip().partition("/")
    return bottom == "4" and top.isdigit() and int(top) >= 4


def _ticks(name: str, unit: Unit) -> int | None:
    """Return what a thickness name says in ticks; a bare fraction is inches, a quarter says nothing."""
    if _is_quarter(name):
        return None
    try:
        return named_thickness(name, unit)
    except BadInput:
        return None


def _of(found: Iterable[Material]) -> Accepted:
    every = tuple(found)
    names = {m.thickness_name for m in every}
    return Accepted(tuple(m.title for m in every), names.pop() if len(names) == 1 else None)


def _question(
    row: Row, wanted: Wanted, found: Sequence[Material], near: Sequence[Material], lines: Sequence[int]
) -> Question:
    """Return the question which material rows like this one are to be cut from."""
    readings = [Reading(m.title, m.title) for m in (found or near)[:_MOST_READINGS]]
    for form in Form:
        if sum(1 for m in found if m.form is form) > 1:
            readings.append(Reading(f"{ANY} {form}", f"any {form} of these"))
    if not wanted.title:
        says = "no material is said"
        readings.append(Reading(ANY, "any material"))
    elif found:
        says = f"'{wanted.title}' may be any of {len(found)} materials"
    else:
        says = f"the yard has no '{wanted.title}'"
        readings.append(Reading(AS_WRITTEN, f"store '{wanted.title}' as written, add it before planning"))
    return Question(
        id=f"material{row.line}" + (f".{row.column}" if row.column > 1 else ""),
        line=row.line,
        column=row.column,
        text=row.text.strip()[:200],
        unclear=says,
        readings=tuple(readings),
        lines=tuple(lines),
        kind="list",
        or_else="the name of a material",
    )


def _answered(
    question: Question, answer: str, wanted: Wanted, known: Sequence[Material], found: Sequence[Material]
) -> Accepted:
    """Return what an answer accepts; several readings, or materials by title, may be joined by commas."""
    titles = {m.title.casefold(): m.title for m in known}
    keys = []
    for bit in [answer] if chosen(question, answer) else answer.split(","):
        key = chosen(question, bit) or titles.get(bit.strip().casefold())
        if key is None:
            names = ", ".join(r.key for r in question.readings)
            raise BadInput(f"'{bit.strip()[:40]}' does not answer {question.id}: choose from {names}")
        keys.append(key)
    return _taken(keys, wanted, known, found)


def _taken(
    keys: Sequence[str], wanted: Wanted, known: Sequence[Material], found: Sequence[Material]
) -> Accepted:
    if ANY in keys:
        return Accepted(None, wanted.name or None)
    if AS_WRITTEN in keys:
        return Accepted((wanted.words,) if wanted.words else None, wanted.name or None)
    forms = [form for form in Form if f"{ANY} {form}" in keys]
    return _of(m for m in known if m.title in keys or (m in found and m.form in forms))
