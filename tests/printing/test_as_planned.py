"""What is planned is what is printed: random jobs through the real cards and the job sheet."""

from __future__ import annotations

import re
from random import Random

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.report import facts
from stockyard.printing.job_order import job_rows
from stockyard.printing.job_sheet import job_sheet_pdf
from stockyard.printing.papers import CutCard, CutStep, Direction, JobPapers
from stockyard.printing.saw_safety import grave_words, light_words
from stockyard.printing.step_rows import step_rows
from stockyard.saws import Machine, Saws
from tests.printing.samples import cards_of, random_plan, random_pull_list
from tests.printing.sheets_of_paper import text_of

QUICK, MANY = range(12), range(12, 312)


def shop(seed: int) -> Saws:
    """Return a random shop: fence, stop and guided saw each there or not, small or large, one saw or two."""
    rng = Random(seed)
    return Saws(
        rip_width=rng.choice((0, 300, 760, 1300)) * MM,
        stop_length=rng.choice((0, 600, 1220, 2600)) * MM,
        stop_reach=rng.choice((0, 300, 610, 1300)) * MM,
        guide_length=rng.choice((0, 0, 1270, 2600, 100_000)) * MM,
        one_person=rng.choice((300, 600, 914)) * MM,
        apart=rng.random() < 0.5,
        bench=rng.choice((1, 3, 40)),
    )


def seen(step: CutStep, card: CutCard) -> tuple[object, ...]:
    """Return all of a cut that a person sees: the piece, the grain, the figure, what comes out."""
    across = not card.grain and card.width > card.length
    with_grain = (step.direction is Direction.RIP) is not across
    run, reach = (
        (step.width, step.length) if step.direction is Direction.CROSSCUT else (step.length, step.width)
    )
    out = [name is not None for name in step.gives]
    return (
        with_grain,
        run,
        reach,
        step.fence,
        step.trim,
        step.rough,
        out if step.against == "low" else out[::-1],
    )


def check(seed: int) -> None:
    saws = shop(seed)
    problem, plan, unit = random_plan(seed, saws=saws)
    cards = cards_of(problem, plan, unit)
    papers = JobPapers(pull_list=random_pull_list(1, 2), cards=cards, work=plan.work)
    check_moves(problem, papers, facts(problem, plan).fence_moves)

    words: dict[str, object] = {}
    for card in cards:
        for step in card.steps:
            said = (step.word, step.machine, grave_words(step, card), light_words(step, card))
            assert words.setdefault(str(seen(step, card)), said) == said
        rows = step_rows(card)
        assert sum(row.times for row in rows) == len(card.steps)
        assert {row.word for row in rows} == {step.word for step in card.steps}


def check_moves(problem: Problem, papers: JobPapers, planned: int) -> None:
    """The count in the head of the job sheet, and the rows under it."""
    if not any(card.steps for card in papers.cards):
        return
    text = text_of(job_sheet_pdf(papers))[0]
    found = re.search(r"(\d+|no) settings?, (\d+) cuts?", text)
    assert found is not None
    assert found[1] == str(planned or "no")
    assert int(found[2]) == sum(len(card.steps) for card in papers.cards)
    assert "in all" not in text
    stands, moves = dict[object, object](), 0
    for row in job_rows(papers.cards, papers.work):
        if row.number:
            saw, now = one_saw(problem.saws, row.machine), (row.machine, row.figure)
            assert bool(row.stays) == (stands.get(saw) == now)
            moves += not row.stays
            stands[saw] = now
            assert row.stays or row.number == moves
    assert moves == planned


def one_saw(saws: Saws, machine: Machine | None) -> object:
    """Return what stands at one figure at a time."""
    return "saw" if not saws.apart and machine in {Machine.FENCE, Machine.STOP} else machine


@pytest.mark.parametrize("seed", QUICK)
def test_moves_words_and_cautions_are_printed_as_planned(seed: int) -> None:
    check(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", MANY)
def test_they_are_in_three_hundred_jobs(seed: int) -> None:
    check(seed)
