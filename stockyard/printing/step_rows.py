"""The lines of a cut card: its steps in words, equal cuts off one piece drawn together."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.measure import show
from stockyard.printing.papers import WHOLE, CutCard, CutStep, Direction, Side
from stockyard.printing.piece_drawing import size_text


@dataclass(frozen=True, slots=True)
class StepRow:
    """One line of a card. `numbers` is 4 or 4-7, `times` how many cuts it stands for.

    `takes` is the piece in hand, `keeps` what comes out at the fence, `rest` what lies beyond it.
    """

    numbers: str
    times: int
    direction: Direction
    fence: str
    stays: bool
    takes: str
    size: str
    keeps: str
    rest: str
    grave: tuple[str, ...]


def step_rows(card: CutCard) -> tuple[StepRow, ...]:
    """Return what is printed for the steps of `card`, in order."""
    lines = {part.name: part.line for part in card.parts}
    tags = {left.name: left.tag for left in card.leftovers}
    groups: list[list[CutStep]] = []
    for step in card.steps:
        if groups and _goes_on(groups[-1][-1], step, lines):
            groups[-1].append(step)
        else:
            groups.append([step])
    return tuple(_row(card, group, lines, tags) for group in groups)


def _at_fence(step: CutStep) -> str | None:
    return step.gives[0] if step.against is Side.LOW else step.gives[1]


def _beyond(step: CutStep) -> str | None:
    return step.gives[1] if step.against is Side.LOW else step.gives[0]


def _goes_on(last: CutStep, step: CutStep, lines: dict[str, str]) -> bool:
    """Whether `step` cuts the same part again off what the last cut left."""
    before, now = lines.get(_at_fence(last) or ""), lines.get(_at_fence(step) or "")
    same_saw = (step.direction, step.fence, step.against) == (last.direction, last.fence, last.against)
    return before is not None and before == now and same_saw and step.piece == _beyond(last)


def _row(card: CutCard, group: list[CutStep], lines: dict[str, str], tags: dict[str, str]) -> StepRow:
    first, last = group[0], group[-1]
    numbers = str(first.number) if first is last else f"{first.number}–{last.number}"
    kept = [_at_fence(step) or "waste" for step in group]
    keeps = _named(kept[0], tags)
    if len(group) > 1:
        line = lines[kept[0]]
        keeps = f"{line} {_copies([name.removeprefix(line).strip() for name in kept])}"
    return StepRow(
        numbers=numbers,
        times=len(group),
        direction=first.direction,
        fence=show(first.fence, card.unit, finest=card.finest),
        stays=first.stays,
        takes="whole" if first.piece == WHOLE else first.piece,
        size=size_text(first.length, first.width, card.unit),
        keeps=keeps,
        rest=_named(_beyond(last), tags),
        grave=tuple(dict.fromkeys(c.text for step in group for c in step.cautions if c.grave)),
    )


def _copies(numbers: list[str]) -> str:
    return runs([int(n) for n in numbers]) if all(n.isdecimal() for n in numbers) else ", ".join(numbers)


def _named(name: str | None, tags: dict[str, str]) -> str:
    if name is None:
        return "waste"
    return f"leftover {tags[name]}".rstrip() if name in tags else name


def light_cautions(card: CutCard) -> tuple[str, ...]:
    """Return what to mind at ordinary cuts, each with the numbers of its cuts."""
    found: dict[str, list[int]] = {}
    for step in card.steps:
        for caution in step.cautions:
            if not caution.grave:
                found.setdefault(caution.text, []).append(step.number)
    return tuple(f"{text}: cut {runs(numbers)}" for text, numbers in found.items())


def no_cuts(card: CutCard) -> str:
    """Return what a card without steps asks for."""
    sizes = [(p.dx, p.dy) for p in card.parts] + [(left.dx, left.dy) for left in card.leftovers]
    whole = sizes == [(card.length, card.width)]
    return "The piece is used whole." if whole else "Routed: cut the parts out as drawn."


def names_note(card: CutCard, *, turned: bool) -> tuple[str, ...]:
    """Return how to tell the two pieces of one cut apart, where both are cut further.

    `turned` when the drawing shows the length upright.
    """
    cut_again = {step.piece for step in card.steps}
    number = next((step.number for step in card.steps if cut_again.issuperset(step.gives)), None)
    if number is None:
        return ()
    side = "lower or right" if turned else "left or lower"
    return (
        f"chalk on what cut {number} gives: {number}a is the {side} one in the drawing, {number}b the other",
    )


def runs(numbers: list[int]) -> str:
    """Write rising numbers as 1, 3–5, 8."""
    found: list[list[int]] = []
    for n in numbers:
        if found and found[-1][-1] == n - 1:
            found[-1].append(n)
        else:
            found.append([n])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in found)
