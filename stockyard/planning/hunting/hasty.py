"""A first plan of a large job, soon even where kernels run as plain Python: few parts at a time, repeated.

To put in a part takes the longer the more pieces are begun. Some parts of the most wanted kinds are planned
alone, and that plan is taken as often as their counts allow; then the next.
"""

from __future__ import annotations

from dataclasses import replace

from stockyard.planning.hunting.remainder import rest_of
from stockyard.planning.hunting.searcher import Searcher
from stockyard.planning.model import UNLIMITED, Candidate, Model
from stockyard.planning.recreate import kernel
from stockyard.planning.tables.pricing import weighed

# Parts planned at a time.
FEW = 150


def hasty(model: Model, seed: int, few: int = FEW) -> list[Candidate]:
    """Return layouts for all parts that find room."""
    layouts: list[Candidate] = []
    without_room: set[int] = set()
    while (rest := rest_of(model, layouts)) is not None:
        parts = tuple(p for p in rest.parts if p.row not in without_room)
        if not parts:
            break
        times, small = _some(replace(rest, parts=parts), few)
        found = Searcher(small, seed, 0).start(kernel.LARGE_FIRST).layouts
        layouts += [weighed(model, c.stock, c.pattern.root) for c in found] * times
        if not found:
            without_room.update(p.row for p in small.parts)
    return layouts


def _some(model: Model, few: int) -> tuple[int, Model]:
    """Return a model of some of the parts, and how often a plan of it can be taken."""
    wanted = sum(p.demand for p in model.parts)
    times = max(1, wanted // len(model.parts))
    scarce = [s.count for s in model.stock if s.count != UNLIMITED]
    if times > 1 and any(scarce):
        times = 1  # a piece of which there are few can not be taken so often
    taken, parts = 0, []
    for p in sorted(model.parts, key=lambda p: -p.length * p.width):
        if p.demand >= times and taken < few:
            parts.append(replace(p, demand=min(p.demand // times, few - taken)))
            taken += parts[-1].demand
    return times, replace(model, parts=tuple(parts))
