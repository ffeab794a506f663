"""Cut cards as printed: read back from the PDF."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain

import pytest

from stockyard.errors import BadInput
from stockyard.printing.cut_cards import cards_pdf, lay
from stockyard.printing.fonts import MissingGlyph
from stockyard.printing.one_job import job_pdf
from stockyard.printing.page import MARGIN, SIZES, plain, whole, wrap
from stockyard.printing.papers import CutCard
from stockyard.printing.step_rows import names_note, step_rows
from tests.printing.samples import (
    board_of_legs,
    board_of_strips,
    random_cards,
    random_papers,
    sheet_of_many,
)
from tests.printing.sheets_of_paper import fonts_not_embedded, pages, text_of


def check(data: bytes, size: str) -> None:
    for page in pages(data):
        assert (page.width, page.height) == pytest.approx(SIZES[size], abs=0.01)
        assert page.letters
        assert not page.overlaps()
        assert not page.outside()


def all_cards(seeds: range) -> list[CutCard]:
    return list(chain.from_iterable(random_cards(seed, 1 + seed % 2) for seed in seeds))


@pytest.mark.parametrize("first", range(0, 50, 10))
def test_nothing_overlaps_or_leaves_the_page(first: int) -> None:
    size = "a4" if first % 20 else "letter"
    check(cards_pdf(all_cards(range(first, first + 10)), size), size)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(50, 1050, 10))
def test_nothing_overlaps_or_leaves_the_page_in_many_jobs(first: int) -> None:
    size = "a4" if first % 20 else "letter"
    check(cards_pdf(all_cards(range(first, first + 10)), size), size)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("card", [sheet_of_many(40), board_of_strips(), board_of_legs()], ids=lambda c: c.tag)
def test_odd_pieces_are_printed(card: CutCard, size: str) -> None:
    check(cards_pdf([card, card], size), size)


def test_an_ordinary_card_takes_half_a_page() -> None:
    for card in (board_of_legs(), sheet_of_many(4), sheet_of_many(8)):
        for wide, high in SIZES.values():
            assert lay(card, wide - 2 * MARGIN, (high - 2 * MARGIN - 30) / 2, must_fit=True) is not None


def test_a_card_too_long_for_a_page_goes_on() -> None:
    card = sheet_of_many(96)
    # Under a name of its own no part is cut like the one before it.
    card = replace(card, parts=tuple(replace(part, line=part.name) for part in card.parts))
    data = cards_pdf([card])
    texts = text_of(data)
    assert len(texts) > 1
    assert all(card.tag in text for text in texts)
    assert "continued" in texts[1]
    check(data, "letter")


def test_the_card_says_what_to_do_in_order() -> None:
    (text,) = text_of(cards_pdf([board_of_legs()]))
    tag = board_of_legs().tag
    keeps = "→ leg, no. 1–5"
    for words in (tag, "fir 2x4 FULL 96 × 3 1/2", "from P1-1", "leg, no.", "1–5", "15", "CROSS", keeps):
        assert words in text
        text = text[text.index(words) :]


def test_every_step_is_on_the_paper() -> None:
    for seed in range(4):
        cards = random_cards(seed, 2)
        text = " ".join(text_of(cards_pdf(cards)))
        for card in cards:
            assert card.tag in text
            for row in step_rows(card):
                assert row.figure in text
            for left in card.leftovers:
                assert left.tag in text


def test_a_fence_that_stays_says_so_on_the_next_card() -> None:
    card = board_of_legs()
    again = replace(card, tag="OTHER", steps=(replace(card.steps[0], stays=True, as_on=7), *card.steps[1:]))
    text = " ".join(text_of(cards_pdf([card, again])))
    assert "as on card" not in text[: text.index("OTHER")]
    assert "as on card 7" in text[text.index("OTHER") :]
    assert "stays" not in text
    within = replace(card, steps=(replace(card.steps[0], stays=True), *card.steps[1:]))
    assert "stays 15" in " ".join(text_of(cards_pdf([within])))


def test_what_can_hurt_is_said() -> None:
    text = " ".join(text_of(cards_pdf([board_of_strips()])))
    assert "narrow strip: push stick between" in text
    assert "support behind the saw: cut" in text
    assert "Guard, riving knife and push stick" in text
    assert "come before this card" in text


def test_a_card_without_saw_cuts_says_why() -> None:
    card = board_of_legs()
    whole = replace(card.parts[0], dx=card.length, dy=card.width)
    assert "used whole" in text_of(cards_pdf([replace(card, parts=(whole,), steps=())]))[0]
    assert "Routed" in text_of(cards_pdf([replace(card, steps=())]))[0]


def test_two_pieces_from_one_cut_are_told_apart() -> None:
    card = sheet_of_many(16)
    (note,) = names_note(card, turned=False)
    assert "left or lower" in note
    assert "lower or right" in names_note(card, turned=True)[0]
    assert names_note(board_of_legs(), turned=False) == ()


def test_typefaces_are_carried_and_the_same_input_gives_the_same_bytes() -> None:
    papers = random_papers(3)
    data = job_pdf(papers, "a4")
    assert fonts_not_embedded(data) == set()
    assert job_pdf(papers, "a4") == data


def test_a_name_that_cannot_be_printed_is_named() -> None:
    card = replace(board_of_legs(), material="杉 2x4")
    with pytest.raises(MissingGlyph, match=r"杉 2x4.*U\+6749"):
        cards_pdf([card])


def test_a_long_name_is_kept_on_the_card() -> None:
    name = "upper cabinet left of the window, door with the glass, hinge side on the right"
    card = board_of_legs()
    parts = tuple(replace(part, line=name, name=part.name.replace("leg", name)) for part in card.parts)
    steps = tuple(
        replace(step, gives=tuple(g and g.replace("leg", name) for g in step.gives)) for step in card.steps
    )
    data = cards_pdf([replace(card, parts=parts, steps=steps)])
    check(data, "letter")
    assert name.split()[0] in text_of(data)[0]


def test_another_paper_is_refused() -> None:
    with pytest.raises(BadInput, match="letter or a4"):
        cards_pdf([board_of_legs()], "foolscap")


def test_sizes_are_not_broken_over_lines() -> None:
    lines = wrap(f"whole {whole('35 5/8 × 3 1/2')}", plain(9), 70)
    assert lines == ["whole", "35 5/8 × 3 1/2"]
    assert wrap("unbreakablewordthatislong", plain(9), 40)[0] != "unbreakablewordthatislong"


@pytest.mark.parametrize("size", SIZES)
def test_long_names_are_cut_short_in_the_heading(size: str) -> None:
    material = "sapele, quarter sawn, from the barn sale in the spring, second best, marked with blue 12/4"
    card = replace(
        board_of_legs(),
        material=material,
        place="from NORTHBARN.12-LOFT.0123456-SLOT.012345",
        job="Tables " * 12,
    )
    data = cards_pdf([card], size)
    check(data, size)
    assert "…" in text_of(data)[0]
