"""The lines of a cut card: its steps in words, equal cuts off one piece drawn together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from stockyard import figures
from stockyard.flaws import CORNER_0, flaws_in, said
from stockyard.measure import Unit, show
from stockyard.printing.papers import WHOLE, CutCard, CutStep, DrawnPart, Edge, Side
from stockyard.printing.replay import rests
from stockyard.printing.saw_safety import grave_words, light_words
from stockyard.saws import Caution, Machine, Way
from stockyard.wording import runs


@dataclass(frozen=True, slots=True)
class StepRow:
    """One line of a card. `numbers` is 4 or 4–7, `times` how many cuts it stands for.

    `word` says what is done, `figure` where the fence stands or, for a trim, how much comes off the edge;
    `exact` is that figure in millimetres where it is shown rounded, else empty. `stays` says that it stands
    already, else it is empty. `setting` is its number on the job sheet, 0 for none. `edge` lies at the fence,
    which `at_fence` says in words. `takes` is the piece in hand (or several equal ones), `keeps` what comes
    out at the fence, `rest` what lies beyond it; `measure` are the finished sizes that are left over.
    `first` is the number of its first cut. `mark` says what to chalk on the face before it, else nothing.
    """

    first: int
    numbers: str
    times: int
    word: str
    figure: str
    exact: str
    trim: bool
    rough: bool
    stays: str
    setting: int
    edge: Edge
    at_fence: str
    takes: str
    size: str
    keeps: str
    rest: str
    measure: tuple[str, ...]
    grave: tuple[str, ...]
    mark: str = ""

    @property
    def must_measure(self) -> str:
        """What has to be checked because no fence gives it, else empty."""
        return f"what remains must measure {' and '.join(self.measure)}" if self.measure else ""


def size_text(length: int, width: int, unit: Unit, finest: int = 64) -> str:
    """Write length × width as on every paper, inches to the nearest 1/`finest`."""
    return figures.size(length, width, unit, mark=False, finest=finest)


def in_mm(ticks: int) -> str:
    """Write a length in millimetres beside a figure in inches that had to be rounded."""
    return show(ticks, Unit.MM, mark=True)


_DRAWN = {Edge.X_LOW: "left", Edge.X_HIGH: "right", Edge.Y_LOW: "lower", Edge.Y_HIGH: "upper"}
_TURNED = {Edge.X_LOW: "lower", Edge.X_HIGH: "upper", Edge.Y_LOW: "right", Edge.Y_HIGH: "left"}


def stays_text(step: CutStep) -> str:
    """Say that a figure stands already, else nothing; a guided saw is laid on again all the same."""
    if not step.stays:
        return ""
    return "stays" if step.machine in {Machine.FENCE, Machine.STOP} else "again"


def drawn_side(edge: Edge, *, turned: bool) -> str:
    """Return where an edge lies in the drawing: left, right, lower or upper."""
    return (_TURNED if turned else _DRAWN)[edge]


def step_rows(card: CutCard, *, turned: bool = False) -> tuple[StepRow, ...]:
    """Return what is printed for the steps of `card`, in order; `turned` where its drawing stands upright.

    Equal cuts off one piece are one row, and so are those off several equal pieces.
    """
    over = rests(card)
    return tuple(_row(card, bundle, over, turned=turned) for bundle in _bundles(card))


Chain = list[CutStep]
"""Cuts off one piece, each off what the last one left."""


def _bundles(card: CutCard) -> Iterator[list[Chain]]:
    """Yield the chains that make one row: equal cuts that follow each other, off one piece or equal ones."""
    parts = {part.name: part.line for part in card.parts}
    cut_again = {step.piece for step in card.steps}

    def alike(step: CutStep) -> tuple[object, ...]:
        name = _at_fence(step) or ""
        # What is neither a part nor cut again stands alone.
        gives = parts.get(name) or ("" if name in cut_again else step.number)
        return (gives, step.word, step.machine, step.edge, step.fence, step.trim, step.setting, step.rough,
                bool(step.panel))  # fmt: skip

    for _, found in groupby(card.steps, key=alike):
        chains = _chains(list(found))
        together: dict[tuple[int, ...], list[Chain]] = {}
        for chain in chains:
            key = (chain[0].length, chain[0].width, len(chain))
            together.setdefault(key, []).append(chain)
        for bundle in together.values():
            numbers = sorted(step.number for chain in bundle for step in chain)
            if numbers[-1] - numbers[0] + 1 == len(numbers):
                yield bundle
            else:
                yield from ([[step]] for chain in bundle for step in chain)


def _chains(steps: list[CutStep]) -> list[Chain]:
    chains: list[Chain] = []
    for step in steps:
        chain = next((chain for chain in chains if _beyond(chain[-1]) == step.piece), None)
        if chain is None:
            chains.append([step])
        else:
            chain.append(step)
    return chains


def _at_fence(step: CutStep) -> str | None:
    return step.gives[0 if step.against is Side.LOW else 1]


def _beyond(step: CutStep) -> str | None:
    return step.gives[1 if step.against is Side.LOW else 0]


def _row(card: CutCard, bundle: list[Chain], over: dict[int, tuple[int, ...]], *, turned: bool) -> StepRow:
    group = [step for every in bundle for step in every]
    first, last = group[0], max(group, key=lambda step: step.number)
    figure = show(first.trim or first.fence, card.unit, finest=card.finest)
    left_over = dict.fromkeys(size for step in group for size in over.get(step.number, ()))
    return StepRow(
        first=first.number,
        numbers=str(first.number) if first is last else f"{first.number}–{last.number}",
        times=len(group),
        word=first.word,
        figure=figure,
        exact=in_mm(first.trim or first.fence) if "≈" in figure and card.unit is Unit.INCH else "",
        trim=first.trim > 0,
        rough=first.rough,
        stays=stays_text(first),
        setting=first.setting,
        edge=first.edge,
        at_fence=_edge_words(first, card, turned=turned),
        takes=_between(["whole" if every[0].piece == WHOLE else every[0].piece for every in bundle]),
        size=size_text(first.length, first.width, card.unit, card.finest),
        keeps=_copies([_at_fence(step) for step in group], card),
        rest=_rest([_beyond(chain[-1]) for chain in bundle], card),
        measure=tuple(show(size, card.unit, finest=card.finest) for size in left_over),
        grave=tuple(dict.fromkeys(text for step in group for text in grave_words(step, card))),
        mark=_mark(group),
    )


def _mark(group: Sequence[CutStep]) -> str:
    """Return the cabinetmaker's mark (common practice, no source): a triangle over all parts of a set."""
    panels = list(dict.fromkeys(step.panel for step in group if step.panel))
    if not panels:
        return ""
    which = panels[0] if len(panels) == 1 else f"each of {', '.join(panels[:-1])} and {panels[-1]}"
    return f"mark the face before this cut: one triangle across {which}, its point on 1"


