"""From a plan's layout to the steps of a cut card: what a person sets, holds and gets."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from stockyard.planning.plan import Cut, Layout
from stockyard.planning.sawing.finish import trims
from stockyard.planning.tree import Axis
from stockyard.printing.papers import WHOLE, CutStep, Direction, DrawnPart, Side
from stockyard.printing.replay import Area, split
from stockyard.printing.saw_safety import cautions_of

Saw = dict[bool, tuple[int, int]]
"""Where the rip fence (False) and the stop for cuts to length (True) stand, and since which card."""


def steps_of(
    layout: Layout, length: int, width: int, kerf: int, saw: Saw, *, card: int
) -> tuple[CutStep, ...]:
    """Return the steps that cut a `length` x `width` piece as `layout` says.

    A piece between two cuts is called by the step that gave it: 3a on the low side, 3b on the
    high side. `saw` is brought up to date, so that the next card knows where the fence stands; `card`
    is the number of this one.
    """
    areas = {WHOLE: Area(0, 0, length, width)}
    called = {"stock": WHOLE}
    again = Counter(cut.piece for cut in layout.cuts)
    clean, steps = trims(layout), []
    for cut in layout.cuts:
        whole = areas[called[cut.piece]]
        for name, mark in zip(cut.gives, "ab", strict=True):
            if name is not None:
                called[name] = f"{cut.step}{mark}" if again[name] else name
        step = _step(cut, whole, called, kerf, trim=cut.at + kerf if cut.step in clean else 0)
        fence, since = saw.get(step.across, (None, card))
        if not step.trim:
            stays = fence == cut.fence
            step = replace(step, stays=stays, as_on=since if stays and since != card else 0)
            saw[step.across] = cut.fence, card
        steps.append(step)
        for given, area in zip(step.gives, split(whole, step, kerf), strict=True):
            if given is not None:
                areas[given] = area
    return tuple(steps)


def _step(cut: Cut, whole: Area, called: dict[str, str], kerf: int, *, trim: int) -> CutStep:
    crosscut = cut.direction is Axis.CROSSCUT
    extent = whole.dx if crosscut else whole.dy
    low, high = (called[name] if name is not None else None for name in cut.gives)
    given = (cut.at if low else None, extent - kerf - cut.at if high else None)
    direction = Direction.CROSSCUT if crosscut else Direction.RIP
    step = CutStep(
        number=cut.step,
        piece=called[cut.piece],
        length=whole.dx,
        width=whole.dy,
        direction=direction,
        fence=cut.fence,
        against=Side.LOW if cut.fence == cut.at else Side.HIGH,
        gives=(low, high),
        trim=trim,
    )
    return replace(step, cautions=cautions_of(step, given))


def drawn_parts(layouts: Sequence[Layout]) -> Iterator[tuple[DrawnPart, ...]]:
    """Yield the parts of each layout, copies numbered over the whole plan as its cuts name them."""
    copies: Counter[str] = Counter()
    for layout in layouts:
        parts = []
        for p in layout.parts:
            copies[p.part] += 1
            name = f"{p.part} {copies[p.part]}"
            parts.append(DrawnPart(name=name, line=p.part, x=p.x, y=p.y, dx=p.dx, dy=p.dy))
        yield tuple(parts)
