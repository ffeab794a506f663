"""What the router's bit runs along of a shaped part, from the outline that the job keeps of it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from math import atan, hypot
from typing import TYPE_CHECKING

from stockyard.measure import TICKS_PER_MM, Unit
from stockyard.planning.path import Shape, Stretch

if TYPE_CHECKING:
    from stockyard.printing.routed_sheet import Outline, Vertex

# An edge that lies within so much (mm) of the rectangle round its part lies on it.
NEAR = 0.001


@lru_cache(maxsize=64)
def shape_of(outline: str, unit: Unit) -> Shape:
    """Return the shape in a drawing exchange file, as it is kept of a part.

    Raises:
        BadInput: it cannot be read.
    """
    from stockyard.printing.outline_file import read_outline

    return shape_in(read_outline(outline.encode("utf-8"), "outline", unit))


def shape_in(outline: Outline) -> Shape:
    """Return the shape of an outline, its holes counted as they are cut."""
    edges = [edge for loop in outline.loops for edge in pairwise((*loop, loop[0]))]
    (outer, *_) = outline.loops
    ends = [_on(outer, 0, at) for at in (0.0, outline.length)]
    sides = [_on(outer, 1, at) for at in (0.0, outline.width)]
    return Shape(
        around=round(sum(_long(*edge) for edge in edges) * TICKS_PER_MM),
        x_low=tuple(ends[0]), x_high=tuple(ends[1]), y_low=tuple(sides[0]), y_high=tuple(sides[1]),
    )  # fmt: skip


def _long(here: Vertex, there: Vertex) -> float:
    """Return how long an edge is: a bulge is the tangent of a quarter of the angle of an arc."""
    chord, bulge = hypot(there[0] - here[0], there[1] - here[1]), abs(here[2])
    return chord * (1 + bulge * bulge) * atan(bulge) / bulge if bulge else chord


def _on(loop: tuple[Vertex, ...], axis: int, at: float) -> Iterator[Stretch]:
    """Yield the straight edges of a closed line that lie where x (axis 0) or y (1) is `at`."""
    for here, there in pairwise((*loop, loop[0])):
        if not here[2] and max(abs(here[axis] - at), abs(there[axis] - at)) < NEAR:
            low, high = sorted((here[1 - axis], there[1 - axis]))
            yield Stretch(round(low * TICKS_PER_MM), round(high * TICKS_PER_MM))
