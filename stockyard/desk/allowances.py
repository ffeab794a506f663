"""Rough, then final: what the parts of a job are sawn larger, as they, their material or the shop say."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import reduce

from stockyard import rough
from stockyard.errors import BadInput
from stockyard.kinds import Form, Method
from stockyard.measure import Length, Unit, show
from stockyard.rough import AS_IS, NONE, USUAL, Over
from stockyard.settings import Settings
from stockyard.yard.model import JobPart, Material


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
        return roughened(bare, over_said(word, accepted, settings), accepted, settings.unit)
    over = rough.read_over(said, settings.unit)
    if not over.face and part.final_thickness:  # nothing is said of its faces: they stay as they are
        over = replace(over, face=planed_over(accepted, settings).face)
    return roughened(bare, over, accepted, settings.unit, part.final_thickness if over.face else None)


def planed_over(accepted: Sequence[Material], settings: Settings) -> Over:
    """Return what comes off the faces of these materials where they are planed: the most of their own."""
    return reduce(Over.most, (m.over or usual_over(settings) for m in accepted), NONE)


def over_said(said: str, accepted: Sequence[Material], settings: Settings) -> Over | None:
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


def rough_words(part: JobPart, unit: Unit, finest: int = 64) -> str:
    """Say what a part is milled and trimmed to: "trim to 24 × 4, plane to 13/16", empty for one as sawn."""
    if not part.rough:
        return ""
    length, width = (show(side, unit, finest=finest) for side in part.trimmed)
    thick = part.final_thickness
    plane = f", plane to {show(thick, unit, mark=True, finest=finest)}" if thick else ""
    return f"trim to {length} × {width}{plane}" if part.over_length or part.over_width else plane[2:]
