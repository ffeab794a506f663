"""Plans made before every cut was a row: their layouts out of the text that was kept of them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from stockyard.measure import TICKS_PER, Length, Unit
from stockyard.yard.planned import PlannedCut, PlannedLeftover, PlannedPart, StoredLayout

_BODY = dict[str, Any]


def body_of(text: str) -> _BODY:
    """Return what the text of an older plan says, with exact figures."""
    found: _BODY = json.loads(text, parse_float=Decimal) if text else {}
    return found


def filled(layout: StoredLayout, gives: str, body: _BODY) -> StoredLayout:
    """Return an older plan's layout with its parts, cuts and leftovers.

    `gives` lists sizes and tags, `body` is the whole plan. Where that lacks the layout, nothing is cut and
    everything lies in the corner; no released command stored such a plan.
    """
    given = json.loads(gives)
    row: _BODY = {}
    if len(body.get("layouts", ())) >= layout.number:
        row = body["layouts"][layout.number - 1]
    unit = Unit(body.get("unit", Unit.MM))
    turns = {(turn["layout"], turn["step"]): n for n, turn in enumerate(body.get("work", ()), 1)}
    return replace(
        layout,
        placed=tuple(_placed(row, given["parts"], unit)),
        cuts=tuple(_cut(cut, unit, turns.get((layout.number, cut["step"]))) for cut in row.get("cuts", ())),
        leftovers=tuple(
            PlannedLeftover(
                **kept,
                x=Length(_ticks(place, "x", unit)),
                y=Length(_ticks(place, "y", unit)),
                factory=tuple(place.get("factory", ())),
            )
            for kept, place in zip(
                given["leftovers"], row.get("leftovers") or [{}] * len(given["leftovers"]), strict=True
            )
        ),
    )


def _placed(row: _BODY, sizes: list[dict[str, Any]], unit: Unit) -> Iterator[PlannedPart]:
    own = {size["name"]: (size["length"], size["width"]) for size in sizes}
    for place in row.get("parts", ()):
        length, width = own[place["id"]]
        turned = _ticks(place, "dx", unit) != length
        x, y = _ticks(place, "x", unit), _ticks(place, "y", unit)
        yield PlannedPart(
            name=place["id"], length=length, width=width, x=Length(x), y=Length(y), turned=turned
        )
    if not row:
        for size in sizes:
            one = PlannedPart(name=size["name"], length=size["length"], width=size["width"])
            yield from [one] * size["count"]


def _cut(row: _BODY, unit: Unit, turn: int | None) -> PlannedCut:
    low, high = row["gives"]
    at, fence = _ticks(row, "at", unit), _ticks(row, "fence", unit)
    return PlannedCut(
        step=row["step"],
        piece=row["piece"],
        direction=row["direction"],
        at=Length(at),
        fence=Length(fence),
        low=low,
        high=high,
        turn=turn,
    )


def _ticks(row: _BODY, name: str, unit: Unit) -> int:
    return round(Fraction(row.get(name, 0)) * TICKS_PER[unit])
