"""Follow the steps of a cut card as a person at the saw would, from the printed figures alone."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.errors import BadInput
from stockyard.printing.papers import WHOLE, CutCard, CutStep, Direction, Side


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle on the piece in ticks."""

    x: int
    y: int
    dx: int
    dy: int


@dataclass(frozen=True, slots=True)
class Bench:
    """Every rectangle that ever had a name, and the names still lying there after the last step."""

    areas: dict[str, Area]
    remaining: frozenset[str]


def blade_at(step: CutStep, kerf: int) -> int:
    """Return where the blade enters, in ticks from the low edge of the step's own piece."""
    extent = step.length if step.direction is Direction.CROSSCUT else step.width
    return step.fence if step.against is Side.LOW else extent - kerf - step.fence


def replay(card: CutCard) -> Bench:
    """Carry out the steps of `card` one by one.

    Raises:
        BadInput: a step cuts what is not there, claims a wrong size or reuses a name.
    """
    areas = {WHOLE: Area(0, 0, card.length, card.width)}
    remaining = {WHOLE}
    for step in card.steps:
        where = f"cut card {card.tag or card.place}, step {step.number}"
        if step.piece not in remaining:
            raise BadInput(f"{where}: '{step.piece}' is not on the bench")
        whole = areas[step.piece]
        if (whole.dx, whole.dy) != (step.length, step.width):
            raise BadInput(f"{where}: '{step.piece}' has another size than the step says")
        remaining.remove(step.piece)
        for name, area in zip(step.gives, split(whole, step, card.kerf), strict=True):
            if name is None:
                continue
            if name in areas:
                raise BadInput(f"{where}: the name '{name}' is used twice")
            if area.dx <= 0 or area.dy <= 0:
                raise BadInput(f"{where}: nothing is left for '{name}'")
            areas[name] = area
            remaining.add(name)
    return Bench(areas, frozenset(remaining))


def split(whole: Area, step: CutStep, kerf: int) -> tuple[Area, Area]:
    """Return the low and the high side of `whole`; an extent of 0 or less means sawdust."""
    at = blade_at(step, kerf)
    after = at + kerf
    if step.direction is Direction.CROSSCUT:
        return (
            Area(whole.x, whole.y, at, whole.dy),
            Area(whole.x + after, whole.y, whole.dx - after, whole.dy),
        )
    return (
        Area(whole.x, whole.y, whole.dx, at),
        Area(whole.x, whole.y + after, whole.dx, whole.dy - after),
    )


def rests(card: CutCard) -> dict[int, tuple[int, ...]]:
    """Return by step the finished sizes (ticks) that the cut leaves over: no fence or stop gives them.

    A size comes from the last cut that divides it, and only what lies against the fence is measured by it.
    """
    areas = replay(card).areas
    found: dict[int, list[int]] = {}
    for part in card.parts:
        box = Area(part.x, part.y, part.dx, part.dy)
        for direction in Direction:
            cuts = [s for s in card.steps if s.direction is direction and _holds(areas[s.piece], box)]
            if not cuts:
                continue
            last = cuts[-1]
            low, high = split(areas[last.piece], last, card.kerf)
            if not _holds(low if last.against is Side.LOW else high, box):
                size = box.dx if direction is Direction.CROSSCUT else box.dy
                found.setdefault(last.number, []).append(size)
    return {number: tuple(dict.fromkeys(sizes)) for number, sizes in found.items()}


def _holds(outer: Area, inner: Area) -> bool:
    return (
        outer.x <= inner.x
        and outer.y <= inner.y
        and inner.x + inner.dx <= outer.x + outer.dx
        and inner.y + inner.dy <= outer.y + outer.dy
    )
