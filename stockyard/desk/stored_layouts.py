"""Read the layouts of a stored plan back from its JSON, to the tick."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from typing import Any

from stockyard.measure import TICKS_PER, Unit
from stockyard.planning.plan import Cut, Layout, Leftover, Placement, Turn
from stockyard.planning.problem import Edge
from stockyard.planning.tree import Axis


def layouts_of(body: str) -> tuple[Layout, ...]:
    """Return the layouts of a plan that `stockyard.planning.written` wrote."""
    data = json.loads(body, parse_float=Decimal)
    unit = Unit(data["unit"])
    return tuple(_layout(layout, unit) for layout in data["layouts"])


def work_of(body: str) -> tuple[Turn, ...]:
    """Return the order of work of a plan that `stockyard.planning.written` wrote."""
    return tuple(Turn(turn["layout"], turn["step"]) for turn in json.loads(body).get("work", ()))


def _layout(data: dict[str, Any], unit: Unit) -> Layout:
    def ticks(row: dict[str, Any], *names: str) -> tuple[int, ...]:
        return tuple(round(Fraction(row[name]) * TICKS_PER[unit]) for name in names)

    return Layout(
        stock=data["stock"],
        parts=tuple(Placement(p["id"], *ticks(p, "x", "y", "dx", "dy")) for p in data["parts"]),
        cuts=tuple(
            Cut(
                step=c["step"],
                piece=c["piece"],
                direction=Axis(c["direction"]),
                at=ticks(c, "at")[0],
                fence=ticks(c, "fence")[0],
                gives=(c["gives"][0], c["gives"][1]),
            )
            for c in data["cuts"]
        ),
        leftovers=tuple(_leftover(ticks(left, "x", "y", "dx", "dy"), left) for left in data["leftovers"]),
    )


def _leftover(box: tuple[int, ...], left: dict[str, Any]) -> Leftover:
    x, y, dx, dy = box
    return Leftover(x, y, dx, dy, tuple(Edge(name) for name in left.get("factory", ())))


def leftover_word(layout: Layout) -> str:
    """Return what the leftovers are called in the cuts: `left`, longer where a part has that very name."""
    parts = {p.part for p in layout.parts}
    sawn = {c.piece for c in layout.cuts}
    given = {name for c in layout.cuts for name in c.gives if name is not None and name not in sawn}
    words = {name.rpartition(" ")[0] for name in given} - parts
    return min(words, default="left")
