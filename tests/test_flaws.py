"""Flaws of a piece: what is clear of them, against squares counted one by one; how a person writes them."""

from __future__ import annotations

from random import Random

import pytest

from stockyard.advice.clearing import Off, cleared
from stockyard.errors import BadInput
from stockyard.flaws import MOST, Flaw, biggest_clear, clear_place, flaws_in, looked_at, said
from stockyard.measure import Unit
from stockyard.yard.intake import read_flaw

MM = 3200
Square = tuple[int, int]


def squares(x: int, y: int, dx: int, dy: int) -> set[Square]:
    return {(i, j) for i in range(x, x + dx) for j in range(y, y + dy)}


def random_flaws(luck: Random, length: int, width: int) -> list[Flaw]:
    found = []
    for _ in range(luck.randint(0, 5)):
        x, y = luck.randrange(length), luck.randrange(width)
        found.append(Flaw(x, y, luck.randint(1, length - x), luck.randint(1, min(3, width - y))))
    return found


@pytest.mark.parametrize("seed", range(40))
def test_what_is_clear_is_what_counting_squares_finds(seed: int) -> None:
    luck = Random(seed)
    length, width = luck.randint(1, 9), luck.randint(1, 9)
    flaws = random_flaws(luck, length, width)
    bad = set().union(*(squares(*f) for f in flaws))
    boxes = [
        (x, y, dx, dy)
        for x in range(length)
        for y in range(width)
        for dx in range(1, length - x + 1)
        for dy in range(1, width - y + 1)
        if not squares(x, y, dx, dy) & bad
    ]
    best = biggest_clear(flaws, length, width)
    assert (best.dx * best.dy if best else 0) == max((dx * dy for *_, dx, dy in boxes), default=0)
    assert best is None or not squares(*best) & bad
    sizes = {(dx, dy) for *_, dx, dy in boxes}
    for dx, dy in {(luck.randint(1, length), luck.randint(1, width)) for _ in range(6)}:
        spot = clear_place(flaws, length, width, dx, dy)
        assert (spot is not None) == ((dx, dy) in sizes)
        assert spot is None or not squares(*spot, dx, dy) & bad


def test_what_lies_in_a_rectangle_is_seen_from_its_corner_once() -> None:
    flaws = [Flaw(10, 10, 20, 20), Flaw(5, 5, 25, 25), Flaw(100, 0, 5, 5)]
    assert flaws_in(flaws, 20, 20, 30, 30) == (Flaw(0, 0, 10, 10),)


def test_cuts_free_the_biggest_clear_piece_and_keep_the_larger_strip() -> None:
    """By hand: a corner of 100 x 200 gone from 1000 x 600; ripping first leaves 900 x 600 beside nothing,
    crosscutting at 100 leaves 900 x 600 and a strip of 97 x 600 of which 97 x 400 is clear.
    """
    found = cleared([Flaw(0, 0, 100, 200)], 1000, 600, 3, lambda a, b: min(a, b) >= 90)
    assert found is not None and found.clear == Flaw(100, 0, 900, 600)
    assert [(c.off, c.word, c.keeps) for c in found.cuts] == [(Off.LOW_END, "crosscut", 900)]
    assert found.others == (Flaw(0, 0, 97, 600),)
    assert cleared([Flaw(0, 0, 10, 10)], 10, 10, 3, lambda a, b: a < b) is None


def test_strips_keep_a_kerf_apart_and_lie_in_the_piece() -> None:
    for seed in range(60):
        luck = Random(seed)
        length, width = luck.randint(50, 200), luck.randint(50, 200)
        flaws = [
            Flaw(
                luck.randrange(length - 9), luck.randrange(width - 9), luck.randint(1, 9), luck.randint(1, 9)
            )
            for _ in range(luck.randint(1, 4))
        ]
        found = cleared(flaws, length, width, 3, lambda a, b: min(a, b) >= 5)
        assert found is not None and found.cuts
        boxes = [found.clear, *found.others]
        for i, a in enumerate(boxes):
            assert squares(*a) <= squares(0, 0, length, width)
            wide = squares(a.x - 2, a.y - 2, a.dx + 4, a.dy + 4)
            assert not any(wide & squares(*b) for b in boxes[:i])


@pytest.mark.parametrize(
    ("text", "unit", "flaw"),
    [
        ("80 x 120 at 0, 0", Unit.MM, (0, 0, 80, 120)),
        ("80 × 120 at 300,45", Unit.MM, (300, 45, 80, 120)),
        ("80x120 at 300 x 45", Unit.MM, (300, 45, 80, 120)),
        ("8 cm by 12 cm at 12,5; 40", Unit.MM, (12.5, 40, 80, 120)),
        ("80 x 120 at 12,5, 0", Unit.MM, (12.5, 0, 80, 120)),
        ("2 x 3 at 1/2, 0", Unit.INCH, (12.7, 0, 50.8, 76.2)),
    ],
)
def test_a_flaw_as_a_person_writes_it(text: str, unit: Unit, flaw: tuple[float, ...]) -> None:
    assert read_flaw(text, unit) == tuple(round(side * MM) for side in flaw)
    assert read_flaw(said(read_flaw(text, unit), unit), unit) == read_flaw(text, unit)


@pytest.mark.parametrize(
    "text",
    ["", "80 x 120", "at 0, 0", "80 at 0, 0", "80 x 120 at 5", "80 x 0 at 0, 0", "a x b at c, d",
     "80 x 120 at 1, 2, 3", "80 x 120 at -5, 0"],
)  # fmt: skip
def test_what_is_no_flaw_is_said_in_one_line(text: str) -> None:
    with pytest.raises(BadInput) as said_:
        read_flaw(text, Unit.MM)
    assert "\n" not in str(said_.value)


@pytest.mark.parametrize(
    ("flaws", "words"),
    [
        ([(90, 0, 20, 20)], "reaches out of K7F2, which is 100 x 50"),
        ([(0, 0, 100, 30), (0, 30, 100, 20)], "leave nothing of K7F2 clear"),
        ([(n, 0, 1, 1) for n in range(MOST + 1)], f"at most {MOST}"),
    ],
)
def test_flaws_that_can_not_be_are_refused(flaws: list[tuple[int, ...]], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        looked_at([Flaw(*(s * MM for s in f)) for f in flaws], 100 * MM, 50 * MM, Unit.MM, "K7F2")
