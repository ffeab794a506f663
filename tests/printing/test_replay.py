"""What the printed steps give, followed by somebody who knows nothing but the card."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import pytest

from stockyard.errors import BadInput
from stockyard.measure import Unit, parse
from stockyard.printing.papers import CutCard, CutStep, Direction, Side
from stockyard.printing.replay import Area, replay
from stockyard.printing.step_rows import StepRow, runs, step_rows
from stockyard.saws import Way
from tests.printing.samples import board_of_legs, board_of_strips, inch, random_cards, sheet_of_many

Size = tuple[int, int]


def drawn(card: CutCard) -> dict[str, Area]:
    return {
        thing.name: Area(thing.x, thing.y, thing.dx, thing.dy) for thing in (*card.parts, *card.leftovers)
    }


def check(card: CutCard) -> None:
    if not card.steps:
        (only,) = drawn(card).values()
        assert (only.dx, only.dy) == (card.length, card.width)
        return
    bench = replay(card)
    assert {name: bench.areas[name] for name in bench.remaining} == drawn(card)
    assert [step.number for step in card.steps] == list(range(1, len(card.steps) + 1))
    if not any("≈" in row.figure for row in step_rows(card)):
        assert printed(card) == Counter(
            {
                **{p.title: (p.dx, p.dy) for p in card.parts},
                **{o.tag: (o.dx, o.dy) for o in card.leftovers},
            }.items()
        )


def printed(card: CutCard) -> Counter[tuple[str, Size]]:
    """Cut by the words on the card alone: what to take, where the fence stands, what comes out."""
    bench: dict[str, Size] = {"whole": (card.length, card.width)}
    for row in step_rows(card):
        pieces = list(_one_by_one(row.takes))
        copies = _copies(row)
        rests = [name for group in row.rest.split("; ") for name in _equal(group)]
        rests = rests if row.rest != "waste" else ["waste"] * len(pieces)
        each = len(copies) // len(pieces)
        assert each * len(pieces) == len(copies)
        for n, piece in enumerate(pieces):
            length, width = bench.pop(piece)
            # A cross and an end divide the length, which runs with the grain; without grain, the long side.
            along = (row.word in ("CROSS", "TRIM END")) == (card.grain or card.length >= card.width)
            fence = parse(row.figure, card.unit)
            if row.trim:
                fence = (length if along else width) - fence
            for name in copies[n * each : (n + 1) * each]:
                assert min(fence, length, width) > 0
                if along:
                    bench[name] = (fence, width)
                    length -= fence + card.kerf
                else:
                    bench[name] = (length, fence)
                    width -= fence + card.kerf
            if rests[n] != "waste":
                bench[rests[n].removeprefix("leftover ")] = (length, width)
    return Counter({name.removeprefix("leftover "): size for name, size in bench.items()}.items())


def _copies(row: StepRow) -> list[str]:
    if row.times == 1:
        return [row.keeps]
    copies = _equal(row.keeps)
    assert len(copies) == row.times
    return copies


def _equal(text: str) -> list[str]:
    """Return the names of what is written together: equal parts, or pieces between cuts."""
    found = re.fullmatch(r"(.+?), ([\d–, ]+) of (\d+)", text)
    if found is None:
        return list(_one_by_one(text))
    return [f"{found[1]}, {n} of {found[3]}" for n in _numbers(found[2])]


def _one_by_one(text: str) -> Iterator[str]:
    """Yield the names of pieces between cuts, `3a, 4a, 5a, 6a` for `3a–6a`."""
    for name in text.split(", "):
        run = re.fullmatch(r"(\d+)([a-z]+)–(\d+)\2", name)
        if run is None:
            yield name
        else:
            yield from (f"{n}{run[2]}" for n in range(int(run[1]), int(run[3]) + 1))


def _numbers(text: str) -> Iterator[int]:
    for run in text.split(", "):
        first, _, last = run.partition("–")
        yield from range(int(first), int(last or first) + 1)


@pytest.mark.parametrize("seed", range(200))
def test_the_printed_steps_give_exactly_what_is_drawn(seed: int) -> None:
    for card in random_cards(seed):
        check(card)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(200, 5000))
def test_the_printed_steps_give_exactly_what_is_drawn_in_many_jobs(seed: int) -> None:
    for card in random_cards(seed):
        check(card)


def test_equal_cuts_off_one_piece_are_one_line() -> None:
    card = board_of_legs()
    (row,) = step_rows(card)
    assert (row.numbers, row.times, row.keeps, row.rest) == (
        "1–5",
        5,
        "leg, 1–5 of 5",
        "waste",
    )
    check(card)
    check(board_of_strips())
    check(sheet_of_many(40))


def test_a_trim_is_told_by_what_comes_off() -> None:
    """The figures of the plan stay as they are; the paper says 1/8 off, not 95 7/8 away."""
    trims = [
        (step, row)
        for seed in range(20)
        for card in random_cards(seed)
        for step, row in zip(card.steps, step_rows(card), strict=False)
        if step.trim and row.numbers == str(step.number)
    ]
    assert trims
    for step, row in trims:
        assert (None in step.gives, step.stays, row.trim, row.rest) == (True, False, True, "waste")
        assert row.word in ("TRIM END", "TRIM EDGE")
        assert step.trim < step.fence


def test_a_rounded_figure_has_its_millimetres_beside_it() -> None:
    card = replace(board_of_strips(), unit=Unit.INCH)
    rows = [row for row in step_rows(card) if "≈" in row.figure]
    assert rows
    assert all(row.exact in ("20 mm", "1200 mm") for row in rows)
    assert all(row.exact == "" for row in step_rows(board_of_legs()))


def test_a_cut_is_named_by_the_grain_whatever_the_shape_in_hand() -> None:
    """Two strips of 96 x 11 7/8 and then pieces 11 7/8 long and 22 wide: with the grain is a rip, always."""
    for card in (sheet_of_many(40), board_of_strips(), board_of_legs()):
        assert card.grain
        for step in card.steps:
            assert (step.way is Way.RIP) == (step.direction is Direction.RIP)


def _faulty(**changes: object) -> CutCard:
    card = sheet_of_many(4)
    return replace(card, steps=(replace(card.steps[0], **changes), *card.steps[1:]))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("card", "words"),
    [
        (_faulty(piece="9a"), "not on the bench"),
        (_faulty(length=1), "another size"),
        (_faulty(gives=("x", "x")), "used twice"),
        (_faulty(fence=inch(95.9), direction=Direction.CROSSCUT), "nothing is left"),
    ],
)
def test_a_card_that_contradicts_itself_is_refused(card: CutCard, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        replay(card)


def test_the_fence_may_hold_the_far_side() -> None:
    card = replace(
        sheet_of_many(2),
        length=1000,
        width=100,
        kerf=10,
        parts=(),
        leftovers=(),
        steps=(
            CutStep(number=1, piece="stock", length=1000, width=100, direction=Direction.CROSSCUT, fence=993,
                    against=Side.HIGH, gives=(None, "1b"), way=Way.CROSS),
        ),
    )  # fmt: skip
    # A trim: the blade hangs over the low edge by 3.
    assert replay(card).areas["1b"] == Area(7, 0, 993, 100)


def test_numbers_run_together() -> None:
    assert runs([1, 2, 3, 5, 7, 8]) == "1–3, 5, 7–8"
    assert runs([4]) == "4"
