"""What of a planned job goes on the router: its sheets as plain data, their drawings, outlines of parts."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from stockyard.desk.file_names import file_stem
from stockyard.desk.frames import in_one_piece
from stockyard.desk.papers import cards_and_work, plan_that_holds
from stockyard.desk.routed_sheets import look_at_size, sheet_files
from stockyard.errors import Refused
from stockyard.printing.outline_name import outline_name
from stockyard.printing.papers import CutCard
from stockyard.printing.routed_sheet import DrawingRules, Outline, Remain, RoutedPart, RoutedSheet
from stockyard.routing import Release, layers_named, layers_text
from stockyard.settings import Settings, change
from stockyard.yard import Yard, jobs
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, Piece, State
from stockyard.yard.pieces import by_tag, offcuts_of, told
from stockyard.yard.planned import GivenOffcut, StoredPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """How drawings are wanted this time; None and nothing: as the shop's settings say."""

    form: str | None = None
    unit: str | None = None
    origin: str | None = None
    along: str | None = None
    layers: Sequence[tuple[str, str]] = ()


def drawings(yard: Yard, name: str, wanted: Drawn) -> tuple[tuple[str, bytes], ...]:
    """Return a file for each sheet of a planned job that goes on the router, by its name.

    Raises:
        BadInput: no such job, or a wish that cannot be.
        Refused: no plan that holds, or nothing of it goes on the router.
    """
    with yard.reading():
        job = jobs.planned_job(yard, name)
        sheets = sheets_of_plan(yard, job)
        if not sheets:
            raise Refused(f"nothing of job {job.name} goes on the router: say so, then plan it again")
        rules, svg = rules_for(yard.settings, wanted)
    return tuple(sheet_files(sheets, rules, svg=svg))


def rules_for(settings: Settings, wanted: Drawn) -> tuple[DrawingRules, bool]:
    """Return how sheets are drawn, and whether as SVG: as the settings say where nothing else is wanted.

    Raises:
        BadInput: a wish that cannot be.
    """
    given = {"drawing_form": wanted.form, "drawing_unit": wanted.unit, "origin": wanted.origin,
             "sheet_along": wanted.along}  # fmt: skip
    if wanted.layers:  # with the form, which may not hold a usual name that another takes the place of
        layers = layers_named(wanted.layers, settings.drawing_rules.layers)
        form = wanted.form or settings.drawing_form
        layers.check(Release.R12 if form == Release.R12 else Release.R2000)
        given["layers"] = layers_text(layers)
    settings = change(settings, {name: text for name, text in given.items() if text is not None})
    return settings.drawing_rules, settings.drawing_form == "SVG"


def sheets_of_plan(yard: Yard, job: Job) -> tuple[RoutedSheet, ...]:
    """Return the sheets of the plan of `job` that stands or finished it which go on the router.

    Raises:
        Refused: it has no plan that holds.
    """
    plan = plan_that_holds(yard, job)
    return routed_sheets_of(yard, job, plan, cards_and_work(yard, job, plan)[0])


def routed_sheets_of(
    yard: Yard, job: Job, plan: StoredPlan, cards: Collection[CutCard]
) -> tuple[RoutedSheet, ...]:
    """Return the sheet of every card of a plan that goes on the router."""
    if not any(card.routed for card in cards):
        return ()
    thick = {m.title: int(m.thickness) for m in materials(yard)}
    made = json.loads(plan.making.settings) if plan.making else {}
    shapes = outlines(yard, job)
    return tuple(
        replace(
            _sheet(card, thick.get(card.material), shapes, *_rests(yard, card)),
            stem=f"{file_stem(job)} - card {card.number} of {card.of} {card.tag or 'to buy'}",
            bit=made.get("bit"),
            one_pass=bool(made.get("one_pass")),
        )
        for card in cards
        if card.routed
    )


def outlines(yard: Yard, job: Job) -> dict[str, Outline]:
    """Return the shape of every part of a job that has one, by its name in plans.

    Raises:
        BadInput: a file that cannot be read, or is not of its part's size any more.
    """
    found = {}
    for name, part in jobs.named_parts(job):
        if part.outline:
            from stockyard.printing.outline_file import read_outline

            shape = read_outline(part.outline.encode("utf-8"), f"outline of {name}", yard.unit)
            look_at_size(name, part.length, part.width, shape, yard.unit)
            found[name] = replace(shape, file=outline_name(part.outline))
    return found


def _rests(yard: Yard, card: CutCard) -> tuple[tuple[Remain, ...], tuple[Remain, ...]]:
    """Return what goes back of a card's piece, and what would where nothing of it is cut up.

    Of a piece that is cut the first is what was really kept, and there is no other.
    """
    planned = tuple(Remain(box=(f.x, f.y, f.dx, f.dy), tag=f.tag, place=f.place) for f in card.leftovers)
    if not card.tag:
        return planned, ()
    piece = by_tag(yard, card.tag)
    whole = tuple(_whole(o) for o in in_one_piece(yard, piece))
    if piece.state is not State.CUT:
        return planned, whole
    return tuple(_kept(yard, p, (*whole, *planned)) for p in offcuts_of(yard, piece.tag)), ()


def _whole(o: GivenOffcut) -> Remain:
    x, y = o.at or (0, 0)
    holes = tuple((x + h.x, y + h.y, h.dx, h.dy) for h in o.holes)
    return Remain(box=(x, y, o.length, o.width), tag=o.tag or "", holes=holes)


def _kept(yard: Yard, p: Piece, spots: Iterable[Remain]) -> Remain:
    """Return an offcut as it is now, where it lay if it is of a size that was to come of there."""
    size = (p.length, p.width)
    at = next((s for s in spots if s.tag in ("", p.tag) and s.box[2:] == size), None)
    spot = at or Remain(box=(0, 0, *size), drawn=False)
    return replace(spot, tag=p.tag, place=told(yard, p), kept=True)


def _sheet(
    card: CutCard,
    thickness: int | None,
    shapes: Mapping[str, Outline],
    remains: tuple[Remain, ...],
    instead: tuple[Remain, ...],
) -> RoutedSheet:
    parts = tuple(
        RoutedPart(
            label=p.title, box=(p.x, p.y, p.dx, p.dy), turned=p.turned, outline=shapes.get(p.line)
        )
        for p in card.parts
    )  # fmt: skip
    return RoutedSheet(
        name=f"{card.job}, card {card.number} of {card.of}, {card.tag or 'to buy'}",
        material=card.material,
        length=card.length,
        width=card.width,
        thickness=thickness,
        grain=card.grain,
        parts=parts,
        clamps=card.clamps,
        flaws=card.flaws,
        remains=remains,
        instead=instead,
        place=card.place,
        note=card.note,
    )  # fmt: skip
