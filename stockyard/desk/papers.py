"""The papers of a job: its standing plan and the yard turned into what printing takes."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from stockyard import handling, woods
from stockyard.advice.shelving import Stored, rank
from stockyard.desk.allowances import rough_words
from stockyard.desk.band_words import banded_edges, finished_size
from stockyard.desk.card_numbers import sawn_from, still_true
from stockyard.desk.cards import Line, drawn_parts, steps_of
from stockyard.desk.pull_walk import dated, pull_list_of
from stockyard.desk.set_marks import Copy, copies_of, with_panels, with_words
from stockyard.desk.shelve_advice import spots
from stockyard.desk.stored_layouts import layouts_of, leftover_word, work_of
from stockyard.errors import BadInput, Refused
from stockyard.flaws import Flaw
from stockyard.kinds import Form, Kind, Method
from stockyard.measure import Length, Unit
from stockyard.planning.plan import Layout
from stockyard.planning.problem import Stock
from stockyard.printing.job_order import numbered
from stockyard.printing.papers import CutCard, DrawnLeftover, DrawnPart, Edge, JobPapers, Turn
from stockyard.printing.replay import Area, replay
from stockyard.routing import clamps_of, clipped
from stockyard.yard.jobs import cut_so_far, named_parts
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, Material, Piece, State
from stockyard.yard.pieces import by_tag, on_hand
from stockyard.yard.places import places
from stockyard.yard.planned import StoredLayout, StoredPlan
from stockyard.yard.plans import latest_plan, printed_plan, standing_plan
from stockyard.yard.store import Yard

DONE = "done"
CUT_ALREADY = "cut already"
NO_GUIDE = "hand-held saw"
"""What a shop without a guided saw breaks down with."""
TWO = 2


def papers_of(yard: Yard, job: Job, *, changed: bool = False) -> JobPapers:
    """Return the pull list and the cut cards of the plan of `job` that stands or finished it.

    `changed`: only the cards that are not as they were last printed.

    Raises:
        Refused: the job has no plan, the plan lost a piece, the kerf was changed since, or no card changed.
    """
    plan = plan_that_holds(yard, job)
    cards, work = cards_and_work(yard, job, plan, changed_cards(yard, job, plan) if changed else None)
    return JobPapers(pull_list=pull_list_of(yard, job, plan), cards=cards, work=work)


def changed_cards(yard: Yard, job: Job, plan: StoredPlan) -> frozenset[int]:
    """Return the numbers of the cards that are not as they were last printed.

    Raises:
        Refused: all are.
    """
    before = printed_plan(yard, job.id)
    found = frozenset(x.number for x in plan.layouts) - (still_true(yard, before, plan) if before else set())
    if not found:
        raise Refused(f"no cut card of job {job.name} changed: those in hand still hold")
    return found


def job_cards(yard: Yard, job: Job) -> tuple[CutCard, ...]:
    """Return the cut cards of the standing plan of `job`; errors as `papers_of`."""
    return cards_and_work(yard, job, plan_that_holds(yard, job))[0]


def uncut_tags(yard: Yard, job: Job) -> tuple[str, ...]:
    """Return the tags of the pieces that the plan still has to cut, in the order of its cards."""
    tags = [x.tag for x in plan_that_holds(yard, job).layouts if x.tag is not None]
    return tuple(tag for tag in tags if by_tag(yard, tag).state is not State.CUT)


def plan_to_print(yard: Yard, job: Job) -> StoredPlan | None:
    """Return the plan of `job` that stands or is broken, else its last one if that is done."""
    last = latest_plan(yard, job.id)
    return standing_plan(yard, job.id) or (last if last is not None and last.state == DONE else None)


def plan_that_holds(yard: Yard, job: Job) -> StoredPlan:
    """Return the plan of `job` that papers are printed of.

    Raises:
        Refused: it has none, or that lost a piece.
    """
    plan = plan_to_print(yard, job)
    if plan is None:
        raise Refused(f"job {job.name} has no plan yet", "no plan", {"job": job.name})
    if plan.state == "broken":
        raise Refused(
            f"the plan of job {job.name} no longer holds ({plan.why})", "plan broken", {"job": job.name}
        )
    return plan


def lines_of(yard: Yard, job: Job, plan: StoredPlan) -> dict[str, Line]:
    """Return the lines of the cut list by name, with how many of each were cut before this plan.

    Cards and labels number their parts by it, so that what is printed again keeps its number.
    """
    before = cut_so_far(yard, job.id)
    for layout, stored in zip(layouts_of(plan.layouts), plan.layouts, strict=True):
        if is_cut(yard, plan, stored):
            before.subtract(placed.part for placed in layout.parts)
    return {
        name: Line(
            length=part.length, of=part.count, before=max(before[name], 0),
            finished=finished_size(part), band=banded_edges(part, yard.unit),
            then=rough_words(part, yard.unit, yard.settings.fence),
        )
        for name, part in named_parts(job)
    }  # fmt: skip


def is_cut(yard: Yard, plan: StoredPlan, stored: StoredLayout) -> bool:
    """Whether the piece of a layout was cut."""
    return plan.state == DONE or (stored.tag is not None and by_tag(yard, stored.tag).state is State.CUT)


def cards_and_work(
    yard: Yard, job: Job, plan: StoredPlan, only: Collection[int] | None = None
) -> tuple[tuple[CutCard, ...], tuple[Turn, ...]]:
    """Return a cut card for every piece of `plan`, or those of `only` these numbers, and the order in which
    they are sawn.

    Raises:
        Refused: the kerf was changed since.
    """
    layouts = layouts_of(plan.layouts)
    sets = copies_of(job, plan, yard.settings)
    drawn_on = drawn_parts(layouts, lines_of(yard, job, plan), plan.layouts)
    finder = PlaceFinder(yard)
    known = {m.id: m for m in materials(yard)}
    cards = [
        _card(yard, job, plan, layout, stored, stock, known[stored.material_id], drawn, copies, finder)
        for layout, stored, stock, drawn, copies in zip(
            layouts, plan.layouts, sawn_from(yard, plan.layouts), drawn_on, sets, strict=True
        )
    ]
    work = tuple((plan.layouts[turn.layout - 1].number, turn.step) for turn in work_of(plan.layouts))
    if only is not None:
        cards = [card for card in cards if card.number in only]
        work = tuple(turn for turn in work if turn[0] in only)
    return numbered(cards, work, yard.settings.saws), work


def _card(
    yard: Yard,
    job: Job,
    plan: StoredPlan,
    layout: Layout,
    stored: StoredLayout,
    stock: Stock,
    material: Material,
    parts: tuple[DrawnPart, ...],
    sets: list[Copy],
    finder: PlaceFinder,
) -> CutCard:
    settings = yard.settings
    where = {p.id: p.code for p in places(yard)}
    piece = by_tag(yard, stored.tag) if stored.tag else None
    routed = stored.method is Method.ROUTER
    card = CutCard(
        job=job.name,
        date=dated(plan),
        unit=yard.unit,
        finest=settings.fence,
        number=stored.number,
        of=plan.layouts[-1].number,
        tag=stored.tag or "",
        material=material.title,
        length=stored.length,
        width=stored.width,
        full=stock.kind is Kind.FULL and material.form is Form.SHEET,
        grain=material.grain,
        place=CUT_ALREADY if plan.state == DONE else _whereabouts(piece, where),
        kerf=Length(settings.gap if routed else settings.kerf),
        parts=tuple(with_words(parts, sets)),
        leftovers=_leftovers(layout, stored, material, piece, finder),
        flaws=piece.flaws if piece else (),
        clamps=_clamps(plan, stored) if routed else (),
        steps=with_panels(
            steps_of(layout, stock, settings.kerf, settings.saws, {c.step: c.setting for c in stored.cuts}),
            layout,
            stored.length,
            stored.width,
            settings.kerf,
            sets,
        ),
        sets=tuple(copy.drawn() for copy in sets),
        note=piece.note if piece else "",
        heavy=_heavy(piece, material, stored, settings.unit),
        guide=settings.guide_name if settings.guide_length else NO_GUIDE,
        routed=routed,
    )
    _check(card)
    return card


def _clamps(plan: StoredPlan, stored: StoredLayout) -> tuple[Flaw, ...]:
    """Return where the table holds a piece, as the plan was made for it."""
    made = json.loads(plan.making.settings) if plan.making else {}
    return tuple(Flaw(*b) for b in clipped(clamps_of(made.get("clamps", "")), stored.length, stored.width))


def _heavy(piece: Piece | None, material: Material, stored: StoredLayout, unit: Unit) -> str:
    """Say what a piece's weight asks for, as its pull list does, where two people are not enough for it."""
    if not material.density:
        return ""
    thick = (piece.thickness if piece else None) or material.thickness
    found = handling.lift(handling.weight(stored.length, stored.width, thick, material.density), unit)
    return found.says if found.people is None or found.people > TWO else ""


