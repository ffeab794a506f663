"""What is written on a scale drawing: names and sizes of parts, combs and leftovers, and their letters."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stockyard.measure import Unit, show
from stockyard.printing.combs import Comb
from stockyard.printing.drawing import Row, broken_up
from stockyard.printing.papers import CutCard, DrawnLeftover, DrawnPart
from stockyard.printing.step_rows import copies_text, in_mm, size_text

Thing = DrawnPart | DrawnLeftover | Comb


@dataclass(frozen=True, slots=True)
class Called:
    """What a letter on the drawing stands for: the words beside the letter below it."""

    letter: str
    name: str
    size: str


def letter(index: int) -> str:
    """Return A, B ... Z, AA, AB ... for 0, 1, ..."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def size_words(thing: Thing, card: CutCard) -> str:
    """Write the size of a thing, of a part as in the cut list, and whether it lies turned."""
    part = thing.parts[0] if isinstance(thing, Comb) else thing
    length, width = (part.dx, part.dy) if isinstance(part, DrawnLeftover) else part.size
    turned = isinstance(part, DrawnPart) and part.turned
    text = size_text(length, width, card.unit, card.finest)
    return f"{text}, turned" if turned else text


def labels(thing: Thing, card: CutCard) -> Iterator[tuple[Row, ...]]:
    """Yield the ways to name a thing where it lies, the best first, in lines and whether they are bold."""
    size = size_words(thing, card)
    if isinstance(thing, DrawnLeftover):
        title = thing.tag or "leftover"
        if thing.place:
            yield ((title, True), (size, False), (f"goes to {thing.place}", False))
            yield ((title, True), (size, False), (thing.place, False))
        yield ((title, True), (size, False))
        yield ((f"{title}  {size}", True),)
        if thing.tag:  # its size stands beside the tag where it is put back
            yield ((title, True),)
        return
    if isinstance(thing, Comb):
        title, size = copies_text(list(thing.parts)), f"{len(thing.parts)} × {size}"
    else:
        title = thing.title
    for lines in broken_up(title):
        if isinstance(thing, DrawnPart) and "≈" in size and card.unit is Unit.INCH:
            length, width = thing.size
            exact = f"{show(length, Unit.MM)} × {in_mm(width)}"
            yield (*((line, True) for line in lines), (size, False), (exact, False))
        yield (*((line, True) for line in lines), (size, False))
        if "," in size:
            first, _, last = size.partition(", ")
            yield (*((line, True) for line in lines), (first, False), (last, False))
    yield ((f"{title}  {size}", True),)


def line_of(thing: DrawnPart | Comb) -> str:
    """Return the line of the cut list of a part or a comb."""
    return thing.parts[0].line if isinstance(thing, Comb) else thing.line


def together(things: Sequence[Thing]) -> str:
    """Name all that one letter stands for: a leftover, or the copies of a part."""
    parts: list[DrawnPart] = []
    for thing in things:
        if isinstance(thing, DrawnLeftover):
            return thing.tag or "leftover"
        parts += thing.parts if isinstance(thing, Comb) else [thing]
    return parts[0].title if len(parts) == 1 else copies_text(parts)
