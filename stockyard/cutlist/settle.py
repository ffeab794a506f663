"""Drafts become rows once the list's unit, its order of figures and its kind of sizes are settled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockyard.cutlist.batching import with_batches
from stockyard.cutlist.draft import Draft, Order, Shop
from stockyard.cutlist.faces import Faces, Matters, lines_of
from stockyard.cutlist.figures import MOST_PARTS, Figure, thickness_name
from stockyard.cutlist.finished import BandWays, with_bands
from stockyard.cutlist.matching import with_sets
from stockyard.cutlist.model import Question, Reading, Remark, Row
from stockyard.cutlist.notes import ASK
from stockyard.cutlist.questions import Asked, about_list
from stockyard.cutlist.roughing import with_rough
from stockyard.cutlist.units import row_unit, with_units
from stockyard.kinds import Grain
from stockyard.measure import Length, Unit, show


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """How the caller wants lists read: see `stockyard.cutlist.read`."""

    unit: Unit
    first: str | None = None
    finished: bool | None = None
    band_thickness: int = 0
    band_trim: int = 0


@dataclass(frozen=True, slots=True)
class Settled:
    """The rows, what is worth a look, and the lines that turned out to be no part."""

    rows: tuple[Row, ...]
    warnings: tuple[Remark, ...]


def settle(drafts: Sequence[Draft], shop: Shop, ways: Ways, asked: Asked) -> Settled:
    """Turn drafts into rows, asking `asked` what the list leaves open."""
    if not drafts:
        return Settled((), ())
    unit, drafts = with_units(drafts, ways.unit, asked)
    counts = _counts(drafts, asked)
    matters = Matters(drafts, shop)
    warnings: list[Remark] = []
    faces = Faces(unit, ways.first, asked, matters)
    faces.ask(drafts)
    rows = [_row(d, counts, unit, shop, faces, asked, warnings) for d in drafts]
    rows = with_bands(drafts, rows, BandWays(ways.finished, ways.band_thickness, ways.band_trim, unit), asked)
    rows = with_rough(drafts, with_batches(with_sets(drafts, rows, asked)), unit, asked)
    if faces.sticks:
        lines = ", ".join(str(n) for n in faces.sticks[:12]) + (" ..." if len(faces.sticks) > 12 else "")
        text = f"solid wood: the longer figure is taken as the length, along the grain (line {lines})"
        warnings.append(Remark(faces.sticks[0], text))
    return Settled(tuple(rows), tuple(warnings))


def thick_ticks(figure: Figure, unit: Unit) -> int:
    """Return a thickness in ticks: a bare fraction is always inches."""
    return figure.ticks(Unit.INCH if figure.fraction else unit)


def _counts(drafts: Sequence[Draft], asked: Asked) -> dict[int, int]:
    """Return how many of each, for the lines that give no count: asked once for all of them."""
    without = [d for d in drafts if d.count is None]
    if not without:
        return {}
    many = f"{len(without)} parts have no count" if len(without) > 1 else "this part has no count"
    readings = (("one", "one of each" if len(without) > 1 else "one"),)
    question = about_list("count", many, readings, lines_of(without), without[0].text, or_else="how many")
    keys = asked.each(question, lambda text: text if text.isdigit() and 0 < int(text) <= MOST_PARTS else None)
    return {line: 1 if key == "one" else int(key) for line, key in keys.items()}


def _row(
    draft: Draft, counts: Mapping[int, int], unit: Unit, shop: Shop, faces: Faces, asked: Asked,
    warnings: list[Remark],
) -> Row:  # fmt: skip
    own = row_unit(draft, unit)
    thickness = thick_ticks(draft.thickness, own) if draft.thickness else None
    if draft.nominal and draft.second is None:
        actual = shop.lumber.actual(draft.nominal)
        thickness, width = actual if actual else (thickness, 0)
        length = draft.first.ticks(own)
    else:
        length, width = faces.of(draft)
    length, width, grain = _grain(draft, length, width, unit, asked)
    thickness, name = _thickness(draft, thickness, unit, own, shop, warnings)
    return Row(
        name=draft.name, count=counts[draft.line] if draft.count is None else draft.count,
        length=Length(length), width=Length(width), thickness=Length(thickness) if thickness else None,
        thickness_name=name, material=draft.material,
        nominal=draft.nominal, rip_from=draft.rip_from, grain=grain, note=draft.note, line=draft.line,
        column=draft.column, text=draft.text, batch=draft.batch,
    )  # fmt: skip


def _grain(draft: Draft, length: int, width: int, unit: Unit, asked: Asked) -> tuple[int, int, Grain | None]:
    """Settle the grain of one row; "grain up" and the like are asked."""
    if draft.grain != ASK:
        return length, width, Grain(draft.grain) if draft.grain else None
    says = (
        ("along", f"along {show(length, unit)}"),
        ("across", f"along {show(width, unit)}"),
        ("any", "either way"),
    )
    question = Question(
        id=f"grain{draft.line}" + (f".{draft.column}" if draft.column > 1 else ""),
        line=draft.line,
        column=draft.column,
        text=draft.text.strip()[:200],
        unclear=f"which way does the grain run on {draft.name or 'this part'}?",
        readings=tuple(Reading(k, s) for k, s in says),
        lines=(draft.line,),
        kind="row",
    )
    key = asked.settle(question)
    if key == "across" and draft.order is not Order.SAID:
        return width, length, Grain.ALONG
    return length, width, Grain(key)


def _thickness(
    draft: Draft, own: int | None, unit: Unit, own_unit: Unit, shop: Shop, warnings: list[Remark]
) -> tuple[int | None, str | None]:
    """Return a row's thickness in ticks and its trade name."""
    named = draft.named
    if draft.nominal:
        return own, None
    if named is None:
        return own, thickness_name(draft.thickness, own_unit) if draft.thickness else None
    if named.quarter:
        quarter = shop.lumber.quarters.get(named.quarter)
        if quarter and quarter.two_sides and own and own > quarter.two_sides:
            most, this = show(quarter.two_sides, Unit.INCH), show(own, Unit.INCH)
            text = f"{named.quarter} surfaces to {most} in, this part is {this} in thick"
            warnings.append(Remark(draft.line, text))
        return own, named.quarter
    named_unit = unit if draft.carried or named is draft.heading.thickness else own_unit
    ticks = thick_ticks(named, named_unit)
    if own is None or own == ticks:
        return ticks, thickness_name(named, named_unit)
    assert draft.thickness is not None
    mine = thickness_name(draft.thickness, own_unit)
    warnings.append(
        Remark(
            draft.line, f"{mine} thick, where {thickness_name(named, named_unit)} is named above or beside"
        )
    )
    return own, mine
