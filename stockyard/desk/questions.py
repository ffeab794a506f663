"""A job and what lies in the yard, as the planner's questions: sheets sawn, boards, sheets routed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from stockyard.desk.allowances import planed_over
from stockyard.desk.sets import groups_left
from stockyard.desk.shapes import shape_of
from stockyard.effort import SAME
from stockyard.errors import BadInput
from stockyard.kinds import Kind, Method
from stockyard.measure import Unit, decimal, show
from stockyard.planning.batches import unserved
from stockyard.planning.problem import Edge, Flaw, Group, Part, Problem, Stock, Trim, narrower_than_bit
from stockyard.rough import Over
from stockyard.routing import clamps_of, kept_clear
from stockyard.settings import Settings
from stockyard.worth import Worth
from stockyard.yard.accepted import accepts
from stockyard.yard.jobs import cut_of, named_parts
from stockyard.yard.materials import materials
from stockyard.yard.model import Form, Job, JobPart, Material, Offer, Piece, State
from stockyard.yard.offers import offers
from stockyard.yard.pieces import free_for
from stockyard.yard.places import places
from stockyard.yard.plan_rows import factory_edges
from stockyard.yard.store import Yard

RULES = ((Form.SHEET, Method.SAW), (Form.BOARD, Method.SAW), (Form.SHEET, Method.ROUTER))
"""What is asked apart: a shop keeps other leftovers of each, or cuts them otherwise. What is sawn comes
first, so that its rules hold where all of them are told as one."""

UNSERVED = "batch unserved"
"""The code of the fault that no pieces can give all parts of a batch."""

AT_SAW = (State.PULLED, State.BENCH)
"""Off the racks already."""


@dataclass(frozen=True, slots=True)
class Question:
    """One problem, and which physical pieces stand behind each of its stock rows, the nearest first."""

    problem: Problem
    pieces: Mapping[str, tuple[Piece, ...]]
    materials: Mapping[str, Material]
    form: Form = Form.SHEET

    @property
    def title(self) -> str:
        """What is asked for, beside the other questions of a job."""
        routed = self.problem.method is Method.ROUTER
        return "sheets on the router" if routed else f"{self.form.value}s"

    def without_pieces(self, tags: Collection[str]) -> Question:
        """Return the same question without some of the physical pieces."""
        left = {row: tuple(p for p in every if p.tag not in tags) for row, every in self.pieces.items()}
        stock = (replace(s, count=len(left[s.id])) if s.id in left else s for s in self.problem.stock)
        problem = replace(self.problem, stock=tuple(s for s in stock if s.count != 0))
        return replace(self, problem=problem, pieces={row: every for row, every in left.items() if every})

    def without_offcuts(self) -> Problem:
        """Return the same problem with full pieces only."""
        return replace(self.problem, stock=tuple(s for s in self.problem.stock if s.kind is Kind.FULL))


def questions(yard: Yard, job: Job, beside: Sequence[int] = ()) -> tuple[Question, ...]:
    """Return what must be planned for `job` now: parts cut already are left out.

    `beside` are jobs whose pieces it may take as well: their plans are given up for this one.

    Raises:
        BadInput: a part asks for a material that the yard does not know, or nothing is left to plan.
    """
    known = {m.title: m for m in materials(yard)}
    done = cut_of(yard, job)
    free = free_for(yard, job.id, *beside)
    wanted: dict[tuple[Form, Method], list[Part]] = {rule: [] for rule in RULES}
    for name, part in named_parts(job):
        left = part.count - done[name]
        if left > 0:
            accepted = _accepted(part, known.values())
            rule = known[accepted[0]].form, method_of(job, part, [known[title] for title in accepted])
            over = planed_over([known[title] for title in accepted], yard.settings)
            shaped = part.outline and rule[1] is Method.ROUTER
            shape = shape_of(part.outline, yard.unit) if shaped else None
            wanted[rule].append(replace(_part(part, name, left, accepted, over), shape=shape))
    if not any(wanted.values()):
        raise BadInput(f"every part of job {job.name} is cut already: there is nothing to plan")
    groups = groups_left(job, {p.id: p.count for parts in wanted.values() for p in parts})
    return tuple(
        _question(yard, free, *rule, parts, known, _own(groups, parts))
        for rule, parts in wanted.items()
        if parts
    )


def method_of(job: Job, part: JobPart, accepted: Sequence[Material]) -> Method:
    """Return what a part is cut on: as itself says, else its job, else its materials.

    A part that may come from materials of both is sawn, since a saw cuts either. Boards are sawn.

    Raises:
        BadInput: a part of boards that itself asks for the router.
    """
    if any(m.form is not Form.SHEET for m in accepted):
        if part.method is Method.ROUTER and not part.job:
            raise BadInput(f"part {part.name} is of boards, and the router takes sheets: have it sawn")
        return Method.SAW
    if part.method or job.method:
        return part.method or job.method or Method.SAW
    routed = all(m.method is Method.ROUTER for m in accepted)
    return Method.ROUTER if routed else Method.SAW


def _own(groups: Iterable[Group], parts: Sequence[Part]) -> tuple[Group, ...]:
    """Return the sets whose members are among these parts.

    Raises:
        BadInput: a set is of sheets and boards, or of parts sawn and routed.
    """
    names = {p.id for p in parts}
    found = []
    for group in groups:
        if names.isdisjoint(group.members):
            continue
        if not names.issuperset(group.members):
            raise BadInput(f"set {group.id}: its parts are not all cut from sheets, or not on one machine")
        found.append(group)
    return tuple(found)


def _accepted(part: JobPart, known: Iterable[Material]) -> tuple[str, ...]:
    """Return the titles of the materials a part may be cut from."""
    found = [m.title for m in known if accepts(part, m)]
    if not found:
        thick = part.thickness_name or ""
        words = part.materials or ("any material",)
        asked = " or ".join(m if m.endswith(thick) else f"{m} {thick}" for m in words)
        raise BadInput(
            f"part {part.name} wants {asked}, which the yard does not know: add the material first"
        )
    return tuple(found)


def _part(part: JobPart, name: str, count: int, accepted: tuple[str, ...], over: Over) -> Part:
    final = part.final_thickness
    return Part(
        id=name, length=part.length, width=part.width, count=count, materials=accepted, grain=part.grain,
        priority=part.priority, batch=f"{part.job}: {part.batch}" if part.batch and part.job else part.batch,
        over=Over(part.over_length, part.over_width) if part.rough else None,
        final_thickness=final, least_thickness=None if final is None else final + 2 * over.face,
    )  # fmt: skip


def _question(
    yard: Yard,
    free: Sequence[Piece],
    form: Form,
    method: Method,
    parts: Sequence[Part],
    known: Mapping[str, Material],
    groups: tuple[Group, ...],
) -> Question:
    settings = yard.settings
    usable = {m.id: m for t, m in known.items() if any(t in (p.materials or ()) for p in parts)}
    prices = _prices(offer for offer in offers(yard) if offer.material_id in usable)
    measured = any(p.batch or p.least_thickness for p in parts)
    rows, behind = _on_hand(yard, free, usable, prices, settings, measured=measured)
    rows += [_to_buy(usable[offer.material_id], offer, settings) for offer in prices.values()]
    rows = at_own_price(rows)
    routed = method is Method.ROUTER
    if routed:
        rows = [_on_table(row, settings) for row in rows]
    problem = Problem(
        one_pass=routed and bool(settings.one_pass),
        stock=tuple(rows), parts=tuple(parts), unit=settings.unit, method=method,
        kerf=settings.gap if routed else settings.kerf,
        worth=keep_rule(settings, form), effort=settings.effort(price_of(rows)), saws=settings.saws,
        groups=groups, batch_spread=settings.batch_spread,
    )  # fmt: skip
    narrow = next((p for p in parts if narrower_than_bit(problem, p)), None)
    if narrow is not None:
        wide = show(settings.gap, settings.unit, mark=True)
        raise BadInput(f"part {narrow.id} is narrower than the router's bit with its margin ({wide}): saw it")
    if found := unserved(problem):
        spread = show(settings.batch_spread, settings.unit, mark=True)
        raise BadInput(
            f"batch {found[0]}: no pieces that measure within {spread} of each other can give all of its "
            f"parts ({found[1]} and others): measure more pieces, or take some parts out of the batch",
            UNSERVED,
        )
    return Question(problem, behind, known, form)


def keep_rule(settings: Settings, form: Form) -> Worth:
    """Return what the shop keeps of sheets or of boards, as the planner weighs it."""
    if form is Form.SHEET:
        return Worth(
            keep_short_side=settings.keep_short_side, keep_area=settings.keep_area,
            whole_area=settings.whole_area, floor=settings.keep_floor,
        )  # fmt: skip
    return Worth(
        keep_short_side=settings.keep_board_width, keep_long_side=settings.keep_board_length,
        keep_area=settings.keep_board_width * settings.keep_board_length,
        whole_area=settings.whole_area // 4, floor=settings.keep_floor,
    )  # fmt: skip


def _prices(found: Iterable[Offer]) -> dict[tuple[int, int, int], Offer]:
    """Return the cheapest offer of each size of each material."""
    cheapest: dict[tuple[int, int, int], Offer] = {}
    for offer in sorted(found, key=lambda o: (o.price, o.supplier)):
        cheapest.setdefault((offer.material_id, offer.length, offer.width), offer)
    return cheapest


def _to_buy(material: Material, offer: Offer, settings: Settings) -> Stock:
    return Stock(
        id=f"buy {material.title} {_size(offer.length, offer.width, settings.unit)}",
        kind=Kind.FULL,
        material=material.title,
        length=offer.length,
        width=offer.width,
        thickness=material.thickness,
        count=None,
        cost=offer.price,
        grain=material.grain,
        edge_trim=_trim(material, settings),
    )


def _size(length: int, width: int, unit: Unit) -> str:
    """Write a size exactly, so that no two sizes are written alike."""
    return f"{decimal(length, unit):f} x {decimal(width, unit):f}"


def price_of(rows: Iterable[Stock]) -> Fraction:
    """Return what a tick² of these pieces costs, 0 where none of them has a price."""
    paid = [s for s in rows if s.cost > 0]
    return Fraction(sum(s.cost for s in paid), sum(s.area for s in paid) or 1)


def at_own_price(rows: Sequence[Stock]) -> list[Stock]:
    """Return pieces, each counting for what its material costs beside the mean of all."""
    usual = price_of(rows)
    found = []
    for s in rows:
        own = price_of(r for r in rows if r.material == s.material)
        found.append(replace(s, dear=max(1, round(SAME * own / usual))) if own else s)
    return found


def _trim(material: Material, settings: Settings) -> Trim:
    """Sheets are trimmed all round, boards at their ends; of a rough board an edge is jointed besides."""
    if material.form is Form.SHEET:
        return Trim.all_round(settings.edge_trim)
    end = settings.board_end_trim
    return Trim(x_low=end, x_high=end, y_low=settings.joint_edge if material.over is not None else 0)


def _on_table(row: Stock, settings: Settings) -> Stock:
    """Return a stock row as it lies on the router's table: farther from its edges, clear of clamps."""
    clear = kept_clear(clamps_of(settings.clamps), settings.gap, row.length, row.width)
    clamps = (Flaw(*box) for box in clear)
    trim = Trim(*(max(trim, settings.table_edge) for trim in row.edge_trim))
    return replace(row, edge_trim=trim, flaws=tuple(dict.fromkeys((*row.flaws, *clamps))))


