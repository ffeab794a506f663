"""Where pieces lie: places recorded, changed, retired and listed with what lies there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.errors import BadInput
from stockyard.measure import Length, Weight, parse
from stockyard.yard import Yard, places, retiring
from stockyard.yard.intake import read_weight
from stockyard.yard.model import Place, State, Storage
from stockyard.yard.pieces import on_hand
from stockyard.yard.places import PlaceChange, held

_STORAGE = {"flat": Storage.FLAT, "upright": Storage.UPRIGHT, "brackets": Storage.BRACKETS}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceFacts:
    """What is known of a place, as a person says it; None is not said.

    `code` renames it; `stores` is flat, upright or brackets; `inside_size` length x width x
    height; `rated_load` a weight from the maker's plate; `within` the place it stands in.
    """

    code: str | None = None
    stores: str | None = None
    inside_size: str | None = None
    supports: int | None = None
    rated_load: str | None = None
    within: str | None = None
    walk: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceLine:
    """A place as shown; the weight counts materials of known density only. Sizes are 0 where unknown."""

    code: str
    storage: Storage
    pieces: int
    known_weight: Weight
    rated_load: Weight | None
    length: Length
    width: Length
    height: Length
    supports: int
    walk: int


def add_place(yard: Yard, code: str, facts: PlaceFacts) -> PlaceLine:
    """Record a place, last in the walk: one deed.

    Raises:
        BadInput: not a code, or a text that says no storage, size or weight. Refused: there is one already.
    """
    length, width, height = _inside(yard, facts) or (0, 0, 0)
    made = places.add_place(
        yard, code, _storage(facts.stores or "flat"), length=length, width=width, height=height,
        supports=facts.supports or 0, rated_load=_load(yard, facts), inside=facts.within,
    )  # fmt: skip
    return _line(yard, made.code)


def change_place(yard: Yard, code: str, facts: PlaceFacts) -> PlaceLine:
    """Change what is known of a place: one deed.

    Raises:
        BadInput: no such place, or a text that says nothing. Refused: nothing would change.
    """
    length, width, height = _inside(yard, facts) or (None, None, None)
    change = PlaceChange(
        code=facts.code, storage=_storage(facts.stores) if facts.stores else None, length=length,
        width=width, height=height, supports=facts.supports, rated_load=_load(yard, facts), walk=facts.walk,
        inside_id=places.place(yard, facts.within).id if facts.within else None,
    )  # fmt: skip
    return _line(yard, places.change_place(yard, code, change).code)


def retire_place(yard: Yard, code: str) -> str:
    """Take a place out of use: one deed; adding it again takes it back. Return its code.

    Raises:
        BadInput: no such place. Refused: something lies there, stands in it, or it is being counted.
    """
    return retiring.retire_place(yard, code).code


def list_places(yard: Yard) -> tuple[PlaceLine, ...]:
    """Return the places in walking order with what lies there."""
    with yard.reading():
        amounts = held(yard)
        return tuple(_place(p, *amounts[p.code]) for p in places.places(yard))


def off_the_racks(yard: Yard) -> int:
    """Return how many pieces lie on the bench or at the saw."""
    return len(on_hand(yard, states=(State.BENCH, State.PULLED)))


def _line(yard: Yard, code: str) -> PlaceLine:
    return next(line for line in list_places(yard) if line.code == code)


def _storage(text: str) -> Storage:
    if text not in _STORAGE:
        raise BadInput(f"'{text[:20]}' is no way to store: write flat, upright or brackets")
    return _STORAGE[text]


def _inside(yard: Yard, facts: PlaceFacts) -> Sequence[int] | None:
    if facts.inside_size is None:
        return None
    sides = facts.inside_size.lower().replace("×", "x").split("x")
    if len(sides) != 3:
        raise BadInput(f"'{facts.inside_size[:40]}' is not an inside size: write length x width x height")
    return [parse(side, yard.unit) for side in sides]


def _load(yard: Yard, facts: PlaceFacts) -> Weight | None:
    return read_weight(facts.rated_load, yard.unit) if facts.rated_load is not None else None


def _place(p: Place, pieces: int, grams: int) -> PlaceLine:
    return PlaceLine(
        code=p.code, storage=p.storage, pieces=pieces, known_weight=Weight(grams),
        rated_load=None if p.rated_load is None else p.rated_load, length=p.length,
        width=p.width, height=p.height, supports=p.supports, walk=p.walk,
    )  # fmt: skip
