"""Read a pasted cut list: every line becomes rows, a heading, a question, a total, or is named as ignored."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from stockyard.cutlist.decode import checked
from stockyard.cutlist.draft import Draft, Shop
from stockyard.cutlist.lines import Lines
from stockyard.cutlist.lumber import Lumber
from stockyard.cutlist.model import CutList, KnownMaterial, Remark
from stockyard.cutlist.numbering import numbered_lines
from stockyard.cutlist.questions import Asked
from stockyard.cutlist.settle import Ways, settle
from stockyard.cutlist.words import has_grain, is_board
from stockyard.errors import BadInput
from stockyard.measure import Unit

_NO_ANSWERS: Mapping[str, str] = MappingProxyType({})
MOST_LINES = 20_000


def read(
    text: str,
    *,
    unit: Unit,
    materials: Sequence[str | KnownMaterial] = (),
    answers: Mapping[str, str] = _NO_ANSWERS,
    lumber: Lumber | None = None,
    first: str | None = None,
    finished: bool | None = None,
    band_thickness: int = 0,
    band_trim: int = 0,
) -> CutList:
    """Return what a cut list says; what is unclear comes back as questions, never as a guess.

    Args:
        text: the list: free lines, headed tables, or both.
        unit: of figures with no unit of their own (a list that looks otherwise is asked about).
        materials: the shop's materials; plain names are judged by their words.
        answers: question id -> key of a reading, the line written again, or `skip`.
        lumber: nominal sizes, by default PS 20-20 dry and the common hardwood quarters.
        first: "along" or "across": where the first of two figures lies when no header says it.
        finished: whether sizes are finished ones where the list does not say.
        band_thickness: ticks that one banded edge adds to a finished size where the list does not say.
        band_trim: ticks that a banded edge is sawn oversize, to be trimmed later.

    Raises:
        BadInput: the text is too long or no text, or an answer answers nothing.
    """
    if first not in (None, "along", "across"):
        raise BadInput(f"'{first}' is neither along nor across")
    raw = checked(text)
    if sum(1 for line in raw if line.strip()) > MOST_LINES:
        raise BadInput(f"the list has more than {MOST_LINES} lines: split it into jobs")
    shop = Shop.of(lumber or Lumber(), [_known(m) for m in materials])
    asked = Asked(answers)
    lines = Lines(shop, unit, asked, numbered_lines(raw))
    for number, line in enumerate(raw, start=1):
        lines.take(number, line)
    unequal = lines.finish()
    ways = Ways(unit=unit, first=first, finished=finished, band_thickness=band_thickness, band_trim=band_trim)
    settled = settle(lines.drafts, shop, ways, asked)
    warnings = [*settled.warnings, *unequal]
    return CutList(
        rows=settled.rows,
        questions=tuple(sorted(asked.open, key=lambda q: (q.kind != "list", q.line, q.column))),
        warnings=tuple(sorted(warnings, key=lambda w: w.line)),
        ignored=tuple(Remark(n, why) for n, why in lines.ignored),
        fates=tuple(lines.fates),
        unread=tuple(_unread(lines.drafts)),
        spans=tuple(lines.spans),
    )


def _unread(drafts: Sequence[Draft]) -> Iterator[Remark]:
    for draft in drafts:
        for words in draft.unread:
            yield Remark(draft.line, f"'{words}' is kept as a note")


def _known(material: str | KnownMaterial) -> KnownMaterial:
    if isinstance(material, KnownMaterial):
        return material
    return KnownMaterial(name=material, grain=has_grain(material), board=is_board(material))
