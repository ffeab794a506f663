"""The pull list of a job: its promised pieces by place, what lies on them, how to know and lift them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import groupby

from stockyard import footage, handling
from stockyard.desk.band_words import bands_needed
from stockyard.desk.thickness import batch_stock, measured_as, mixed_parts
from stockyard.figures import money
from stockyard.figures import size as size_of
from stockyard.flaws import said
from stockyard.kinds import Kind
from stockyard.measure import Unit
from stockyard.printing.papers import BuyLine, Lift, Lying, PullEntry, PullList, Stop
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, Material, Offer, Piece, Place, State, Storage, full_sheet
from stockyard.yard.offers import offers
from stockyard.yard.pieces import at_place, on_hand
from stockyard.yard.places import places
from stockyard.yard.planned import StoredPlan
from stockyard.yard.pulling import to_pull
from stockyard.yard.store import Yard

SOURCE = "the HSE guide figures (L23, INDG143) for two hands and a load close to the body"
# More tags than this are not written out a second time.
_FEW = 5
_SIDES: tuple[tuple[str, str, Callable[[Piece], int]], ...] = (
    ("longest", "shortest", lambda piece: piece.length),
    ("widest", "narrowest", lambda piece: piece.width),
)


def pull_list_of(yard: Yard, job: Job, plan: StoredPlan) -> PullList:
    """Return the walk for what is still on the racks, and what is still to be bought."""
    known = {m.id: m for m in materials(yard)}
    where = {p.id: p for p in places(yard)}
    stops = []
    for place_id, wanted in groupby(to_pull(yard, job.id), key=lambda p: p.place_id):
        place = where[place_id or 0]
        stops.append(_stop(place, [p.tag for p in wanted], at_place(yard, place.code), known, yard.unit))
    return PullList(
        job=job.name,
        date=dated(plan),
        unit=yard.unit,
        stops=tuple(stops),
        buy=_buy(yard, plan, known),
        bands=bands_needed(yard, job, plan, known),
        cautions=(*_remarks(yard, plan), *mixed_parts(yard, plan, known), *batch_stock(yard, job, plan)),
        finest=yard.settings.fence,
    )


def dated(plan: StoredPlan) -> str:
    """Return the day of a plan as printed, with a word where everything of it is cut."""
    return plan.made_at[:10] + (", done" if plan.state == "done" else "")


def lift_of(piece: Piece, material: Material) -> Lift:
    """Return the weight of a piece from its measured size, and the lifting advice."""
    if material.density is None:
        return Lift(weight=None, people=None, advice="density not known: weigh one", source="")
    grams = handling.weight(
        piece.length, piece.width, piece.thickness or material.thickness, material.density
    )
    verdict = handling.lift(grams)
    return Lift(weight=grams, people=verdict.people, advice=verdict.says.partition(": ")[2], source=SOURCE)


def _stop(
    place: Place, wanted: Sequence[str], held: Sequence[Piece], known: Mapping[int, Material], unit: Unit
) -> Stop:
    """Return one place of the walk; `held` is all that lies there, from the top down."""
    flat = place.storage is Storage.FLAT
    entries, on_top, moved = [], [], []
    for piece in held:
        material = known[piece.material_id]
        if piece.tag not in wanted:
            on_top.append(
                Lying(tag=piece.tag, what=_what(piece, material, unit), lift=lift_of(piece, material))
            )
            continue
        entries.append(
            PullEntry(
                tag=piece.tag,
                material=material.title,
                length=piece.length,
                width=piece.width,
                full=full_sheet(piece, material),
                lift=lift_of(piece, material),
                tell_apart=tell_apart(piece, held, known, unit, flat=flat, wanted=wanted),
                thickness=piece.thickness or material.thickness,
                supplier=piece.supplier,
                measured=measured_as(piece, material, unit),
                on_top=tuple(on_top) if flat else (),
            )
        )
        moved += on_top
        on_top = []
    return Stop(
        place=place.code,
        storage=str(place.storage),
        entries=tuple(entries),
        put_back=put_back_words([lying.tag for lying in reversed(moved)]) if flat else "",
    )


def put_back_words(tags: Sequence[str]) -> str:
    """Say what goes back on a stack, the lowest first."""
    if not tags:
        return ""
    if len(tags) == 1:
        return f"Put {tags[0]} back on top."
    if len(tags) > _FEW:
        return f"Put the {len(tags)} back on top, the last one off first."
    return f"Put back on top in this order: {', '.join(tags)}."


def _what(piece: Piece, material: Material, unit: Unit) -> str:
    size = size_of(piece.length, piece.width, unit, mark=False)
    return f"{material.title} {'FULL' if full_sheet(piece, material) else size}"


def tell_apart(
    piece: Piece, held: Sequence[Piece], known: Mapping[int, Material], unit: Unit, *, flat: bool,
    wanted: Collection[str] = (),
) -> str:  # fmt: skip
    """Say how to know `piece` among all that lies at its place, `held`; `wanted` are tags of the list."""
    place = _ordinal(piece.depth) if flat and len(held) > 1 else ""
    flaws = [f"flaw {said(f, unit)}" for f in piece.flaws]
    words = [place, _among(piece, held, known, unit, wanted), *flaws, piece.note]
    return "; ".join(word for word in words if word)


def interchangeable(one: Piece, other: Piece) -> bool:
    """Whether either piece may be taken in the other's stead: both full, alike and without a flaw."""
    return (
        (one.material_id, one.length, one.width) == (other.material_id, other.length, other.width)
        and one.kind is other.kind is Kind.FULL
        and not one.flaws
        and not other.flaws
    )


