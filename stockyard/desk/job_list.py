"""A pasted cut list against the yard's materials: the parts of a job, or what must be asked first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from stockyard.cutlist import KnownMaterial, Question, Reading, Row, read
from stockyard.cutlist.model import Remark
from stockyard.cutlist.questions import chosen
from stockyard.errors import BadInput
from stockyard.measure import Unit, parse, plain, show
from stockyard.planning.problem import Grain
from stockyard.yard.materials import materials
from stockyard.yard.model import Form, JobPart, Material
from stockyard.yard.store import Yard

AS_WRITTEN = "as written"
ANY = "any"
_MOST_READINGS = 20


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

    `unit` is the one in which its sizes need no rounding, the yard's if both or neither do.
    """

    rows: tuple[Row, ...]
    parts: tuple[JobPart, ...]
    questions: tuple[Question, ...]
    warnings: tuple[Remark, ...]
    ignored: tuple[Remark, ...]
    unit: Unit


def understand(yard: Yard, text: str, ways: Ways) -> JobList:
    """Read a list with the yard's unit and materials. Nothing is stored.

    Raises:
        BadInput: no text, or an answer that answers nothing.
    """
    known = materials(yard)
    answers = dict(ways.answers) | ({"unit": ways.unit.value} if ways.unit else {})
    found = read(
        text,
        unit=ways.unit or yard.unit,
        materials=[KnownMaterial(name=m.name, grain=m.grain, board=m.form is Form.BOARD) for m in known],
        answers=answers,
        first=ways.first,
        finished=ways.finished,
        band_thickness=ways.band_thickness,
    )
    accepted, asked, remarks = _accepted(found.rows, known, answers, yard.unit)
    parts = tuple(_part(number, row, accepted[_wanted(row)]) for number, row in enumerate(found.rows, 1))
    questions = (*found.questions, *asked)
    _no_idle_answers(answers, questions, text)
    return JobList(
        rows=found.rows,
        parts=parts,
        questions=questions,
        warnings=tuple(sorted((*found.warnings, *remarks), key=lambda r: r.line)),
        ignored=found.ignored,
        unit=_shown_unit(found.rows, yard.unit),
    )


