"""The job sheet: every cut once, in the order of work, under the setting that serves it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import pytest

from stockyard.printing.job_order import job_rows, moves
from stockyard.printing.job_order import numbered as numbered_by
from stockyard.printing.job_sheet import job_sheet_pdf
from stockyard.printing.one_job import job_pdf, saw_pdf
from stockyard.printing.page import SIZES
from stockyard.printing.papers import CutCard, CutStep, JobPapers, Turn
from stockyard.printing.step_rows import stays_text
from stockyard.saws import Caution, Machine, Saws, Way
from tests.printing.samples import board_of_legs, inch, random_papers, random_pull_list
from tests.printing.sheets_of_paper import pages, text_of
from tests.printing.with_steps import unnumbered, with_cautions, with_first


def numbered(
    cards: Sequence[CutCard],
    work: Sequence[Turn] = (),
    saws: Saws = Saws(),
) -> tuple[CutCard, ...]:
    """Number the settings as a shop of two saws does."""
    return numbered_by(cards, work, saws)


def two_boards() -> tuple[CutCard, CutCard]:
    """Two boards of five legs each, on cards 1 and 2."""
    card = board_of_legs()
    return card, replace(card, number=2, tag="OTHER")


def papers(cards: tuple[CutCard, ...], work: tuple[tuple[int, int], ...] = ()) -> JobPapers:
    return JobPapers(pull_list=random_pull_list(1, 2), cards=numbered(cards, work), work=work)


@pytest.mark.parametrize("seed", range(30))
def test_every_cut_stands_once_in_the_order_of_work(seed: int) -> None:
    made = random_papers(seed)
    rows = job_rows(made.cards, made.work)
    stands = [(cuts.card, number) for row in rows for cuts in row.cards for number in cuts.numbers]
    assert stands == list(made.work or [(c.number, s.number) for c in made.cards for s in c.steps])
    assert sum(row.cuts for row in rows) == sum(len(card.steps) for card in made.cards)


@pytest.mark.parametrize("seed", range(30))
def test_the_settings_that_are_counted_are_those_that_are_made(seed: int) -> None:
    """Counted anew from the figures alone, fence, stop and guided saw each by itself."""
    made = random_papers(seed)
    stands: dict[object, int] = {}
    count = 0
    steps = {(card.number, step.number): step for card in made.cards for step in card.steps}
    for turn in made.work or steps:
        step = steps[turn]
        if not step.trim:
            count += stands.get(step.machine) != step.fence
            stands[step.machine] = step.fence
    assert moves(job_rows(made.cards, made.work)) == count
    assert max((step.setting for step in steps.values()), default=0) == count
    if steps:
        text = text_of(job_sheet_pdf(made))[0]
        assert f"{count or 'no'} setting" in text


def test_cuts_of_several_cards_at_one_setting_are_one_row() -> None:
    (row,) = job_rows(numbered(two_boards()))
    assert (row.number, row.cuts, row.stays, row.waiting) == (1, 10, "", 0)
    assert [(cuts.card, cuts.tag, len(cuts.numbers)) for cuts in row.cards] == [
        (1, board_of_legs().tag, 5), (2, "OTHER", 5)
    ]  # fmt: skip
    (text,) = text_of(job_sheet_pdf(papers(two_boards())))
    assert "1 setting, 10 cuts" in text
    assert f"card 1 {board_of_legs().tag}: cuts 1–5" in text and "card 2 OTHER: cuts 1–5" in text


def trimmed(card: CutCard) -> CutCard:
    """Return a card whose piece has its end trimmed before the first cut."""
    first, *rest = (replace(s, number=s.number + 1) for s in card.steps)
    trim = replace(card.steps[0], gives=(None, "1b"), trim=inch(3 / 8), machine=Machine.GUIDE, setting=0)
    return replace(card, steps=(trim, replace(first, piece="1b"), *rest))


def test_a_trim_stands_in_the_row_of_the_cut_that_its_piece_goes_to() -> None:
    """Two boards, trimmed as each is laid on: one row, not four."""
    one, other = (trimmed(card) for card in two_boards())
    (row,) = job_rows(numbered((one, other)))
    assert (row.number, row.word, row.cuts, row.machine) == (1, "CROSS", 12, Machine.STOP)
    assert [(cuts.numbers, cuts.trims) for cuts in row.cards] == [
        ((1, 2, 3, 4, 5, 6), {inch(3 / 8): (1,)})
    ] * 2
    (text,) = text_of(job_sheet_pdf(papers((one, other))))
    assert "1 setting, 12 cuts" in text
    assert f"card 1 {one.tag}: cuts 1–6; trim 3/8 off at 1" in " ".join(text.split())
    assert "TRIM" not in text


def test_a_trim_that_its_piece_does_not_go_on_from_is_a_row_of_its_own() -> None:
    """A trim is the last cut of its piece, or the other board is cut first."""
    one, other = two_boards()
    alone = replace(one, steps=trimmed(one).steps[:1])
    first, second = job_rows(numbered((alone, other)))
    assert (first.number, first.word, first.cuts) == (0, "TRIM END", 1)
    assert (second.number, second.cuts) == (1, 5)
    work = ((1, 1), *((2, n) for n in range(1, 6)), *((1, n) for n in range(2, 7)))
    rows = job_rows(numbered((trimmed(one), other), work), work)
    assert [(row.number, row.cuts) for row in rows] == [(0, 1), (1, 10)]
    work = ((2, 1), (1, 1), (2, 2), (1, 2))
    rows = job_rows(numbered((trimmed(one), trimmed(other))), work)
    assert [(row.number, row.cuts) for row in rows] == [(0, 2), (1, 2)], "each goes on with the other's board"
    first, trim, last = trimmed(one).steps[1], trimmed(one).steps[0], trimmed(one).steps[2]
    far = (replace(first, number=1), replace(trim, number=2, piece="1b"), replace(last, number=3, piece="1a"))
    rows = job_rows(numbered((replace(one, steps=far),)))
    assert [(row.number, row.cuts) for row in rows] == [(1, 1), (0, 1), (1, 1)]


def test_a_job_interleaved_counts_what_waits_on_the_bench() -> None:
    """Card by card in turn: after the first cut of each, two boards lie there half cut."""
    one, other = two_boards()
    work = tuple((card, step) for step in range(1, 6) for card in (1, 2))
    other = replace(other, steps=tuple(replace(s, fence=s.fence) for s in other.steps))
    moved = replace(other, steps=tuple(replace(s, machine=Machine.GUIDE) for s in other.steps))
    rows = job_rows(numbered((one, moved), work), work)
    assert [row.waiting for row in rows] == [1, *[2] * 7, 1, 0]
    assert "at most 2 pieces waiting" in text_of(job_sheet_pdf(papers((one, moved), work)))[0]


def test_a_setting_that_stands_yet_is_not_set_again() -> None:
    one, other = two_boards()
    crossed, other = unnumbered(with_first(one, fence=one.steps[0].fence + 1)), unnumbered(other)
    first, second, *rest = numbered((crossed, other))[0].steps
    assert (first.setting, first.stays, second.setting, second.stays) == (1, False, 2, False)
    assert all(step.stays and step.setting == 2 for step in (*rest, *numbered((crossed, other))[1].steps))


def test_one_saw_has_one_setting_at_a_time() -> None:
    made = random_papers(4)
    plain = [unnumbered(card) for card in made.cards]
    apart, alone = numbered(plain, made.work), numbered(plain, made.work, Saws(apart=False))
    most = [max((s.setting for card in cards for s in card.steps), default=0) for cards in (apart, alone)]
    assert most[1] >= most[0]
    stands: dict[bool, object] = {}
    last = 0
    steps = {(card.number, step.number): step for card in alone for step in card.steps}
    for turn in made.work or steps:
        step = steps[turn]
        if step.trim:
            continue
        on_saw, now = step.machine in {Machine.FENCE, Machine.STOP}, (step.machine, step.fence)
        assert (step.setting > last) == (stands.get(on_saw) != now) != step.stays
        last = max(last, step.setting)
        stands[on_saw] = now


def told(*steps: CutStep, saws: Saws = Saws()) -> list[tuple[int, bool]]:
    """Return the number of the setting of each cut, and whether it stands already."""
    card = unnumbered(board_of_legs())
    every = tuple(replace(step, number=n) for n, step in enumerate(steps, 1))
    (found,) = numbered((replace(card, steps=every),), (), saws)
    return [(step.setting, step.stays) for step in found.steps]


def test_each_machine_stands_where_it_was_set() -> None:
    """The same figure on another machine is set there too; a length on the fence moves it from a rip."""
    step = unnumbered(board_of_legs()).steps[0]
    rip = replace(step, way=Way.RIP, machine=Machine.FENCE, fence=500)
    guided, across = replace(rip, machine=Machine.GUIDE), replace(rip, way=Way.CROSS, fence=700)
    assert told(rip, rip) == [(1, False), (1, True)]
    assert told(guided, rip, rip) == [(1, False), (2, False), (2, True)]
    assert told(rip, guided, rip) == [(1, False), (2, False), (1, True)]
    assert told(rip, across, rip) == [(1, False), (2, False), (3, False)]
    assert told(rip, replace(rip, way=Way.CROSS), rip) == [(1, False), (1, True), (1, True)]
    stop = replace(across, machine=Machine.STOP)
    assert told(rip, stop, rip, stop) == [(1, False), (2, False), (1, True), (2, True)]
    assert told(rip, stop, rip, saws=Saws(apart=False)) == [(1, False), (2, False), (3, False)]
    assert told(guided, stop, guided, saws=Saws(apart=False)) == [(1, False), (2, False), (1, True)]


def test_a_guided_saw_is_laid_on_again_for_each_cut() -> None:
    """Nothing stays there but the figure."""
    card = unnumbered(board_of_legs())
    for machine, word in ((Machine.GUIDE, "again"), (None, "again"), (Machine.STOP, "stays")):
        steps = tuple(replace(step, machine=machine) for step in card.steps)
        every = numbered((replace(card, steps=steps),))[0].steps
        assert [stays_text(step) for step in every] == ["", *[word] * 4]


def test_a_figure_set_on_two_machines_is_two_settings() -> None:
    """Ripped on fence and guided saw, and on the fence again after a cut to another length there."""
    card = unnumbered(board_of_legs())
    rip = replace(card.steps[0], way=Way.RIP, machine=Machine.FENCE)
    across = replace(rip, way=Way.CROSS, fence=card.steps[0].fence + 1)
    ways = (rip, replace(rip, machine=Machine.GUIDE), across, rip, rip)
    steps = tuple(
        replace(step, way=way.way, machine=way.machine, fence=way.fence)
        for step, way in zip(card.steps, ways, strict=True)
    )
    made = papers(numbered((replace(card, steps=steps),)))
    (text,) = text_of(job_sheet_pdf(made))
    assert "4 settings, 5 cuts" in text


def test_a_caution_names_the_cards_it_is_for() -> None:
    """Where all cards of a setting want it, none is named."""
    one, other = two_boards()
    short = with_cautions(one, Caution.SHORT_RIP)
    (row,) = job_rows(numbered((short, other)))
    (text,) = row.grave
    assert text.startswith("card 1: too short to rip")
    (row,) = job_rows(numbered((short, with_cautions(other, Caution.SHORT_RIP))))
    (text,) = row.grave
    assert text.startswith("too short to rip")


@pytest.mark.parametrize("seed", range(30))
def test_nothing_stays_where_the_machine_stood_elsewhere(seed: int) -> None:
    made = random_papers(seed)
    steps = {(card.number, step.number): step for card in made.cards for step in card.steps}
    last: dict[object, int] = {}
    for turn in made.work or steps:
        step = steps[turn]
        if not step.trim:
            assert step.stays == (last.get(step.machine) == step.fence)
            last[step.machine] = step.fence


def test_it_comes_first() -> None:
    made = papers(two_boards())
    for data in (job_pdf(made), saw_pdf(made)):
        assert text_of(data)[0].startswith("JOB SHEET")
    routed = JobPapers(pull_list=made.pull_list, cards=tuple(replace(c, steps=()) for c in made.cards))
    assert "JOB SHEET" not in " ".join(text_of(job_pdf(routed)))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("seed", range(6))
def test_nothing_overlaps_or_leaves_the_page(seed: int, size: str) -> None:
    made = random_papers(seed)
    if not any(card.steps for card in made.cards):
        return
    seen: Counter[int] = Counter()
    for page in pages(job_sheet_pdf(made, size)):
        assert not page.overlaps()
        assert not page.outside()
        seen[len(page.letters)] += 1
    assert seen