def _whereabouts(piece: Piece | None, where: Mapping[int, str]) -> str:
    if piece is None:
        return "still to buy"
    if piece.place_id is not None:
        return f"from {where[piece.place_id]}"
    return CUT_ALREADY if piece.state is State.CUT else "at the saw"


def _leftovers(
    layout: Layout, stored: StoredLayout, material: Material, piece: Piece | None, finder: PlaceFinder
) -> tuple[DrawnLeftover, ...]:
    thickness = piece.thickness if piece else None
    word = leftover_word(layout)
    return tuple(
        DrawnLeftover(
            name=f"{word} {n}",
            tag=given.tag or "",
            place=finder.place_for(lying(material, left.dx, left.dy, thickness)),
            x=Length(left.x),
            y=Length(left.y),
            dx=Length(left.dx),
            dy=Length(left.dy),
            factory=tuple(Edge(edge) for edge in left.factory),
        )
        for n, (left, given) in enumerate(zip(layout.leftovers, stored.leftovers, strict=True), 1)
    )


def _check(card: CutCard) -> None:
    """Refuse a card whose steps do not give what is drawn: the kerf was changed after the plan was made."""
    things: Sequence[DrawnPart | DrawnLeftover] = (*card.parts, *card.leftovers)
    drawn = {thing.name: Area(thing.x, thing.y, thing.dx, thing.dy) for thing in things}
    if not card.steps:
        return
    try:
        bench = replay(card)
        given = {name: bench.areas[name] for name in bench.remaining}
    except BadInput:
        given = {}
    if given != drawn:
        raise Refused(
            f"the plan of job {card.job} was made for another kerf than the settings give now: plan it again"
        )


class PlaceFinder:
    """Suggests where leftovers go, one after the other, each counting those before it."""

    def __init__(self, yard: Yard) -> None:
        self._unit = yard.unit
        self._spots = {s.code: s for s in spots(yard, on_hand(yard, states=(State.RACKED, State.PROMISED)))}

    def place_for(self, left: Stored) -> str:
        """Return the code of the best place, empty when none is good."""
        wood = woods.look_up(left.material)
        ranked = rank(left, self._spots.values(), unit=self._unit, stiffness=wood.stiffness if wood else None)
        if not ranked or not ranked[0].ok:
            return ""
        spot = self._spots[ranked[0].code]
        self._spots[spot.code] = replace(spot, held=(*spot.held, left))
        return spot.code


def lying(material: Material, length: int, width: int, thickness: int | None) -> Stored:
    """Return a leftover of this size (ticks) as the advice on places sees it."""
    thick = thickness or material.thickness
    grams = handling.weight(length, width, thick, material.density) if material.density else None
    return Stored(
        material=material.name,
        thickness_name=material.thickness_name,
        length=Length(length),
        width=Length(width),
        thickness=Length(thick),
        grams=grams,
        full=False,
        form=material.form,
    )
