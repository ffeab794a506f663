"""From a plan's layout to the steps of a cut card: what a person sets, holds and gets."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from stockyard.measure import Length
from stockyard.planning.plan import Cut, Layout
from stockyard.planning.problem import Stock
from stockyard.planning.sawing.operations import Care, Operation, operations
from stockyard.planning.tree import Axis
from stockyard.printing.papers import WHOLE, CutStep, Direction, DrawnPart, Side
from stockyard.printing.replay import Area, split
from stockyard.saws import Saws
from stockyard.yard.planned import StoredLayout


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the cut list as cards and labels number it: its length, how many, how many cut before.

    `finished` is its size with its bands on, None where that is its cut size; `band` says them in words,
    `then` what it is milled and trimmed to.
    """

    length: int
    of: int
    before: int = 0
    finished: tuple[int, int] | None = None
    band: str = ""
    then: str = ""


def steps_of(
    layout: Layout, piece: Stock, kerf: int, saws: Saws, settings: Mapping[int, int | None] | None = None
) -> tuple[CutStep, ...]:
    """Return the steps that cut `piece` as `layout` says; `settings` are those that cuts have already.

    A piece between two cuts is called by the step that gave it: 3a on the low side, 3b on the
    high side.
    """
    areas = {WHOLE: Area(0, 0, piece.length, piece.width)}
    called = {"stock": WHOLE}
    again = Counter(cut.piece for cut in layout.cuts)
    steps = []
    for cut, operation in zip(layout.cuts, operations(piece, layout, kerf, saws), strict=True):
        whole = areas[called[cut.piece]]
        for name, mark in zip(cut.gives, "ab", strict=True):
            if name is not None:
                called[name] = f"{cut.step}{mark}" if again[name] else name
        step = _step(cut, operation, whole, called, (settings or {}).get(cut.step) or 0)
        steps.append(step)
        for given, area in zip(step.gives, split(whole, step, kerf), strict=True):
            if given is not None:
                areas[given] = area
    return tuple(steps)


def _step(cut: Cut, operation: Operation, whole: Area, called: Mapping[str, str], setting: int) -> CutStep:
    low, high = (called[name] if name is not None else None for name in cut.gives)
    return CutStep(
        number=cut.step,
        piece=called[cut.piece],
        length=Length(whole.dx),
        width=Length(whole.dy),
        direction=Direction.CROSSCUT if cut.direction is Axis.CROSSCUT else Direction.RIP,
        fence=Length(operation.figure),
        against=Side.LOW if operation.edge.endswith("low") else Side.HIGH,
        gives=(low, high),
        way=operation.way,
        machine=operation.machine,
        rough=operation.care is Care.ROUGH,
        trim=Length(operation.takes if operation.care is Care.TRIM else 0),
        setting=setting,
        cautions=operation.cautions,
    )


def drawn_parts(
    layouts: Sequence[Layout], lines: Mapping[str, Line], stored: Sequence[StoredLayout] = ()
) -> Iterator[tuple[DrawnPart, ...]]:
    """Yield the parts of each layout, copies named over the whole plan as its cuts name them.

    On paper they have the numbers that are kept with the rows of the plan (`stored`). Where none are, they
    are numbered as they lie, row by row, after those of their line that were cut before this plan.
    """
    kept: dict[tuple[int, str, int, int], int | None] = {
        (n, p.name, p.x, p.y): p.number for n, x in enumerate(stored) for p in x.placed
    }
    copies: Counter[str] = Counter()
    numbers: Counter[str] = Counter()
    for n, layout in enumerate(layouts):
        parts = []
        placed = sorted(layout.parts, key=lambda p: (p.y, p.x))
        number = {}
        for p in placed:
            numbers[p.part] += 1
            number[p.part, p.x, p.y] = numbers[p.part]
        for p in layout.parts:
            copies[p.part] += 1
            line = lines[p.part]
            parts.append(
                DrawnPart(
                    name=f"{p.part} {copies[p.part]}",
                    line=p.part,
                    x=Length(p.x),
                    y=Length(p.y),
                    dx=Length(p.dx),
                    dy=Length(p.dy),
                    number=kept.get((n, p.part, p.x, p.y)) or line.before + number[p.part, p.x, p.y],
                    of=line.of,
                    turned=p.dx != line.length,
                    finished=line.finished,
                    band=line.band,
                    then=line.then,
                )
            )
        yield tuple(parts)