def trimmed(material: Material, settings: Settings, kind: str, uncut: Iterable[str]) -> Trim:
    """Return what is trimmed off the edges of a piece: of a full one all, of an offcut those never cut."""
    usual = _trim(material, settings)
    return usual if kind == Kind.FULL else Trim(**{edge: usual.at(Edge(edge)) for edge in uncut})


def _on_hand(
    yard: Yard,
    every: Sequence[Piece],
    usable: Mapping[int, Material],
    prices: Mapping[tuple[int, int, int], Offer],
    settings: Settings,
    *,
    measured: bool,
) -> tuple[list[Stock], dict[str, tuple[Piece, ...]]]:
    """Return stock rows for the pieces that the job may use; equal full pieces of a place are one row.

    `measured`: only where they measure the same too.
    """
    codes = {p.id: p.code for p in places(yard)}
    uncut = factory_edges(yard)
    free = [p for p in every if p.material_id in usable]

    def equal(p: Piece) -> tuple[str, int, int, int, int, str, str]:
        return (*_equal(p), _measures(p, settings.unit) if measured else "")

    free.sort(key=lambda p: (p.kind is Kind.OFFCUT, equal(p), p.depth, p.tag))
    rows, behind = [], {}
    for (kind, material_id, length, width, place_id, _, measures), group in groupby(free, key=equal):
        pieces = tuple(group)
        material = usable[material_id]
        full = kind == Kind.FULL
        offer = prices.get((material_id, length, width))
        name = pieces[0].tag
        if full and not pieces[0].flaws:
            at = codes.get(place_id, "the bench")
            name = f"{material.title} {_size(length, width, settings.unit)} at {at}{measures}"
        rows.append(
            Stock(
                id=name, kind=Kind(kind), material=material.title, length=length, width=width,
                thickness=material.thickness, count=len(pieces),
                cost=(offer.price if offer else pieces[0].cost) if full else 0,
                grain=material.grain, dig=pieces[0].depth,
                edge_trim=trimmed(material, settings, kind, uncut.get(name, ())), flaws=pieces[0].flaws,
                measured=pieces[0].thickness if measured else None,
                delivery=f"{material.title}{measures}" if measured and pieces[0].thickness is None else "",
            )
        )  # fmt: skip
        behind[name] = pieces
    return rows, behind


def _measures(p: Piece, unit: Unit) -> str:
    """Say what a caliper says of a piece, or with which others it came if nobody measured it.

    Full pieces of a material that came from a supplier on one day are a delivery; an offcut is alone.
    """
    if p.thickness is not None:
        return f", {decimal(p.thickness, unit):f} thick"
    if p.kind is Kind.OFFCUT:
        return f", {p.tag} not measured"
    return f", not measured, of {p.shelved_at[:10]} {p.supplier}".rstrip()


def _equal(p: Piece) -> tuple[str, int, int, int, int, str]:
    """Pieces with equal keys are interchangeable: only full ones without a flaw are."""
    alone = p.tag if p.kind is Kind.OFFCUT or p.flaws else ""
    return (p.kind, p.material_id, p.length, p.width, p.place_id or 0, alone)