def _ordinal(depth: int) -> str:
    if depth == 0:
        return "on top"
    n = depth + 1
    ending = "th" if 10 <= n % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending} from the top"


def _among(
    piece: Piece, held: Sequence[Piece], known: Mapping[int, Material], unit: Unit, wanted: Collection[str]
) -> str:
    others = [p for p in held if p.tag != piece.tag]
    alike = [p for p in others if p.material_id == piece.material_id]
    name = known[piece.material_id].title
    if not others:
        return "nothing else there"
    if not alike:
        return f"the only {name} there"
    if twins := [p for p in alike if (p.length, p.width) == (piece.length, piece.width)]:
        same = [p for p in twins if interchangeable(p, piece)]
        if same and all(p.tag in wanted for p in (piece, *same)):
            return (
                "both of these are wanted" if len(same) == 1 else f"all {len(same) + 1} of these are wanted"
            )
        if same and len(same) == len(twins):
            return f"any of these {len(same) + 1} will do: scan the one you take"
        if same:
            return f"any of these will do: {', '.join(p.tag for p in (piece, *same))}; scan the one you take"
        return f"{len(twins) + 1} of one size: go by the tag"
    for most, least, side in _SIDES:
        own, theirs = side(piece), [side(p) for p in alike]
        if own > max(theirs) or own < min(theirs):
            return f"the {most if own > max(theirs) else least} of {len(alike) + 1} {name}"
    near = min(alike, key=lambda p: abs(p.length - piece.length) + abs(p.width - piece.width))
    return f"not {near.tag}, which is {size_of(near.length, near.width, unit, mark=False)}"


def _buy(yard: Yard, plan: StoredPlan, known: Mapping[int, Material]) -> tuple[BuyLine, ...]:
    wanted = Counter((x.material_id, x.length, x.width) for x in plan.layouts if x.tag is None)
    lines = []
    for (material_id, length, width), count in sorted(wanted.items()):
        on_sale = [o for o in offers(yard, material_id) if (o.length, o.width) == (length, width)]
        cheapest = min(on_sale, key=lambda o: (o.price, o.supplier), default=None)
        lines.append(
            BuyLine(
                count=count,
                material=known[material_id].title,
                length=length,
                width=width,
                price=money(cheapest.price, yard.settings.currency) if cheapest else "",
                supplier=_sold(yard, known[material_id], cheapest) if cheapest else "",
            )
        )
    return tuple(lines)


def _sold(yard: Yard, material: Material, offer: Offer) -> str:
    """Say who sells a piece, of lumber in random widths about how much it is and at what rate besides."""
    if offer.rate is None:
        return offer.supplier
    measure = footage.Measure(offer.measure)
    own = offer.length, offer.width, material.thickness_name, material.thickness
    much = footage.words(footage.amount(measure, *own), measure)
    rate = f"about {much} at {money(offer.rate, yard.settings.currency)} a {measure}"
    return f"{rate}, {offer.supplier}" if offer.supplier else rate


def _remarks(yard: Yard, plan: StoredPlan) -> tuple[str, ...]:
    at_saw = [p.tag for p in on_hand(yard, states=(State.PULLED,)) if p.plan_id == plan.id]
    return (f"At the saw already: {', '.join(at_saw)}.",) if at_saw else ()
