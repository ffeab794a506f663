"""Rough cuts at figures that one sets quickly: the blade moved a little, and all that lies beside it.

What a cut leaves for others to divide need not be exact: its figure is a whole 5 mm or 1/4 in where there
is room for it, or one that another cut needs anyway. What ended at that cut's edge is then set afterwards.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit
from stockyard.planning.problem import Problem, Stock
from stockyard.planning.sawing.cuts import Bench
from stockyard.planning.sawing.operations import TRIM_MOST, factory_trim
from stockyard.planning.tree import Axis

# Steps of a figure that is read off a scale at a glance, the better first; and what lies at least beyond the
# blade where a size is set afterwards, as much as a rough cut is off (common practice, no source).
STEPS = {Unit.MM: (5 * TICKS_PER_MM, TICKS_PER_MM), Unit.INCH: (TICKS_PER_INCH // 4, TICKS_PER_INCH // 16)}
LEAST = 3 * TICKS_PER_MM
# How far a rough cut moves to another figure at most, in steps.
_FAR = 3


def is_round(figure: int, unit: Unit) -> bool:
    """Whether a figure is one that is set quickly."""
    return figure % STEPS[unit][0] == 0


def nearby(figure: int, unit: Unit, known: Collection[int]) -> Iterator[list[int]]:
    """Yield figures instead of one that need not be exact, the better kind first, of each the nearest first.

    Those `known` are set anyway and go with each.
    """
    for step in STEPS[unit]:
        low = figure - figure % step
        found = {low + n * step for n in range(1 - _FAR, _FAR + 1)}
        reach = _FAR * STEPS[unit][0]
        near = {k for k in known if abs(k - figure) <= reach}
        yield sorted((found | near) - {figure}, key=lambda f: abs(f - figure))


class Rougher:
    """Moves the cuts of one piece to other figures."""

    def __init__(self, problem: Problem, stock: Stock) -> None:
        self._kerf, self._keeps, self._stock = problem.kerf, problem.worth.keeps, stock

    def at_figure(self, bench: Bench, cut: Bench, figure: int) -> Bench | None:
        """Return a piece with one of its cuts set to another figure; None where that leaves too little."""
        try:
            return self._with(bench, cut, figure)
        except _NoRoomError:
            return None

    def _with(self, bench: Bench, cut: Bench, figure: int) -> Bench:
        if bench is cut:
            return self._set(cut, figure - cut.fence if _low_kept(cut) else cut.fence - figure)
        if bench.axis is None:
            return bench
        low, high = (None if side is None else self._with(side, cut, figure) for side in bench.sides)
        same = low is bench.sides[0] and high is bench.sides[1]
        return bench if same else replace(bench, sides=(low, high))

    def _set(self, cut: Bench, by: int) -> Bench:
        """Return a cut with the blade moved towards the high end."""
        axis = cut.axis
        assert axis is not None
        low, high = cut.sides
        if low is None or low.kept:
            self._room(cut.at + by, factory_trim(self._stock, axis, _start(cut, axis)))
        if low is not None:
            low = self._longer(low, axis, by)
        if high is None:
            self._waste(cut, axis, cut.at + by)
        else:
            high = self._longer(_shifted(high, axis, by), axis, -by)
        kept = low if _low_kept(cut) else high
        assert kept is not None
        return replace(cut, at=cut.at + by, fence=_extent(kept, axis), sides=(low, high))

    def _longer(self, box: Bench, axis: Axis, by: int) -> Bench:
        """Return what lies on the bench, longer at its high end; less than nothing: shorter."""
        if by == 0:
            return box
        whole = _resized(box, axis, by)
        if box.part is not None:
            self._room(by - self._kerf, 0)
            size = _extent(box, axis)
            return replace(whole, part=None, axis=axis, at=size, fence=size, sides=(box, None))
        if box.kept:
            if not self._keeps(whole.dx, whole.dy):
                raise _NoRoomError
            self._waste(whole, axis, -self._kerf)
            return whole
        low, high = box.sides
        if box.axis is not axis:
            low, high = (None if side is None else self._longer(side, axis, by) for side in box.sides)
            return replace(whole, sides=(low, high))
        if not _low_kept(box):
            return self._trimmed_more(whole, axis, by)
        if high is None:
            self._waste(whole, axis, box.at)
            return whole
        return replace(whole, sides=(low, self._longer(high, axis, by)))

    def _trimmed_more(self, whole: Bench, axis: Axis, by: int) -> Bench:
        """Return a piece, longer already, trimmed at its low end: by more, or what is left is longer."""
        low, high = whole.sides
        if low is not None or high is None:
            raise _NoRoomError
        if by > 0 and (high.part is not None or whole.at + by + self._kerf <= TRIM_MOST):
            return replace(whole, at=whole.at + by, sides=(None, _shifted(high, axis, by)))
        if whole.at + self._kerf > TRIM_MOST:
            raise _NoRoomError
        high = self._longer(high, axis, by)
        return replace(whole, fence=_extent(high, axis), sides=(None, high))

    def _waste(self, box: Bench, axis: Axis, at: int) -> None:
        """See that enough comes off beyond a blade."""
        size, end = _extent(box, axis), _start(box, axis) + _extent(box, axis)
        self._room(size - at - self._kerf, factory_trim(self._stock, axis, end))

    def _room(self, beyond: int, margin: int) -> None:
        if beyond < LEAST or beyond + self._kerf < margin:
            raise _NoRoomError


class _NoRoomError(Exception):
    """A cut can not be moved so far."""


def _low_kept(cut: Bench) -> bool:
    return cut.fence == cut.at and cut.sides[0] is not None


def _extent(box: Bench, axis: Axis) -> int:
    return box.dx if axis is Axis.CROSSCUT else box.dy


def _start(box: Bench, axis: Axis) -> int:
    return box.x if axis is Axis.CROSSCUT else box.y


def _resized(box: Bench, axis: Axis, by: int) -> Bench:
    return replace(box, dx=box.dx + by) if axis is Axis.CROSSCUT else replace(box, dy=box.dy + by)


def _shifted(box: Bench, axis: Axis, by: int) -> Bench:
    low, high = (None if side is None else _shifted(side, axis, by) for side in box.sides)
    moved = replace(box, sides=(low, high))
    return replace(moved, x=box.x + by) if axis is Axis.CROSSCUT else replace(moved, y=box.y + by)
