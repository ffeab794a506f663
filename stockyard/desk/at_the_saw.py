"""The cuts of a job one after the other, as somebody at the saw wants them."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.desk.papers import papers_of
from stockyard.printing.job_order import in_order
from stockyard.printing.papers import CutCard, CutStep
from stockyard.printing.step_rows import StepRow, step_rows
from stockyard.yard import Yard, jobs

DONE = "cut already"


@dataclass(frozen=True, slots=True, kw_only=True)
class SawStep:
    """Equal cuts at one setting (`row`, begun with `step`); where both are None a piece has had its last cut.

    `card` is the card of the piece.
    """

    card: CutCard
    row: StepRow | None = None
    step: CutStep | None = None

    @property
    def key(self) -> str:
        """What names it among all of the job: it stays the same as pieces are cut."""
        return f"{self.card.number}.{self.row.first if self.row else 'end'}"


def saw_steps(yard: Yard, name: str) -> tuple[SawStep, ...]:
    """Return every cut of a planned job in the order of work; a piece's end follows its last cut.

    Pieces still to be bought are left out.

    Raises:
        BadInput: no such job. Refused: it has no plan that holds.
    """
    with yard.reading():
        papers = papers_of(yard, jobs.planned_job(yard, name))
    cards = {card.number: card for card in papers.cards if card.tag}
    rows = {n: {row.first: row for row in step_rows(card)} for n, card in cards.items()}
    starts = {n: _starts(tuple(found.values())) for n, found in rows.items()}
    left = {n: len(card.steps) for n, card in cards.items()}
    steps: list[SawStep] = [SawStep(card=card) for card in cards.values() if not card.steps]
    seen: set[tuple[int, int]] = set()
    for card, step in in_order(papers.cards, papers.work):
        n = card.number
        if n not in cards:
            continue
        first = starts[n][step.number]
        if (n, first) not in seen:
            seen.add((n, first))
            steps.append(SawStep(card=card, row=rows[n][first], step=_begun(card, first)))
        left[n] -= 1
        if not left[n]:
            steps.append(SawStep(card=card))
    return tuple(steps)


def _starts(rows: tuple[StepRow, ...]) -> dict[int, int]:
    """Return, for each cut of a card, the number of the first cut of its row."""
    return {row.first + i: row.first for row in rows for i in range(row.times)}


def _begun(card: CutCard, first: int) -> CutStep:
    return next(step for step in card.steps if step.number == first)
