"""What each cut of a layout is: name, machine, edge at the fence, exact or rough, and what to mind.

Planner and paper both ask here, so that what is planned is what is printed. Everything follows from the
geometry of the cut and the shop's saws: equal cuts are equal operations.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from stockyard.measure import TICKS_PER_MM
from stockyard.planning.plan import Cut, Layout
from stockyard.planning.problem import Edge, Stock
from stockyard.planning.tree import Axis
from stockyard.saws import (
    Caution,
    Machine,
    Pass,
    Saws,
    Setting,
    Standing,
    Way,
    cautions_for,
    is_heavy,
    machine_for,
)

TRIM_MOST = 12 * TICKS_PER_MM
"""What a trim takes at most, kerf included, but where the shop trims more off a factory edge.

More is measured from the fence (common practice, no source).
"""


class Care(StrEnum):
    """How a cut is set: to a finished size, to a size that need not be exact, or by eye along an edge."""

    EXACT = "exact"
    ROUGH = "rough"
    TRIM = "trim"


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One cut as a person makes it.

    `run` is how long the cut is, `reach` the extent that it divides; `figure` the size of what lies between
    fence or stop and blade, whose `edge` (of the piece in hand) is against it; `takes` what a trim takes
    off, kerf included, else 0. `machine` is None when nothing in the shop reaches.
    """

    step: int
    way: Way
    machine: Machine | None
    care: Care
    edge: Edge
    run: int
    reach: int
    figure: int
    takes: int
    heavy: bool
    cautions: tuple[Caution, ...]

    @property
    def setting(self) -> Setting | None:
        """What must be set for it, None for a trim."""
        return None if self.care is Care.TRIM else Setting(self.machine, self.figure)


class Remains(NamedTuple):
    """A finished size that no setting gives: placement by its place in the layout, direction, size."""

    placement: int
    axis: Axis
    size: int


class _Box(NamedTuple):
    x: int
    y: int
    dx: int
    dy: int

    def span(self, axis: Axis) -> tuple[int, int]:
        """Low end and high end along the axis."""
        return (self.x, self.x + self.dx) if axis is Axis.CROSSCUT else (self.y, self.y + self.dy)

    def within(self, low: int, high: int, axis: Axis) -> _Box:
        """Return the share of the box from `low` to `high` along the axis."""
        if axis is Axis.CROSSCUT:
            return _Box(low, self.y, high - low, self.dy)
        return _Box(self.x, low, self.dx, high - low)


class _Sawn(NamedTuple):
    """A cut with the piece in hand and the two sides of the blade, kept against the fence or not."""

    cut: Cut
    box: _Box
    low: _Box
    high: _Box
    kept: _Box
    beyond: _Box
    beyond_named: bool


def way_of(piece: Stock, axis: Axis) -> Way:
    """Return what a cut of this piece is called: by its grain, without grain by its long side."""
    return Way.RIP if (axis is Axis.RIP) is not piece.is_wide else Way.CROSS


def studied(
    piece: Stock, layout: Layout, kerf: int, saws: Saws
) -> tuple[tuple[Operation, ...], tuple[Remains, ...]]:
    """Return what each cut of a layout is, in the order of its steps, and the finished sizes that remain.

    A size remains when neither fence nor stop nor the factory sets it.
    """
    sawn = list(_replayed(piece, layout, kerf))
    sizes = _sizing(piece, layout, sawn)
    every = tuple(
        _operation(piece, s, sizes, saws, min_low=_named(s.cut.gives[0]), min_high=_named(s.cut.gives[1]))
        for s in sawn
    )
    return every, sizes.rests


def operations(piece: Stock, layout: Layout, kerf: int, saws: Saws) -> tuple[Operation, ...]:
    """Return what each cut of a layout is, in the order of its steps."""
    return studied(piece, layout, kerf, saws)[0]


def remains(piece: Stock, layout: Layout, kerf: int) -> tuple[Remains, ...]:
    """Return the finished sizes that come off as what remains: set by no fence, stop or factory."""
    return _sizing(piece, layout, list(_replayed(piece, layout, kerf))).rests


def moves(settings: Sequence[Setting | None], saws: Saws) -> int:
    """Return how often something is set when cuts are made in this order; trims set nothing."""
    standing = Standing(saws)
    return sum(standing.cut(setting) for setting in settings if setting is not None)


def _named(name: str | None) -> bool:
    return name is not None


def _replayed(piece: Stock, layout: Layout, kerf: int) -> Iterator[_Sawn]:
    bench = {"stock": _Box(0, 0, piece.length, piece.width)}
    for cut in layout.cuts:
        box = bench[cut.piece]
        start, end = box.span(cut.direction)
        low = box.within(start, start + cut.at, cut.direction)
        high = box.within(start + cut.at + kerf, end, cut.direction)
        for name, side in zip(cut.gives, (low, high), strict=True):
            if name is not None:
                bench[name] = side
        low_at_fence = cut.fence == cut.at and cut.gives[0] is not None
        kept, beyond = (low, high) if low_at_fence else (high, low)
        yield _Sawn(cut, box, low, high, kept, beyond, cut.gives[1 if low_at_fence else 0] is not None)


