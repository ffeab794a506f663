"""Where a piece of the yard goes: the places with what they hold, judged by the shelving advice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace

from stockyard import handling, woods
from stockyard.advice.shelving import Around, Spot, Stored, Suggestion, rank
from stockyard.kinds import Kind
from stockyard.measure import Length, Weight
from stockyard.yard.materials import material, materials
from stockyard.yard.model import Form, Material, Piece, Place, State, Storage
from stockyard.yard.pieces import Arrival, by_tag, on_hand
from stockyard.yard.places import places
from stockyard.yard.store import Yard, on_one_state


@on_one_state
def place_for(yard: Yard, tag: str) -> tuple[Suggestion, ...]:
    """Return every place judged for the piece of that tag, best first, as if it lay nowhere yet.

    Raises:
        BadInput: no piece has that tag.
    """
    piece = by_tag(yard, tag)
    own = material(yard, piece.material_id)
    wood = woods.look_up(own.name)
    others = [p for p in on_hand(yard, states=(State.RACKED, State.PROMISED)) if p.tag != piece.tag]
    stiffness = wood.stiffness if wood else None
    return rank(stored(piece, own), spots(yard, others), unit=yard.unit, stiffness=stiffness)


@on_one_state
def place_for_new(yard: Yard, arrival: Arrival) -> tuple[Suggestion, ...]:
    """Return every place judged for a piece that is to come, best first."""
    own = material(yard, arrival.material_id)
    wood = woods.look_up(own.name)
    piece = Piece(
        tag="", material_id=own.id, kind=arrival.kind, length=Length(arrival.length),
        width=Length(arrival.width), state=State.BENCH, place_id=None,
        thickness=None if arrival.thickness is None else Length(arrival.thickness),
    )  # fmt: skip
    others = on_hand(yard, states=(State.RACKED, State.PROMISED))
    stiffness = wood.stiffness if wood else None
    return rank(stored(piece, own), spots(yard, others), unit=yard.unit, stiffness=stiffness)


@on_one_state
def misfits(yard: Yard, pieces: Iterable[Piece]) -> tuple[str, ...]:
    """Return a remark, a sentence, on each place that pieces just put there do not suit; usually none."""
    every = spots(yard, on_hand(yard, states=(State.RACKED, State.PROMISED)))
    codes = {p.id: p.code for p in places(yard)}
    by_code = {s.code: s for s in every}
    known = {m.id: m for m in materials(yard)}
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    judged: dict[tuple[str, Stored], tuple[str, ...]] = {}
    for p in pieces:
        if p.place_id is None:
            continue
        code, own = codes[p.place_id], stored(p, known[p.material_id])
        if (code, own) not in judged:
            (one,) = rank(own, [_without(by_code[code], own)], unit=yard.unit)
            judged[code, own] = one.against
        for against in judged[code, own]:
            found[code, against].append(p.tag)
    return tuple(
        f"{code}, {', '.join(tags[:3])}{f' and {len(tags) - 3} more' if len(tags) > 3 else ''}: {against}"
        for (code, against), tags in found.items()
    )


def _without(spot: Spot, own: Stored) -> Spot:
    """Return the place as it was before that piece came."""
    held = list(spot.held)
    held.remove(own)
    around = tuple(replace(a, total=Weight(a.total - (own.grams or 0))) for a in spot.around)
    return replace(spot, held=tuple(held), around=around)


def spots(yard: Yard, pieces: Iterable[Piece]) -> tuple[Spot, ...]:
    """Return all places in walking order, holding those of `pieces` that lie there."""
    known = {m.id: m for m in materials(yard)}
    held: dict[int, list[Stored]] = defaultdict(list)
    for p in pieces:
        if p.place_id is not None:
            held[p.place_id].append(stored(p, known[p.material_id]))
    every = {p.id: p for p in places(yard)}
    totals = _totals(every, held)
    return tuple(
        Spot(
            code=place.code,
            stacked=place.storage is Storage.FLAT,
            standing=place.storage is Storage.UPRIGHT,
            length=place.length,
            width=place.width,
            height=place.height,
            supports=place.supports,
            rated_load=place.rated_load,
            walk=place.walk,
            held=tuple(held[place.id]),
            around=tuple(Around(o.code, o.rated_load, Weight(totals[o.id])) for o in _outer(every, place)),
        )
        for place in every.values()
    )


def stored(piece: Piece, own: Material) -> Stored:
    """Return a piece as a rack sees it, with its weight where the density is known."""
    thick = piece.thickness or own.thickness
    grams = handling.weight(piece.length, piece.width, thick, own.density) if own.density else None
    return Stored(
        material=own.name, thickness_name=own.thickness_name, length=piece.length, width=piece.width,
        thickness=thick, grams=grams, full=piece.kind is Kind.FULL or own.form is Form.BOARD,
        form=own.form,
    )  # fmt: skip


def _outer(every: Mapping[int, Place], place: Place) -> tuple[Place, ...]:
    """Return the places around a place, from the nearest outwards."""
    found = []
    while place.inside_id is not None:
        place = every[place.inside_id]
        found.append(place)
    return tuple(found)


def _totals(every: Mapping[int, Place], held: Mapping[int, list[Stored]]) -> dict[int, int]:
    """Return the known weight in each place, with that of the places inside it."""
    totals = dict.fromkeys(every, 0)
    for place in every.values():
        own = sum(p.grams or 0 for p in held.get(place.id, ()))
        for around in (place, *_outer(every, place)):
            totals[around.id] += own
    return totals