def _edge_words(step: CutStep, card: CutCard, *, turned: bool) -> str:
    side = drawn_side(step.edge, turned=turned)
    part = "end" if step.way is Way.CROSS else "edge"
    if step.trim:
        # An end or edge is trimmed where it is handiest; only what one person cannot push is told where.
        guided = step.machine is Machine.GUIDE and Caution.TWO_PEOPLE in step.cautions
        on = f"{card.guide}, " if guided else ""
        return f"{on}off the {drawn_side(step.edge.opposite, turned=turned)} {part}"
    if step.machine is Machine.STOP:
        return f"{side} {part} to the stop"
    if step.machine is Machine.FENCE:
        return f"{side} {part} to the fence"
    if step.machine is Machine.GUIDE:
        return f"{card.guide}, from the {side} {part}"
    return f"{'to a mark' if step.machine else 'measured'} from the {side} {part}"


def _copies(names: list[str | None], card: CutCard) -> str:
    parts = {part.name: part for part in card.parts}
    if len(names) == 1:
        return _named(names[0], card)
    if names[0] in parts:
        return copies_text([parts[name] for name in names if name is not None])
    return _between([name or "waste" for name in names])


def _between(names: Sequence[str]) -> str:
    """Write what lies between cuts, four or more that come one after the other as `4a–17a`."""
    found: list[list[str]] = []
    for name in names:
        follows = found and _next(found[-1][-1]) == name
        found[-1].append(name) if follows else found.append([name])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 3 else ", ".join(run) for run in found)


def _next(name: str) -> str:
    """Return what the next cut gives on the same side: 5a after 4a."""
    return f"{int(name[:-1]) + 1}{name[-1]}" if name[:-1].isdecimal() else ""


