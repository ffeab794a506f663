"""The whole stock as a list: what there is of what, where, in the order of the walk."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.desk.shown import PieceLine, lines
from stockyard.errors import BadInput
from stockyard.measure import Area, Weight
from stockyard.yard import Yard
from stockyard.yard.materials import matching
from stockyard.yard.model import Place, State, Storage
from stockyard.yard.pieces import at_place, on_hand
from stockyard.yard.places import held, place, places

_HELD = (State.RACKED, State.PROMISED, State.PULLED, State.BENCH)
_PROMISED = (State.PROMISED, State.PULLED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sieve:
    """Which pieces are listed. `words` name a material, `what` is full, offcut or board, `at` a place.

    `promised` True keeps those held for a job, False those that are free; `unlabelled` those whose label
    was never printed or names another size.
    """

    words: str = ""
    what: str | None = None
    at: str | None = None
    promised: bool | None = None
    unlabelled: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AtPlace:
    """What lies at a place from the top down, and what that weighs as far as is known."""

    place: str
    storage: Storage
    known_weight: Weight
    rated_load: Weight | None
    pieces: tuple[PieceLine, ...]
    inside: tuple[str, ...]


def stock_list(yard: Yard, sieve: Sieve) -> tuple[PieceLine, ...]:
    """Return the pieces in the yard that pass, by place in walking order and from the top down.

    Raises:
        BadInput: no material has those words, or there is no such place.
    """
    with yard.reading():
        kept = set[int]()
        if sieve.words:
            kept = {m.id for m in matching(yard, sieve.words)}
            if not kept:
                raise BadInput(f"no material has the words '{sieve.words[:60]}'", "no such material")
        spot = place(yard, sieve.at).id if sieve.at else None
        found = [
            p
            for p in on_hand(yard, states=_HELD)
            if (not sieve.words or p.material_id in kept)
            and spot in (None, p.place_id)
            and not (sieve.unlabelled and p.labelled)
            and sieve.promised in (None, p.state in _PROMISED)
        ]
        return tuple(line for line in lines(yard, found) if sieve.what in (None, line.word))


def total_area(found: tuple[PieceLine, ...]) -> Area:
    """Return the area of all those pieces."""
    return Area(sum(p.area for p in found))


def at(yard: Yard, code: str) -> AtPlace:
    """Return what lies at a place, from the top down.

    Raises:
        BadInput: no such place.
    """
    with yard.reading():
        spot = place(yard, code)
        _, grams = held(yard)[spot.code]
        return AtPlace(
            place=spot.code,
            storage=spot.storage,
            known_weight=Weight(grams),
            rated_load=None if spot.rated_load is None else Weight(spot.rated_load),
            pieces=lines(yard, at_place(yard, spot.code)),
            inside=_inside(yard, spot),
        )


def _inside(yard: Yard, spot: Place) -> tuple[str, ...]:
    return tuple(p.code for p in places(yard) if p.inside_id == spot.id)
