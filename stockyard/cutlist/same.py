"""What "same", "same ply" and "as above" stand for: material and thickness of a part read before."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from stockyard.cutlist.asides import Said, Same, names_stuff, thickness_only
from stockyard.cutlist.draft import Above, Draft, Heading, Substance
from stockyard.cutlist.figures import Fix, Unclear


def meant(said: Said, heading: Heading, above: Above) -> Substance:
    """Return material and thickness of an entry, with what "same ply" stands for.

    Raises:
        Unclear: "same" stands for nothing, or for something else than the heading says.
    """
    same, own = said.same, said.substance
    if same is None:
        return own
    words = f"'{same.what or 'same'}'"
    part = above.latest(same.whose)
    if part is None:
        headed = heading.material and same.what and not same.whose and names_stuff(same, heading.material)
        if headed and not above.doubtful:
            return own  # what the heading says holds for it anyway
        raise Unclear(f"{words} stands for nothing: no such part is read before it", same.start)
    old = carried(part)
    if not (old.words or old.thickness) or part.nominal:
        raise Unclear(f"{words} stands for nothing: the part before it says no material", same.start)
    if thickness_only(same):
        old = Substance("", old.thickness)
    elif not names_stuff(same, old.words):
        raise Unclear(f"'same {same.what}': the part before it is of {told(old)}", same.start)
    if (own.words and old.words) or (own.thickness and old.thickness):
        raise Unclear("'same' and a material of its own", same.start)
    _not_the_heading(same, old, heading, part)
    if part.bands and not same.what:
        fixes = (
            Fix("the same material, no bands", same.start, same.end, "same material"),
            Fix("the same material and bands", same.start, same.end, f"same material, eb {part.bands}"),
        )
        raise Unclear("'same': the bands of the part before it too?", same.start, fixes)
    return Substance(own.words or old.words, own.thickness or old.thickness, own.used)


def _not_the_heading(same: Same, old: Substance, heading: Heading, part: Draft) -> None:
    """Ask when a heading between a part and its "same" says another material."""
    above = Substance(heading.material, heading.thickness)
    if heading.line <= part.line or told(above) in ("", told(old)):
        return
    fixes = tuple(Fix(f"of {told(s)}", same.start, same.end, f", in {told(s)}") for s in (old, above))
    raise Unclear(f"'same': as {part.name or 'the part before'}, or as the heading says?", same.start, fixes)


def told(substance: Substance) -> str:
    """Say thickness and material as a list does: "3/4 birch ply"."""
    thick = substance.thickness.text if substance.thickness else ""
    return f"{thick} {substance.words}".strip()


def carried(draft: Draft) -> Substance:
    """Return material and thickness of a part for another one; a bare figure has the unit beside it."""
    quarter = draft.named if draft.named and draft.named.quarter else None
    thickness = quarter or draft.thickness or draft.named
    if thickness and not (thickness.unit or thickness.fraction or draft.carried):
        marked = {f.unit for f in (draft.first, draft.second, draft.thickness) if f and f.unit}
        if len(marked) == 1:
            unit = marked.pop()
            ticks = Fraction(thickness.ticks(unit))
            thickness = replace(thickness, value=ticks, unit=unit)
    return Substance(draft.material, thickness)