def _rest(names: Sequence[str | None], card: CutCard) -> str:
    """Write what lies beyond the last cuts, equal parts together."""
    parts = {part.name: part for part in card.parts}
    together: dict[str, list[str | None]] = {}
    for name in names:
        together.setdefault(parts[name].line if name in parts else name or "", []).append(name)
    return "; ".join(_copies(group, card) if group[0] in parts else _named(group[0], card)
                     for group in together.values())  # fmt: skip


def copies_text(parts: list[DrawnPart]) -> str:
    """Write equal parts as `leg, 1–5 of 5`."""
    return f"{parts[0].line}, {runs(sorted(p.number for p in parts))} of {parts[0].of}"


def _named(name: str | None, card: CutCard) -> str:
    if name is None:
        return "waste"
    titles = {part.name: part.title for part in card.parts}
    tags = {left.name: f"leftover {left.tag}".rstrip() for left in card.leftovers}
    return titles.get(name) or tags.get(name) or name


def light_cautions(card: CutCard) -> tuple[str, ...]:
    """Return what a heavy piece asks for, and what to mind at ordinary cuts, with the numbers of the cuts."""
    found: dict[str, list[int]] = {}
    for step in card.steps:
        for text in light_words(step, card):
            found.setdefault(text, []).append(step.number)
    whole = (f"the whole piece is {card.heavy}",) if card.heavy else ()
    return whole + tuple(
        f"{text}: {'cut' if len(numbers) == 1 else 'cuts'} {runs(numbers)}" for text, numbers in found.items()
    )


def known_damage(card: CutCard) -> Iterator[str]:
    """Yield what no part may touch and why, as it is drawn, and what somebody wrote of the piece."""
    if card.clamps:
        every = "; ".join(said(f, card.unit) for f in card.clamps)
        yield f"Black, a clamp of the router's table: {every}, from {CORNER_0}"
    if card.flaws:
        every = "; ".join(said(f, card.unit) for f in card.flaws)
        yield f"Cross-hatched, no part may touch it: {every}, from {CORNER_0}"
    for left in card.leftovers:
        if own := flaws_in(card.flaws, left.x, left.y, left.dx, left.dy):
            every = "; ".join(said(f, card.unit) for f in own)
            yield f"{left.tag or 'The leftover'} keeps {every}: its own corner 0 is the one toward this 0"
    if card.note:
        yield f"Written of this piece: {card.note}"


def band_notes(card: CutCard, row: StepRow | None = None) -> Iterator[str]:
    """Yield the sizes of each part that is milled or banded after the saw, and how, in words.

    With a `row` only of parts that its cuts set free.
    """
    free = {
        name for s in card.steps if row and row.first <= s.number < row.first + row.times for name in s.gives
    }
    parts = [p for p in card.parts if row is None or p.name in free]
    for part in {p.line: p for p in parts if p.band or p.then}.values():
        cut = f"{'rough' if part.then else 'cut'} {size_text(*part.size, card.unit, card.finest)}"
        finished = f"finished {size_text(*part.finished, card.unit, card.finest)}" if part.finished else ""
        if part.then and not part.band:
            finished = ""
        sizes = ", ".join(text for text in (cut, part.then, finished) if text)
        yield f"{part.line}: " + "; ".join(text for text in (sizes, part.band) if text)


def factory_text(edges: Sequence[Edge], *, turned: bool) -> str:
    """Say which edges of a leftover still want a trim, as they lie in the drawing; empty for none."""
    sides = [drawn_side(edge, turned=turned) for edge in edges]
    *most, last = sides or [""]
    named = f"{', '.join(most)} and {last}" if most else last
    return f"{named} still as bought: trim next time" if sides else ""


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
    apart = [step for step in card.steps if cut_again.issuperset(step.gives)]
    # Rather of a cut whose two pieces both stand among the cuts: of a row of equal cuts that is the last.
    named = {chain[0].piece for bundle in _bundles(card) for chain in bundle}
    step = next((step for step in apart if named.issuperset(step.gives)), next(iter(apart), None))
    if step is None:
        return ()
    number = step.number
    side = "lower or right" if turned else "left or lower"
    return (
        f"Chalk on what cut {number} gives: {number}a is the {side} one in the drawing, {number}b the other",
    )
