"""Fewer offcuts to think about: of a thousand and more, those that a good plan may need.

A plan takes few offcuts, so most of a large rack can not be in it. Kept are, of the one-off rows
that cost nothing:
1. for every part and way it lies, the rows that hold it with least to spare, enough of them for twice
   its count (a good plan can always trade a taken row for a spare one that is as good for its part);
2. the rest by area, from the smallest that holds any part upwards, spread evenly over all sizes.
Rows of full pieces, of more than one piece, and of pieces with flaws are always kept.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from stockyard.planning.model import Model, flawed_rows
from stockyard.planning.tree import Pattern


@dataclass(frozen=True, slots=True)
class Thinned:
    """A model with fewer rows of offcuts, or as it was."""

    model: Model

    def back(self, patterns: Iterable[Pattern]) -> list[Pattern]:
        """Return the patterns: they speak of rows of the problem, some of which are not looked at."""
        return list(patterns)


def thin(model: Model, keep: int, snug: float) -> Thinned:
    """Return the model with at most `keep` rows of offcuts; the model itself when it has no more.

    `snug`: share of the places for rows that suit single parts best; the others are spread over all sizes.
    Parts keep at least one row that holds them, even when that exceeds `keep`.
    """
    flawed = set(flawed_rows(model))
    loose = [j for j, s in enumerate(model.stock) if s.count == 1 and not s.money and j not in flawed]
    if len(loose) <= keep:
        return Thinned(model)
    kept = set(range(len(model.stock))) - set(loose)
    chosen = _snug(model, loose, int(keep * snug))
    others = sorted((j for j in loose if j not in chosen), key=lambda j: (model.stock[j].area, j))
    chosen |= set(_spread(others, keep - len(chosen)))
    return Thinned(_only(model, sorted(kept | chosen)))


def _snug(model: Model, loose: list[int], places: int) -> set[int]:
    """Return the rows that fit the parts best, part after part in turns, until the places are used up."""
    queues = [iter(_by_spare(model, k, loose)) for k in range(len(model.parts))]
    left = [2 * p.demand for p in model.parts]
    chosen: set[int] = set()
    first = True
    while any(left) and (first or len(chosen) < places):
        for k, queue in enumerate(queues):
            if not left[k] or (not first and len(chosen) >= places):
                continue
            j = next(queue, None)
            if j is None:
                left[k] = 0
                continue
            chosen.add(j)
            left[k] -= 1
        first = False
    return chosen


def _by_spare(model: Model, part: int, loose: list[int]) -> list[int]:
    """Return the rows that hold the part, least area to spare first, then least to move."""
    lies = model.parts[part].lies
    return sorted((j for j in loose if lies[j]), key=lambda j: (model.stock[j].area, model.stock[j].dig, j))


def _spread(rows: list[int], places: int) -> Iterable[int]:
    if places <= 0:
        return []
    if len(rows) <= places:
        return rows
    return [rows[n * len(rows) // places] for n in range(places)]


def _only(model: Model, rows: list[int]) -> Model:
    parts = (replace(p, lies=tuple(p.lies[j] for j in rows)) for p in model.parts)
    return replace(
        model,
        stock=tuple(model.stock[j] for j in rows),
        parts=tuple(p for p in parts if any(p.lies)),
    )