def _shown_unit(rows: Sequence[Row], unit: Unit) -> Unit:
    other = Unit.MM if unit is Unit.INCH else Unit.INCH

    def rounded(by: Unit) -> int:
        return sum(1 for r in rows for ticks in (r.length, r.width) if "≈" in show(ticks, by))

    return other if rounded(other) < rounded(unit) else unit


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a row asks for as material: its words, and thickness as a name or in ticks."""

    words: str
    name: str
    ticks: int | None


@dataclass(frozen=True, slots=True)
class Accepted:
    """The materials a part may be cut from (None: any), and the thickness to store with them."""

    titles: tuple[str, ...] | None
    thickness_name: str | None


def _wanted(row: Row) -> Wanted:
    lumber = row.rip_from or row.nominal
    name = lumber or row.thickness_name or ""
    quarter = not lumber and _is_quarter(name)
    return Wanted(row.material.casefold(), name, None if quarter else row.thickness)


def _is_quarter(name: str) -> bool:
    top, _, bottom = name.partition("/")
    return bottom == "4" and top.isdigit() and int(top) >= 4


def _accepted(
    rows: Sequence[Row], known: Sequence[Material], answers: Mapping[str, str], unit: Unit
) -> tuple[dict[Wanted, Accepted], list[Question], list[Remark]]:
    """Match every kind of material asked for once, asking where the yard has none or several."""
    accepted: dict[Wanted, Accepted] = {}
    asked: list[Question] = []
    remarks: list[Remark] = []
    for row in rows:
        wanted = _wanted(row)
        if wanted in accepted:
            continue
        found = _found(wanted, known, unit)
        exact = [m for m in found if m.name.casefold() == wanted.words]
        only = exact if len(exact) == 1 else found
        if len(only) == 1 and (wanted.words or wanted.name):
            accepted[wanted] = _of(only)
            if not wanted.words:
                text = f"no material said: {only[0].title} is the only {wanted.name} in the yard"
                remarks.append(Remark(row.line, text))
            continue
        lines = tuple(sorted({r.line for r in rows if _wanted(r) == wanted}))
        question = _question(row, wanted, found, known, lines, unit)
        answer = answers.get(question.id)
        accepted[wanted] = _answered(question, answer, known, row, found)
        if answer is None:
            asked.append(question)
    return accepted, asked, remarks


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


def _squeezed(name: str) -> str:
    return plain(name).casefold().replace(" ", "")


def _ticks(name: str, unit: Unit) -> int | None:
    """Return what a thickness name says in ticks; a bare fraction is inches, a quarter says nothing."""
    if _is_quarter(name.strip()):
        return None
    try:
        return parse(name, Unit.INCH if "/" in plain(name) else unit)
    except BadInput:
        return None


def _of(found: Iterable[Material]) -> Accepted:
    every = tuple(found)
    names = {m.thickness_name for m in every}
    return Accepted(tuple(m.title for m in every), names.pop() if len(names) == 1 else None)


def _question(
    row: Row,
    wanted: Wanted,
    found: Sequence[Material],
    known: Sequence[Material],
    lines: tuple[int, ...],
    unit: Unit,
) -> Question:
    """Return the question which material rows like this one are to be cut from."""
    what = " ".join(w for w in (row.material, wanted.name) if w)
    near = list(found) or [m for m in known if row.material and _says(m, row.material)] or [
        *_found(Wanted("", wanted.name, wanted.ticks), known if wanted.name else (), unit)
    ]  # fmt: skip
    readings = [Reading(m.title, m.title) for m in near[:_MOST_READINGS]]
    for form in Form:
        same = [m for m in found if m.form is form]
        if len(same) > 1:
            readings.append(Reading(f"{ANY} {form}", f"any {form} of these"))
    if not what:
        readings.insert(0, Reading(ANY, "any material"))
    elif not found:
        readings.append(
            Reading(AS_WRITTEN, f"store '{what}' as written, and add the material before planning")
        )
    if found:
        says = (
            f"'{what}' may be any of {len(found)} materials"
            if row.material
            else f"{what or 'a part'}: of which material?"
        )
    else:
        says = f"the yard has no '{what}'" if what else "no material is said"
    return Question(
        id=f"material{row.line}" + (f".{row.column}" if row.column > 1 else ""),
        line=row.line, column=row.column, text=row.text.strip()[:200],
        unclear=says if what or found else "no material is said", readings=tuple(readings), lines=lines,
        kind="list",
    )  # fmt: skip


def _answered(
    question: Question, answer: str | None, known: Sequence[Material], row: Row, found: Sequence[Material]
) -> Accepted:
    """Return what an answer (by default the first reading) accepts; several may be joined by commas.

    Raises:
        BadInput: it is none of the readings.
    """
    if answer is None:
        keys = [question.readings[0].key] if question.readings else [AS_WRITTEN]
    else:
        keys = []
        whole = chosen(question, answer)
        for bit in [answer] if whole else answer.split(","):
            key = chosen(question, bit) or next(
                (m.title for m in known if m.title.casefold() == bit.strip().casefold()), None
            )
            if key is None:
                names = ", ".join(r.key for r in question.readings)
                raise BadInput(f"'{bit.strip()[:40]}' does not answer {question.id}: choose one of {names}")
            keys.append(key)
    if ANY in keys:
        return Accepted(None, row.thickness_name)
    if AS_WRITTEN in keys:
        return Accepted(
            (row.material,) if row.material else None, row.rip_from or row.nominal or row.thickness_name
        )
    for form in Form:
        if f"{ANY} {form}" in keys:
            return _of(m for m in found if m.form is form)
    return _of(m for m in known if m.title in keys)


def _part(number: int, row: Row, accepted: Accepted) -> JobPart:
    note = row.note
    if row.rip_from and "rip" not in note.casefold():
        note = "; ".join(n for n in (note, f"rip from {row.rip_from}") if n)
    return JobPart(
        name=row.name or f"part {number}",
        count=row.count,
        length=row.length,
        width=row.width,
        thickness_name=accepted.thickness_name,
        materials=accepted.titles,
        grain=Grain(row.grain.value) if row.grain else Grain.ALONG,
        bands=row.bands,
        finished_length=row.finished_length,
        finished_width=row.finished_width,
        note=note,
    )


def _no_idle_answers(answers: Mapping[str, str], questions: Sequence[Question], text: str) -> None:
    """Refuse an answer whose id can belong to no question about this list: it is a slip of the pen."""
    last = text.count("\n") + 1
    for id in answers:
        stem = id.rstrip("0123456789.")
        number = id[len(stem) :].split(".")[0]
        listed = stem in ("first", "three", "count", "unit", "finished", "columns") and not number
        lined = stem in ("line", "grain", "edges", "heading", "material") and number.isdigit()
        if not listed and not (lined and 1 <= int(number) <= max(last, 1)):
            open_ids = ", ".join(q.id for q in questions) or "none is open"
            raise BadInput(f"there is no question '{id[:40]}': the questions are {open_ids}")
