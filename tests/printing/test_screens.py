"""The card and the walk on the screen: the same figures as on paper."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.printing.card_text import card_text
from stockyard.printing.drawing_text import cells
from stockyard.printing.pull_text import pull_text
from stockyard.printing.step_rows import step_rows
from tests.printing.samples import board_of_legs, board_of_strips, normal_pull_list, random_cards


def test_a_card_on_the_screen() -> None:
    card = board_of_legs()
    text = card_text(card, 60, 12)
    assert text.splitlines()[0] == f"{card.tag}  fir 2x4  FULL 96 × 3 1/2  from P1-1  (card 1 of 1)"
    assert "1–5  cross       set 15  whole  96 × 3 1/2, left end to the stop  → leg, 1–5 of 5; " in text
    assert text.endswith("kerf 1/8″\n")
    assert "no saw cuts" not in text


def test_a_card_without_cuts_says_why() -> None:
    text = card_text(replace(board_of_legs(), steps=()), 60, 12)
    assert "  no saw cuts: " in text and "kerf" not in text


@pytest.mark.parametrize("seed", range(12))
def test_every_step_is_on_the_screen(seed: int) -> None:
    for card in random_cards(seed, 2):
        text = card_text(card, 90, 28)
        drawing = text.split("\n  ")[0].splitlines()[2:]
        assert all(cells(line) <= 90 for line in drawing)
        for row in step_rows(card):
            assert f"→ {row.keeps}; rest {row.rest}" in text
            assert all(f"!! {words}" in text for words in row.grave)


def test_plain_characters_are_plain() -> None:
    assert card_text(board_of_strips(), 80, 20, ascii_only=True).isascii()


def test_the_walk_reads_as_on_paper() -> None:
    walk = normal_pull_list()
    text = pull_text(walk)
    for stop in walk.stops:
        text = text[text.index(f"{stop.place}  ({stop.storage})") :]
        for entry in stop.entries:
            text = text[text.index(f"[ ] {entry.tag}") :]
            assert entry.tell_apart in text
    assert "BUY" in text
    assert pull_text(replace(walk, stops=(), buy=(), cautions=())) == "\n"
