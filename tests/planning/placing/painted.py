"""A check of routed plans for the tests alone: painted on a grid of all figures, from the two JSON texts.

Shares nothing with the verifier. Lengths are hundredths of a sixty-fourth of an inch or of a millimetre, as
whole numbers: 1 mm is 3200, 1 in is 81280. Each part is painted larger by the gap on its two high sides: two
that lie nearer than the gap paint one cell twice.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from fractions import Fraction
from typing import Any

import numpy as np

STEP = {"mm": Fraction(3200), "in": Fraction(81280)}
Box = tuple[int, int, int, int]


def figure(value: Any, unit: str) -> int:
    """A length as a whole number: a bare one in `unit`, or text such as '23 1/2', '3/4 in', '600 mm'."""
    if isinstance(value, str):
        number, word = re.fullmatch(r"\s*([\d./ ]+?)\s*(mm|in)?\s*", value).groups()  # type: ignore[union-attr]
        return round(sum(Fraction(part) for part in number.split()) * STEP[word or unit])
    return round(Fraction(value) * STEP[unit])


def complaints(problem_text: str, plan_text: str) -> list[str]:
    """Everything wrong with where parts and remains lie, what they are and how many there are."""
    problem, plan = (
        json.loads(t, parse_float=Fraction, parse_int=Fraction) for t in (problem_text, plan_text)
    )
    unit, gap = problem["unit"], figure(problem.get("kerf", 0), problem["unit"])
    stock, parts = ({row["id"]: row for row in problem[name]} for name in ("stock", "parts"))
    found: list[str] = []
    for n, layout in enumerate(plan["layouts"], 1):
        piece = stock[layout["stock"]]
        found += [f"sheet {n}: {text}" for text in _sheet(problem, piece, parts, layout, unit, gap)]
    used = Counter(layout["stock"] for layout in plan["layouts"])
    found += [f"{i} too often" for i, k in used.items() if stock[i].get("count", 1) not in (None,) and
              k > stock[i].get("count", 1)]  # fmt: skip
    given = Counter(p["id"] for layout in plan["layouts"] for p in layout["parts"])
    given.update({row["id"]: int(row["count"]) for row in plan["unplaced"]})
    found += [f"{i}: {given[i]}" for i, row in parts.items() if given[i] != row.get("count", 1)]
    return found


def _sheet(problem: Any, piece: Any, parts: Any, layout: Any, unit: str, gap: int) -> list[str]:
    long, wide = figure(piece["length"], unit), figure(piece["width"], unit)
    flaws = [_box(f, unit) for f in piece.get("flaws", ())]
    own = piece.get("edge_trim", problem.get("edge_trim", 0) if piece["kind"] == "full" else 0)
    edge = figure(own, unit)
    laid = [_box(row, unit) for row in layout["parts"]]
    remains = [_box(row, unit) for row in layout["leftovers"]]
    found = []
    if layout["cuts"]:
        found.append("is sawn")
    for row, box in zip(layout["parts"], laid, strict=True):
        found += _part(parts[row["id"]], piece, box, unit)
    if _twice([*laid, *remains], gap):
        found.append("two lie nearer than the gap")
    for f in flaws:
        if any(_twice([f, box], 0) for box in laid):
            found.append("a part lies on a flaw")
    inner = (edge, edge, long - edge, wide - edge)
    for box, frame in [(b, inner) for b in laid] + [(b, (0, 0, long, wide)) for b in remains]:
        x, y, dx, dy = box
        if x < frame[0] or y < frame[1] or x + dx > frame[2] or y + dy > frame[3]:
            found.append("something lies beyond its edge")
    return found


def _box(row: Any, unit: str) -> Box:
    x, y, dx, dy = (figure(row[name], unit) for name in ("x", "y", "dx", "dy"))
    return x, y, dx, dy


def _part(part: Any, piece: Any, box: Box, unit: str) -> list[str]:
    size = figure(part["length"], unit), figure(part["width"], unit)
    grain = part.get("grain", "along") if piece.get("grain") else "any"
    ways = {"along": {size}, "across": {size[::-1]}, "any": {size, size[::-1]}}[grain]
    named = part.get("material")
    wanted = [named] if isinstance(named, str) else named
    found = [] if box[2:] in ways else ["a part has another size or lies against its grain"]
    if wanted is not None and piece["material"] not in wanted:
        found.append("a part of another material")
    if part.get("thickness") is not None and (
        piece.get("thickness") is None or figure(piece["thickness"], unit) != figure(part["thickness"], unit)
    ):
        found.append("a part of another thickness")
    return found


def _twice(boxes: list[Box], gap: int) -> bool:
    """Whether some place is painted twice, each box larger by the gap on its two high sides."""
    xs = sorted({v for x, _, dx, _ in boxes for v in (x, x + dx + gap)})
    ys = sorted({v for _, y, _, dy in boxes for v in (y, y + dy + gap)})
    paint = np.zeros((len(xs), len(ys)), np.int32)
    column, row = {v: i for i, v in enumerate(xs)}, {v: i for i, v in enumerate(ys)}
    for x, y, dx, dy in boxes:
        paint[column[x] : column[x + dx + gap], row[y] : row[y + dy + gap]] += 1
    return bool((paint > 1).any())