class _Sizing(NamedTuple):
    """Which cuts set a finished size, which one that remains comes from (by step), and those sizes."""

    sets: frozenset[int]
    bounds: frozenset[int]
    rests: tuple[Remains, ...]


def _sizing(piece: Stock, layout: Layout, sawn: Sequence[_Sawn]) -> _Sizing:
    by_kept: dict[tuple[Axis, tuple[int, int]], list[_Sawn]] = {}
    for s in sawn:
        by_kept.setdefault((s.cut.direction, s.kept.span(s.cut.direction)), []).append(s)
    sets: set[int] = set()
    bounds: set[int] = set()
    rests = []
    whole = _Box(0, 0, piece.length, piece.width)
    for number, placed in enumerate(layout.parts):
        box = _Box(placed.x, placed.y, placed.dx, placed.dy)
        for axis in Axis:
            own = box.span(axis)
            setting = [s for s in by_kept.get((axis, own), ()) if _holds(s.kept, box)]
            if setting:
                sets.update(s.cut.step for s in setting)
            elif own != whole.span(axis):
                rests.append(Remains(number, axis, own[1] - own[0]))
                bounds.update(_bounding(sawn, box, axis))
    return _Sizing(frozenset(sets), frozenset(bounds), tuple(rests))


def _bounding(sawn: Sequence[_Sawn], box: _Box, axis: Axis) -> Iterator[int]:
    """Yield the steps that the size of a part which remains comes from.

    They make its two edges, or come between these cuts: what is taken off there by eye comes off that size.
    """
    low, high = box.span(axis)
    own = [s for s in sawn if s.cut.direction is axis and _holds(s.box, box)]
    at_low = next((n for n, s in enumerate(own) if s.high.span(axis)[0] == low), 0)
    at_high = next((n for n, s in enumerate(own) if s.low.span(axis)[1] == high), 0)
    for s in own[min(at_low, at_high) :]:
        yield s.cut.step


def _holds(outer: _Box, inner: _Box) -> bool:
    return (
        outer.x <= inner.x
        and outer.y <= inner.y
        and inner.x + inner.dx <= outer.x + outer.dx
        and inner.y + inner.dy <= outer.y + outer.dy
    )


def _operation(
    piece: Stock, s: _Sawn, sizes: _Sizing, saws: Saws, *, min_low: bool, min_high: bool
) -> Operation:
    axis = s.cut.direction
    run, reach = (s.box.dy, s.box.dx) if axis is Axis.CROSSCUT else (s.box.dx, s.box.dy)
    figure = _extent(s.kept, axis)
    takes = reach - figure
    sets, bounds = s.cut.step in sizes.sets, s.cut.step in sizes.bounds
    factory = max(factory_trim(piece, axis, at) for at in s.beyond.span(axis))
    trims = not (sets or bounds or s.beyond_named) and takes <= max(TRIM_MOST, factory)
    out = [_extent(side, axis) for side, named in ((s.low, min_low), (s.high, min_high)) if named]
    way = way_of(piece, axis)
    cut = Pass(way, run, reach, figure, min(out, default=reach), trims)
    at_low = s.kept is s.low
    edges = (Edge.X_LOW, Edge.X_HIGH) if axis is Axis.CROSSCUT else (Edge.Y_LOW, Edge.Y_HIGH)
    return Operation(
        step=s.cut.step,
        way=way,
        machine=machine_for(cut, saws),
        care=Care.TRIM if trims else Care.EXACT if sets or bounds else Care.ROUGH,
        edge=edges[0] if at_low else edges[1],
        run=run,
        reach=reach,
        figure=figure,
        takes=takes if trims else 0,
        heavy=is_heavy(run, reach, saws),
        cautions=cautions_for(cut, saws),
    )


def factory_trim(piece: Stock, axis: Axis, at: int) -> int:
    """Return what the shop trims off the edge as bought that lies `at`, 0 where none does (ticks)."""
    t = piece.edge_trim
    along = axis is Axis.CROSSCUT
    ends = {0: t.x_low, piece.length: t.x_high} if along else {0: t.y_low, piece.width: t.y_high}
    return ends.get(at, 0)


def _extent(box: _Box, axis: Axis) -> int:
    return box.dx if axis is Axis.CROSSCUT else box.dy


def by_turn(operations_of: Sequence[Sequence[Operation]], work: Sequence[tuple[int, int]]) -> list[Operation]:
    """Return the operations of all layouts in the order of work; layout after layout when there is none."""
    if not work:
        return [o for every in operations_of for o in every]
    steps: list[Mapping[int, Operation]] = [{o.step: o for o in every} for every in operations_of]
    return [steps[layout - 1][step] for layout, step in work]
