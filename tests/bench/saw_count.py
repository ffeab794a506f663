"""Fence moves, finished sizes that remain, pieces and material of a plan, counted from the two JSON texts.

Shares nothing with the planner. A move is each time a cut's direction and figure differ from what that
direction was last set to, in the order of `work`; a trim takes 12 mm or less off one edge, or what the
stock's `edge_trim` says off one as bought, gives nothing on that side and makes no finished size nor what one
that remains is measured from, and moves nothing. A finished size remains when no cut leaves just that extent,
with the part in it, on the side that the fence measures; an extent as bought is none of both.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

F = Fraction
TRIM, NOTHING = F(12), F(0)


@dataclass
class Count:
    """What one plan takes; areas in the file's unit²."""

    cuts: int = 0
    moves: int = 0
    settings: int = 0
    rests: int = 0
    sizes: int = 0
    full: int = 0
    pieces: int = 0
    dug: int = 0
    stock: Fraction = NOTHING
    leftovers: Fraction = NOTHING

    @property
    def net(self) -> Fraction:
        """Stock less leftovers."""
        return self.stock - self.leftovers


def number(value: Any) -> Fraction:
    return F(str(value)) if not isinstance(value, float) else F(value)


def count(problem_text: str, plan_text: str) -> Count:
    """Count a plan; lengths must be plain numbers."""
    problem = json.loads(problem_text, parse_float=F, parse_int=F)
    plan = json.loads(plan_text, parse_float=F, parse_int=F)
    kerf = problem.get("kerf", F(0))
    stock = {row["id"]: row for row in problem["stock"]}
    total = Count()
    figures: dict[tuple[int, int], tuple[str, Fraction] | None] = {}
    for n, layout in enumerate(plan["layouts"], 1):
        row = stock[layout["stock"]]
        total.pieces += 1
        total.full += row["kind"] == "full"
        total.dug += int(row.get("dig") or 0)
        total.stock += row["length"] * row["width"]
        total.leftovers += sum((left["dx"] * left["dy"] for left in layout["leftovers"]), F(0))
        made = follow(layout, kerf, row)
        sized = sizes(layout, made, (row["length"], row["width"]), total)
        for cut, kept, waste in made:
            trims = waste is not None and waste <= max(TRIM, kept["bought"]) and int(cut["step"]) not in sized
            figures[n, int(cut["step"])] = None if trims else (name(row, cut), kept["fence"])
            total.cuts += 1
    stands: dict[str, Fraction] = {}
    for turn in plan["work"]:
        figure = figures[int(turn["layout"]), int(turn["step"])]
        if figure is not None and stands.get(figure[0]) != figure[1]:
            total.moves += 1
            stands[figure[0]] = figure[1]
    total.settings = len({f for f in figures.values() if f is not None})
    return total


def name(row: Any, cut: Any) -> str:
    """With the grain or against it; without grain by the long side of the sheet."""
    long_way = "rip" if row.get("grain") or row["length"] >= row["width"] else "crosscut"
    return "with" if cut["direction"] == long_way else "against"


def follow(layout: Any, kerf: Fraction, row: Any) -> list[Any]:
    """Return each cut with what the fence measures ({"box", "fence"}) and what waste it takes off, if any.

    `bought` is the trim of the edge beyond the blade where that is one as bought.
    """
    extent = row["length"], row["width"]
    bench = {"stock": [F(0), F(0), extent[0], extent[1]]}
    made = []
    for cut in layout["cuts"]:
        box = bench[cut["piece"]]
        axis = 0 if cut["direction"] == "crosscut" else 1
        low, high = list(box), list(box)
        low[axis + 2] = cut["at"]
        high[axis] += cut["at"] + kerf
        high[axis + 2] -= cut["at"] + kerf
        for name, side in zip(cut["gives"], (low, high), strict=True):
            if name is not None:
                bench[name] = side
        at_low = cut["fence"] == low[axis + 2] and cut["gives"][0] is not None
        kept, other = (low, high) if at_low else (high, low)
        gone = cut["gives"][1 if at_low else 0] is None
        waste = box[axis + 2] - kept[axis + 2] if gone else None
        assert other is not kept
        edge = "low" if other[axis] == 0 else "high" if other[axis] + other[axis + 2] == extent[axis] else ""
        bought = trim(row, axis, edge) if edge else F(0)
        edges = [high[axis]], [low[axis] + low[axis + 2]]
        found = {"box": kept, "fence": cut["fence"], "axis": axis, "bought": bought, "piece": list(box)}
        made.append((cut, {**found, "edges": edges}, waste))
    return made


def trim(row: Any, axis: int, edge: str) -> Fraction:
    """Return what comes off an edge as bought: one figure, one for ends and sides, or one an edge."""
    given = row.get("edge_trim", F(0))
    if not isinstance(given, dict):
        return number(given)
    return number(given.get(f"{'xy'[axis]}_{edge}", given.get(("ends", "sides")[axis], 0)))


def sizes(layout: Any, made: list[Any], extent: tuple[Fraction, Fraction], total: Count) -> set[int]:
    """Count the finished sizes and those that remain; return the steps that make one at the fence."""
    steps = set()
    for part in layout["parts"]:
        box = [part["x"], part["y"], part["dx"], part["dy"]]
        for axis in (0, 1):
            total.sizes += 1
            found = [
                int(cut["step"])
                for cut, kept, _ in made
                if kept["axis"] == axis
                and kept["box"][axis] == box[axis]
                and kept["box"][axis + 2] == box[axis + 2]
                and inside(box, kept["box"])
            ]
            steps.update(found)
            if not found and not (box[axis] == 0 and box[axis + 2] == extent[axis]):
                total.rests += 1
                steps.update(behind(box, axis, made))
    return steps


def behind(box: list[Fraction], axis: int, made: list[Any]) -> set[int]:
    """Return the steps that make the edges of what remains, and all between: its size comes from them."""
    held = [(cut, kept) for cut, kept, _ in made if kept["axis"] == axis and inside(box, kept["piece"])]
    edges = [box[axis], box[axis] + box[axis + 2]]
    first = [
        min((n for n, (_, kept) in enumerate(held) if edge in kept["edges"][which]), default=0)
        for which, edge in enumerate(edges)
    ]
    return {int(cut["step"]) for cut, _ in held[min(first) :]}


def inside(inner: list[Fraction], outer: list[Fraction]) -> bool:
    return all(outer[i] <= inner[i] and inner[i] + inner[i + 2] <= outer[i] + outer[i + 2] for i in (0, 1))
