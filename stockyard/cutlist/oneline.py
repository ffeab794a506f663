"""Several parts on one line: whether the material said with one of them holds for the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stockyard.cutlist.draft import Draft, Heading, Substance
from stockyard.cutlist.figures import Fix, Unclear
from stockyard.cutlist.model import Use

_ALL = frozenset(("all", "both", "everything"))
_ONLY = "only"


def whole_line(drafts: Sequence[Draft], heading: Heading) -> list[Draft]:
    """Return the parts of one line, with the material named at its end given to those that name none.

    Raises:
        Unclear: it may hold for the last part alone, or for those behind it too.
    """
    saying = [d for d in drafts if d.own.words or d.own.thickness]
    if len(drafts) < 2 or len(saying) != 1:
        return list(drafts)
    (teller,) = saying
    said = teller.own
    lacking = [d for d in drafts if d is not teller and _lacks(d, said, heading)]
    if not lacking or teller.lead == _ONLY:
        return list(drafts)
    if teller.lead not in _ALL and (teller is not drafts[-1] or not _free(lacking, heading)):
        raise _doubt(teller, lacking)
    return [_given(d, said) if d in lacking else d for d in drafts]


def _lacks(draft: Draft, said: Substance, heading: Heading) -> bool:
    """Whether a part has no word of its own on what another part of the line names."""
    if draft.nominal or draft.first.quarter:
        return False
    thick = said.thickness is not None and draft.thickness is None
    words = bool(said.words) and draft.material in ("", heading.material)
    return thick or words


def _free(lacking: Sequence[Draft], heading: Heading) -> bool:
    """Whether no heading and no word of their own says what these parts are made of."""
    return not (heading.material or heading.thickness) and not any(d.material for d in lacking)


def _given(draft: Draft, said: Substance) -> Draft:
    thickness = draft.named if draft.thickness else said.thickness or draft.named
    return replace(draft, material=said.words or draft.material, named=thickness)


def _doubt(teller: Draft, lacking: Sequence[Draft]) -> Unclear:
    start = min(a for a, _, use in teller.spans if use in (Use.THICKNESS, Use.MATERIAL))
    names = ", ".join(d.name or "the part beside it" for d in lacking[:3])
    said = " ".join(
        w for w in (teller.own.thickness.text if teller.own.thickness else "", teller.own.words) if w
    )
    fixes = (
        Fix("for all parts of the line", start, start, "all in "),
        Fix(f"only for {teller.name or 'that part'}", start, start, f"{_ONLY} in "),
    )
    return Unclear(f"'{said}': for {names} too?", start, fixes)
