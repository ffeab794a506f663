"""The lines of a cut card: its steps in words, equal cuts off one piece drawn together."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.measure import Unit, show
from stockyard.printing.papers import WHOLE, CutCard, CutStep, DrawnPart, Side
from stockyard.printing.piece_drawing import in_mm, size_text
from stockyard.wording import listed, runs


@dataclass(frozen=True, slots=True)
class StepRow:
    """One line of a card. `numbers` is 4 or 4-7, `times` how many cuts it stands for.

    `word` says what is done, `figure` where the fence stands or, for a trim, how much comes off the edge;
    `exact` is that figure in millimetres where it is shown rounded, else empty. `as_on` is the card
    that set the fence so, 0 when this one did or must. `takes` is the piece in hand, `keeps` what comes
    out at the fence, `rest` what lies beyond it.
    """

    numbers: str
    times: int
    word: str
    figure: str
    exact: str
    trim: bool
    stays: bool
    as_on: int
    takes: str
    size: str
    keeps: str
    rest: str
    grave: tuple[str, ...]

    @property
    def small(self) -> tuple[str, ...]:
        """What stands in small print under the figure."""
        return (*([self.exact] if self.exact else []), *([f"as on card {self.as_on}"] if self.as_on else []))


def step_rows(card: CutCard) -> tuple[StepRow, ...]:
    """Return what is printed for the steps of `card`, in order."""
    parts = {part.name: part for part in card.parts}
    tags = {left.name: left.tag for left in card.leftovers}
    groups: list[list[CutStep]] = []
    for step in card.steps:
        if groups and _goes_on(groups[-1][-1], step, parts):
            groups[-1].append(step)
        else:
            groups.append([step])
    return tuple(_row(card, group, parts, tags) for group in groups)


def _at_fence(step: CutStep) -> str | None:
    return step.gives[0] if step.against is Side.LOW and not step.trim else step.gives[1]


def _beyond(step: CutStep) -> str | None:
    return step.gives[1] if step.against is Side.LOW and not step.trim else step.gives[0]


def _goes_on(last: CutStep, step: CutStep, parts: dict[str, DrawnPart]) -> bool:
    """Whether `step` cuts the same part again off what the last cut left."""
    before, now = parts.get(_at_fence(last) or ""), parts.get(_at_fence(step) or "")
    same_saw = (step.word, step.direction, step.fence, step.against) == (
        last.word, last.direction, last.fence, last.against
    )  # fmt: skip
    same_part = before is not None and now is not None and before.line == now.line
    return same_part and same_saw and step.piece == _beyond(last)


def _row(card: CutCard, group: list[CutStep], parts: dict[str, DrawnPart], tags: dict[str, str]) -> StepRow:
    first, last = group[0], group[-1]
    numbers = str(first.number) if first is last else f"{first.number}–{last.number}"
    kept = [_at_fence(step) or "waste" for step in group]
    keeps = _named(_at_fence(first), parts, tags)
    if len(group) > 1:
        keeps = f"{parts[kept[0]].line}, no. {listed([parts[name].copy for name in kept])}"
    figure = show(first.trim or first.fence, card.unit, finest=card.finest)
    return StepRow(
        numbers=numbers,
        times=len(group),
        word=first.word,
        figure=figure,
        exact=in_mm(first.trim or first.fence) if "≈" in figure and card.unit is Unit.INCH else "",
        trim=first.trim > 0,
        stays=first.stays and not first.as_on,
        as_on=first.as_on,
        takes="whole" if first.piece == WHOLE else first.piece,
        size=size_text(first.length, first.width, card.unit),
        keeps=keeps,
        rest=_named(_beyond(last), parts, tags),
        grave=tuple(dict.fromkeys(c.text for step in group for c in step.cautions if c.grave)),
    )


def _named(name: str | None, parts: dict[str, DrawnPart], tags: dict[str, str]) -> str:
    if name is None:
        return "waste"
    if name in parts:
        return parts[name].title
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
