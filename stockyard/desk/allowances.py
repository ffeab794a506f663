"""Rough, then final: what the parts of a job are sawn larger, as they, their material or the shop say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce

from stockyard import rough
from stockyard.cutlist import Question, Reading, Row
from stockyard.cutlist.questions import chosen
from stockyard.errors import BadInput
from stockyard.kinds import Form, Method
from stockyard.measure import Length, Unit, show
from stockyard.rough import AS_IS, NONE, OWN, USUAL, Over
from stockyard.settings import Settings
from stockyard.yard.accepted import accepts
from stockyard.yard.model import JobPart, Material


@dataclass(frozen=True, slots=True)
class Roughened:
    """The parts in the sizes that are sawn, and what must be asked of those that can not be."""

    parts: tuple[JobPart, ...]
    questions: tuple[Question, ...]


def usual_over(settings: Settings) -> Over:
    """Return the allowance of material that is milled where nobody says another."""
    return Over.of(usual_by(settings))


def usual_by(settings: Settings) -> dict[str, Over]:
    """Return what each machine takes where nobody says another figure."""
    none = Length(0)
    return {
        "saw": Over(Length(settings.saw_length), Length(settings.saw_width)),
        "jointer": Over(none, Length(settings.jointer_width), Length(settings.jointer_face)),
        "planer": Over(Length(settings.planer_length), none, Length(settings.planer_face)),
    }


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
        over = _over("" if row.rough == OWN else row.rough, accepted, settings)
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


def roughened(
    part: JobPart, over: Over | None, accepted: Iterable[Material], unit: Unit, final: int | None = None
) -> JobPart:
    """Return a part, of the size that it is trimmed to, in the size that is sawn for it; None: as it is.

    `final` is the thickness that it is to be planed to, None for what is left of the thinnest material.

    Raises:
        BadInput: the allowance is larger than the part, or a material too thin; one line names the part.
    """
    if over is None:
        return part
    thick = [m.thickness for m in accepted]
    why = rough.too_large(over, part.length, part.width, unit)
    if over.face and thick:
        why = why or rough.too_thin(over, min(thick), final, unit)
    if why:
        raise BadInput(f"part {part.name}: {why}")
    length, width = over.sawn(part.length, part.width)
    planed = final or (over.planed(min(thick)) if over.face and thick else None)
    finished = part.finished_length or part.length, part.finished_width or part.width
    return replace(
        part, length=length, width=width,
        finished_length=Length(finished[0]), finished_width=Length(finished[1]),
        over_length=over.length, over_width=over.width,
        final_thickness=Length(planed) if over.face and planed else None,
    )  # fmt: skip


def again(part: JobPart, said: str, accepted: Sequence[Material], settings: Settings) -> JobPart:
    """Return a stored part with another allowance: `usual`, `as is` or its own, `1/2 x 1/4`.

    Raises:
        BadInput: it is none, it is larger than the part, or a material is too thin.
    """
    length, width = part.trimmed
    bare = replace(
        part, length=Length(length), width=Length(width), over_length=Length(0), over_width=Length(0),
        final_thickness=None,
    )  # fmt: skip
    if not bare.bands:
        bare = replace(bare, finished_length=None, finished_width=None)
    word = said.strip().lower()
    if word in (AS_IS, USUAL):
        return roughened(bare, _over(word, accepted, settings), accepted, settings.unit)
    over = rough.read_over(said, settings.unit)
    if not over.face and part.final_thickness:  # nothing is said of its faces: they stay as they are
        over = replace(over, face=planed_over(accepted, settings).face)
    return roughened(bare, over, accepted, settings.unit, part.final_thickness if over.face else None)


def planed_over(accepted: Sequence[Material], settings: Settings) -> Over:
    """Return what comes off the faces of these materials where they are planed: the most of their own."""
    return reduce(Over.most, (m.over or usual_over(settings) for m in accepted), NONE)


def _over(said: str, accepted: Sequence[Material], settings: Settings) -> Over | None:
    """Return the allowance of a part: its materials' own, else the shop's where the part asks for one.

    A part that may come from several is sawn for the largest. What a router cuts comes off it in its size.
    """
    if said == AS_IS:
        return None
    sawn = [m for m in accepted if m.method is not Method.ROUTER or said == USUAL]
    own = [m.over for m in sawn if m.over is not None]
    if own and (said == USUAL or len(own) == len(accepted)):
        return reduce(Over.most, own, NONE)
    if said != USUAL:
        return None
    # Of sheets and of boards that are planed already only the size is left over.
    usual = usual_over(settings)
    return usual if accepted and all(_unplaned(m) for m in accepted) else replace(usual, face=Length(0))


def _unplaned(m: Material) -> bool:
    """Whether a material is rough by its name: boards in quarters of an inch."""
    return m.form is Form.BOARD and m.thickness_name.endswith("/4")


def _names_rough(row: Row, accepted: Sequence[Material]) -> bool:
    """Whether the thickness of a row is what it is planed to: the stock is named beside it."""
    return row.thickness is not None and any(m.form is Form.BOARD for m in accepted) and (
        (row.thickness_name or "").endswith("/4") or all(m.over is not None for m in accepted)
    )  # fmt: skip


def rough_words(part: JobPart, unit: Unit, finest: int = 64) -> str:
    """Say what a part is milled and trimmed to: "trim to 24 × 4, plane to 13/16", empty for one as sawn."""
    if not part.rough:
        return ""
    length, width = (show(side, unit, finest=finest) for side in part.trimmed)
    thick = part.final_thickness
    plane = f", plane to {show(thick, unit, mark=True, finest=finest)}" if thick else ""
    return f"trim to {length} × {width}{plane}" if part.over_length or part.over_width else plane[2:]


def _question(row: Row, unclear: str) -> Question:
    return Question(
        id=f"rough{row.line}" + (f".{row.column}" if row.column > 1 else ""),
        line=row.line, column=row.column, text=row.text.strip()[:200], lines=(row.line,), kind="row",
        unclear=unclear, readings=(Reading(AS_IS, "it is sawn to its size, nothing is added"),),
    )  # fmt: skip
