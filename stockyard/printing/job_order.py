"""The whole job in the order of work: which setting serves which cuts of which cards."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from stockyard.printing.papers import WHOLE, CutCard, CutStep, Turn
from stockyard.printing.saw_safety import grave_words
from stockyard.printing.step_rows import stays_text
from stockyard.saws import Machine, Saws, Setting, Standing, Way
from stockyard.wording import runs


@dataclass(frozen=True, slots=True)
class CardCuts:
    """The cuts of one card that are made at one setting, and the tag of its piece (empty: to buy).

    `trims` are those of them that only clean an edge first, by what comes off (ticks).
    """

    card: int
    tag: str
    numbers: tuple[int, ...]
    trims: Mapping[int, tuple[int, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingRow:
    """Cuts that follow each other at one setting, with the trims that their pieces want first.

    `number` 0 is a trim that no cut follows: it sets nothing. `figure` is where the machine stands in ticks,
    for a trim what comes off; it is set unless it `stays`. `waiting` pieces lie on the bench afterwards for
    their next cut. `grave` is what stands out of the cautions of these cuts, with the cards it is for where
    not for all.
    """

    number: int
    way: Way
    machine: Machine | None
    word: str
    figure: int
    rough: bool
    stays: str
    cards: tuple[CardCuts, ...]
    waiting: int
    grave: tuple[str, ...]

    @property
    def cuts(self) -> int:
        """How many cuts it stands for."""
        return sum(len(card.numbers) for card in self.cards)


def moves(rows: Iterable[SettingRow]) -> int:
    """Return how often something is set: the planner counts the same (`saws.Standing`)."""
    return sum(row.number > 0 and not row.stays for row in rows)


def in_order(cards: Sequence[CutCard], work: Sequence[Turn]) -> list[tuple[CutCard, CutStep]]:
    """Return every cut of the job in the order of `work`, or card after card when that is empty."""
    steps = {(card.number, step.number): (card, step) for card in cards for step in card.steps}
    return [steps[turn] for turn in work or steps]


def numbered(cards: Sequence[CutCard], work: Sequence[Turn], saws: Saws) -> tuple[CutCard, ...]:
    """Return the cards with the settings of their steps numbered in the order of `work`."""
    turns = (((card.number, step.number), step) for card, step in in_order(cards, work))
    made = settings(list(turns), saws)
    return tuple(
        replace(card, steps=tuple(made[card.number, s.number] for s in card.steps)) for card in cards
    )


def settings(turns: Sequence[tuple[Turn, CutStep]], saws: Saws) -> dict[Turn, CutStep]:
    """Return steps in the order of work with their settings numbered.

    A step that has a number keeps it, so that what is on paper stays true; others go on from the highest.
    """
    standing = Standing(saws)
    numbers: dict[Setting, int] = {}
    made: dict[Turn, CutStep] = {}
    highest = max((step.setting for _, step in turns), default=0)
    for key, step in turns:
        if step.sets is None:
            made[key] = step
            continue
        moves = standing.cut(step.sets)
        if moves and not step.setting:
            highest += 1
            numbers[step.sets] = highest
        elif step.setting:
            numbers[step.sets] = step.setting
        made[key] = replace(step, setting=numbers[step.sets], stays=not moves)
    return made


def job_rows(cards: Sequence[CutCard], work: Sequence[Turn] = ()) -> tuple[SettingRow, ...]:
    """Return the job row by row: cuts that follow each other at one setting, each after its trims."""
    rows = []
    bench: set[tuple[int, str]] = set()
    cut_again = {(card.number, step.piece) for card in cards for step in card.steps}
    every = in_order(cards, work)
    for _, found in groupby(zip(every, _serving(every), strict=True), key=lambda turn: _setting(turn[1])):
        turns = [turn for turn, _ in found]
        for card, step in turns:
            bench.discard((card.number, step.piece))
            given = {(card.number, name) for name in step.gives if name is not None and name != WHOLE}
            bench |= given & cut_again
        rows.append(_row(turns, len(bench)))
    return tuple(rows)


def _serving(turns: Sequence[tuple[CutCard, CutStep]]) -> list[CutStep]:
    """Return for each cut itself, for a trim the cut that the trimmed piece goes to at once, if it does."""
    serving: list[CutStep] = []
    for n, (card, step) in reversed(list(enumerate(turns))):
        if step.trim and serving and turns[n + 1][0] is card and turns[n + 1][1].piece in step.gives:
            serving.append(serving[-1])
        else:
            serving.append(step)
    return serving[::-1]


def _setting(step: CutStep) -> tuple[object, ...]:
    return (step.setting, step.word, step.machine, step.rough, step.trim or step.fence)


def _row(turns: Sequence[tuple[CutCard, CutStep]], waiting: int) -> SettingRow:
    step = next((step for _, step in turns if not step.trim), turns[0][1])
    return SettingRow(
        number=step.setting,
        way=step.way,
        machine=step.machine,
        word=step.word,
        figure=step.trim or step.fence,
        rough=step.rough,
        stays=stays_text(step),
        cards=tuple(_by_card(turns)),
        waiting=waiting,
        grave=tuple(_grave(turns)),
    )


def _grave(turns: Sequence[tuple[CutCard, CutStep]]) -> Iterator[str]:
    """Yield what stands out of the cautions, with the cards it is for where others are cut beside them."""
    every = {card.number for card, _ in turns}
    said: dict[str, dict[int, None]] = {}
    for card, step in turns:
        for text in grave_words(step, card):
            said.setdefault(text, {})[card.number] = None
    for text, cards in said.items():
        named = f"{'card' if len(cards) == 1 else 'cards'} {runs(sorted(cards))}: "
        yield text if len(cards) == len(every) else named + text


def _by_card(turns: Iterable[tuple[CutCard, CutStep]]) -> Iterator[CardCuts]:
    for _, found in groupby(turns, key=lambda turn: turn[0].number):
        cuts = list(found)
        trims: dict[int, tuple[int, ...]] = {}
        for _, step in cuts:
            if step.trim:
                trims[step.trim] = (*trims.get(step.trim, ()), step.number)
        yield CardCuts(cuts[0][0].number, cuts[0][0].tag, tuple(step.number for _, step in cuts), trims)
