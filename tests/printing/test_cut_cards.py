"""Cut cards as printed: read back from the PDF."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from itertools import chain

import pdfplumber
import pytest

from stockyard.errors import BadInput
from stockyard.flaws import Flaw
from stockyard.measure import Unit
from stockyard.planning.problem import Kind, Part, Stock
from stockyard.planning.tree import Axis, Node
from stockyard.printing.card_layout import lay
from stockyard.printing.card_lines import HeadLine, LeftoverLine, StepLine
from stockyard.printing.cut_cards import cards_pdf
from stockyard.printing.drawing import Badge, Box, Fill
from stockyard.printing.drawing_pdf import paper_metrics
from stockyard.printing.fonts import MissingGlyph
from stockyard.printing.one_job import job_pdf
from stockyard.printing.page import MARGIN, SIZES, plain, whole, wrap
from stockyard.printing.papers import CutCard, CutStep, DrawnLeftover, Edge, Side
from stockyard.printing.piece_drawing import draw_piece
from stockyard.printing.step_rows import drawn_side, names_note, step_rows
from stockyard.saws import Caution, Machine
from tests.printing.samples import (
    board_of_legs,
    board_of_strips,
    card_from,
    inch,
    mm,
    random_cards,
    random_papers,
    sheet_of_many,
)
from tests.printing.sheets_of_paper import fonts_not_embedded, pages, text_of
from tests.printing.with_steps import with_first


def check(data: bytes, size: str) -> None:
    for page in pages(data):
        assert (page.width, page.height) == pytest.approx(SIZES[size], abs=0.01)
        assert page.letters
        assert not page.overlaps()
        assert not page.outside()


def all_cards(seeds: range) -> list[CutCard]:
    return list(chain.from_iterable(random_cards(seed, 1 + seed % 2) for seed in seeds))


@pytest.mark.parametrize("first", range(0, 20, 10))
def test_nothing_overlaps_or_leaves_the_page(first: int) -> None:
    size = "a4" if first % 20 else "letter"
    check(cards_pdf(all_cards(range(first, first + 10)), size), size)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(20, 1050, 10))
def test_nothing_overlaps_or_leaves_the_page_in_many_jobs(first: int) -> None:
    size = "a4" if first % 20 else "letter"
    check(cards_pdf(all_cards(range(first, first + 10)), size), size)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("card", [sheet_of_many(40), board_of_strips(), board_of_legs()], ids=lambda c: c.tag)
def test_odd_pieces_are_printed(card: CutCard, size: str) -> None:
    check(cards_pdf([card, card], size), size)


def test_an_ordinary_card_takes_half_a_page() -> None:
    for card in (board_of_legs(), sheet_of_many(8)):
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
    assert "more on the next page" in texts[0]
    check(data, "letter")


def test_what_goes_back_has_its_heading_over_the_page_too() -> None:
    card = sheet_of_many(4)
    lefts = tuple(replace(card.leftovers[0], tag=f"T{n:03}", place="R1") for n in range(60))
    texts = text_of(cards_pdf([replace(card, leftovers=lefts)]))
    assert len(texts) > 1
    assert all("Label and put back" in text for text in texts)


def test_the_next_card_begins_where_one_that_went_over_the_page_ends() -> None:
    card = sheet_of_many(22)
    card = replace(card, parts=tuple(replace(part, line=part.name) for part in card.parts))
    legs = replace(board_of_legs(), tag="LEGS9")
    data = cards_pdf([card, legs])
    texts = text_of(data)
    assert len(texts) == len(text_of(cards_pdf([card]))) > 1
    assert card.tag in texts[-1] and "continued" in texts[-1] and "LEGS9" in texts[-1]
    check(data, "letter")


def test_the_card_says_what_to_do_in_order() -> None:
    (text,) = text_of(cards_pdf([board_of_legs()]))
    tag = board_of_legs().tag
    keeps = "→ leg, 1–5 of 5"
    for words in (tag, "fir 2x4 FULL 96 × 3 1/2", "from P1-1", "1 of 5", "1–5", "15", "CROSS", keeps):
        assert words in text
        text = text[text.index(words) :]


def test_every_step_is_on_the_paper() -> None:
    for seed in range(4):
        cards = random_cards(seed, 2)
        text = " ".join(text_of(cards_pdf(cards)))
        for card in cards:
            assert card.tag in text
            for row in step_rows(card):
                assert row.figure.replace(" ", "") in text.replace(" ", "")
            for left in card.leftovers:
                assert left.tag in text


def test_a_fence_that_stays_says_so_and_which_setting_it_is() -> None:
    card = board_of_legs()
    text = " ".join(text_of(cards_pdf([card])))
    assert "setting 1" in text and "stays" not in text
    text = " ".join(text_of(cards_pdf([with_first(card, stays=True, setting=7)])))
    assert "stays 15" in text and "setting 7" in text


def test_what_remains_must_be_measured() -> None:
    """The far part of 100 and 96.9 off 200 mm with a kerf of 3.1 is set by no fence."""
    card = board_of_legs()
    far = replace(
        card.parts[1], x=inch(15) + card.kerf, dx=inch(96 - 15) - card.kerf, name="far 1", line="far"
    )
    made = replace(card, parts=(card.parts[0], far), leftovers=(), steps=(
        replace(card.steps[0], gives=(card.parts[0].name, "far 1")),))  # fmt: skip
    text = " ".join(text_of(cards_pdf([made])))
    assert "what remains must measure 80 7/8" in text
    assert "must measure" not in " ".join(text_of(cards_pdf([card])))


def test_a_size_that_need_not_be_exact_says_so() -> None:
    assert "about 15" in " ".join(text_of(cards_pdf([with_first(board_of_legs(), rough=True)])))


def test_the_edge_at_the_fence_is_said_and_drawn() -> None:
    found = wanted = 0
    for seed in range(12):
        for card in random_cards(seed, 1):
            drawing = draw_piece(card, 540, 300, paper_metrics())
            rows = step_rows(card, turned=drawing.turned)
            points = {b.text: b.toward for b in drawing.drawing.shapes if isinstance(b, Badge) and b.black}
            for row in rows:
                side = drawn_side(row.edge, turned=drawing.turned)
                assert row.trim or side in row.at_fence
                assert points.get(row.numbers, side) == side
            assert len(points) >= 0.75 * len(rows), "most numbers find room, even those of sixty cuts"
            found, wanted = found + len(points), wanted + len(rows)
    assert found >= 0.9 * wanted


def test_known_damage_is_drawn_and_told() -> None:
    """A split of 4 in that begins at 80 in of a board of 96: so much of the drawing's own length."""
    card = board_of_legs()
    flaw = Flaw(x=inch(80), y=inch(1), dx=inch(4), dy=inch(1))
    text = " ".join(text_of(cards_pdf([replace(card, flaws=(flaw,), note="bought wet")])))
    assert (
        "no part may touch it: 4 x 1 at 80, 1, from corner 0" in text
        and "Written of this piece: bought wet" in text
    )
    shapes = draw_piece(replace(card, flaws=(flaw,)), 540, 300, paper_metrics()).drawing.shapes
    whole, crossed = (
        next(s.at for s in shapes if isinstance(s, Box) and s.fill is fill)
        for fill in (Fill.HATCH, Fill.CROSS)
    )
    assert (crossed.x - whole.x) / whole.w == pytest.approx(80 / 96)
    assert crossed.w / whole.w == pytest.approx(4 / 96)


def test_a_leftover_says_which_edges_are_as_bought() -> None:
    card = sheet_of_many(4)

    def said(*edges: Edge) -> str:
        left = replace(card.leftovers[0], factory=edges)
        return " ".join(text_of(cards_pdf([replace(card, leftovers=(left, *card.leftovers[1:]))])))

    assert "right still as bought: trim next time" in said(Edge.X_HIGH)
    assert "right and lower still as bought" in said(Edge.X_HIGH, Edge.Y_LOW)
    assert "right, lower and upper still as bought" in said(Edge.X_HIGH, Edge.Y_LOW, Edge.Y_HIGH)
    assert "as bought" not in said()


def test_millimetres_are_rounded_to_the_nearest_tenth() -> None:
    """380.96 mm is nearer to 381 than to 380.9; 380.04 is nearer to 380."""
    card = replace(board_of_legs(), unit=Unit.MM)
    for figure, shown in ((380.96, "≈381"), (380.04, "≈380"), (381, "381")):
        made = with_first(replace(card, parts=card.parts[:1]), fence=mm(figure), gives=("1a", None))
        made = replace(made, parts=(), steps=made.steps[:1], length=made.length)
        assert step_rows(made)[0].figure == shown


def test_a_turned_part_says_so_and_keeps_its_own_size() -> None:
    card = board_of_legs()
    part = replace(card.parts[0], turned=True)
    text = " ".join(text_of(cards_pdf([replace(card, parts=(part, *card.parts[1:]))])))
    assert "3 1/2 × 15, turned" in text or "3 1/2 × 15 turned" in text


def test_the_fence_figure_is_the_largest_on_the_card() -> None:
    card = board_of_legs()
    with pdfplumber.open(BytesIO(cards_pdf([card]))) as document:
        letters = document.pages[0].chars
    largest = max(letters, key=lambda c: c["size"])["size"]
    assert "".join(c["text"] for c in letters if c["size"] == largest) == "15"
    with pdfplumber.open(BytesIO(cards_pdf([sheet_of_many(8)]))) as document:
        letters = document.pages[0].chars
    largest = max(letters, key=lambda c: c["size"])["size"]
    figures = {row.figure for row in step_rows(sheet_of_many(8))}
    assert {"11 7/8"} <= figures
    whole_numbers = "".join(c["text"] for c in letters if c["size"] == largest)
    assert "11" in whole_numbers and "/" not in whole_numbers


def test_a_size_is_rounded_alike_in_drawing_and_at_the_fence() -> None:
    """344.9 mm is 13.5787 in: 13 37/64 to the nearest 64th, 13 37/64; to the nearest 32nd, 13 19/32."""
    card = board_of_legs()
    size = mm(344.9)
    parts = tuple(replace(p, x=n * (size + card.kerf), dx=size) for n, p in enumerate(card.parts))
    steps, left = [], card.length
    for step in card.steps:
        steps.append(replace(step, length=left, fence=size))
        left -= size + card.kerf
    rest = DrawnLeftover(
        name="left 1", tag="K7Q3Z", place="", x=card.length - left, y=0, dx=left, dy=card.width
    )
    steps[-1] = replace(steps[-1], gives=(parts[-1].name, "left 1"))
    made = replace(card, parts=parts, steps=tuple(steps), leftovers=(rest,), finest=32)
    text = " ".join(text_of(cards_pdf([made])))
    assert "13 37/64" not in text and "/64" not in text
    assert "≈13 19/32 × 3 1/2" in text
    (row,) = step_rows(made)
    assert (row.figure, row.exact) == ("≈13 19/32", "344.9 mm")


def test_a_card_that_goes_on_says_so_where_it_is_read() -> None:
    """Before what may be cut short: where a long name of a job and the date leave no room, those go."""
    long = replace(sheet_of_many(96), job="A very long name of a job that takes the whole of a line and more")
    long = replace(long, parts=tuple(replace(part, line=part.name) for part in long.parts))
    first, second, *_ = text_of(cards_pdf([long]))
    assert "more on the next page" in first
    assert "continued" in second


def test_what_can_hurt_is_said() -> None:
    text = " ".join(text_of(cards_pdf([board_of_strips()])))
    assert "narrow strip: push stick between" in text
    assert "support behind the saw: cut" in text
    assert "Guard, riving knife, push stick" in text
    sheet = text_of(job_pdf(random_papers(3)))[0]
    assert "come before this paper" in sheet


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


@pytest.mark.parametrize(
    "figure", ["17 1/4", "17 1/4 × 2 1/4", "1 x 20 1/8", "≈17 1/4 × ≈2 1/4", "13/16″ × 3 1/2″", "17.7 mm"]
)
def test_figures_within_a_sentence_are_not_broken_over_lines(figure: str) -> None:
    for room in range(90, 160, 5):
        lines = wrap(f"legs: rough, trim to {figure}, plane to that", plain(9), room)
        assert any(figure in line for line in lines), lines


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


WIDE, HIGH = (side - 2 * MARGIN for side in SIZES["letter"])


def test_what_letters_stand_for_is_on_the_page_of_the_drawing() -> None:
    """Also on a card that goes on over the page: there it stands between the drawing and the cuts."""
    (card,) = random_cards(13, 1)
    laid = lay(card, WIDE, HIGH, must_fit=False)
    assert laid is not None and laid.spill and len(laid.drawing.called) == 7
    first = re.sub(r"\s+", " ", text_of(cards_pdf([card]))[0])
    assert all(f"{c.letter}: {c.name}" in first for c in laid.drawing.called)


def test_rather_a_smaller_drawing_than_a_last_cut_over_the_page() -> None:
    card = sheet_of_many(9)
    parts = tuple(replace(part, line=part.name, number=1, of=1) for part in card.parts)
    laid = lay(replace(card, parts=parts), WIDE, HIGH, must_fit=False)
    assert laid is not None and laid.spill
    assert not any(isinstance(line, StepLine) for line in laid.spill)


def test_rather_a_slimmer_board_than_a_second_page() -> None:
    """Both are drawn broader than they are: one so that two lines fit its parts, a full card less so."""
    short, full = board_of_strips(), board_of_strips()
    full = replace(full, note="a note of more lines than the card has room for " * 34)
    one, two = (lay(card, WIDE, HIGH, must_fit=False) for card in (short, full))
    assert one is not None and two is not None
    assert one.drawing.remark == two.drawing.remark == "width not to scale"
    assert not two.spill and two.drawing.drawing.height < one.drawing.drawing.height - 15


def test_what_goes_back_stays_together() -> None:
    card = sheet_of_many(4)
    lefts = tuple(replace(card.leftovers[0], tag=f"T{n:03}", place="R1") for n in range(2))
    laid = lay(replace(card, leftovers=lefts, note="one line more"), WIDE, HIGH, must_fit=False)
    assert laid is not None and not laid.beside
    assert [type(line) for line in laid.columns[1]] == [HeadLine, LeftoverLine, LeftoverLine]


def test_the_date_is_never_cut_short() -> None:
    """Of the small print only the name of the job is, which is on the job sheet."""
    card = replace(sheet_of_many(40), tag="MWMWM", place="from PALLET-RACK-12-3", date="2026-11-27")
    parts = tuple(replace(part, line=part.name) for part in card.parts)
    card = replace(card, parts=parts, job="a name of a job that is longer than its line")
    first = text_of(cards_pdf([card]))[0]
    assert "more on the next page · kerf 1/8″" in first and " 2026-11-27" in first


def test_ends_are_ends_and_edges_edges() -> None:
    card = board_of_legs()
    first = replace(card.steps[0], machine=Machine.GUIDE)

    def said(step: CutStep) -> str:
        return step_rows(replace(card, steps=(step,), parts=()))[0].at_fence

    assert said(card.steps[0]) == "left end to the stop"
    assert said(first) == "guided saw, from the left end"
    assert said(replace(first, machine=Machine.FENCE)) == "left end to the fence"
    assert said(replace(first, machine=None)) == "measured from the left end"
    trim = replace(first, trim=inch(0.25), against=Side.HIGH, fence=first.length - inch(0.25))
    trim = replace(trim, gives=(None, "1b"))
    assert said(trim) == "off the left end"
    assert said(replace(trim, cautions=(Caution.TWO_PEOPLE,))) == "guided saw, off the left end"
    assert said(replace(trim, machine=Machine.STOP)) == "off the left end"
    rip = board_of_strips().steps[0]
    strips = replace(board_of_strips(), steps=(replace(rip, machine=Machine.GUIDE),), parts=())
    assert step_rows(strips)[0].at_fence == "guided saw, from the lower edge"


def test_equal_parts_and_pieces_that_follow_each_other_are_written_together() -> None:
    """Six strips, each halved: the second halves remain. No list of `slats, 2 of 12; slats, 4 of 12; ...`."""
    kerf, wide, half = mm(3), mm(40), mm(600)
    stock = Stock(id="S", kind=Kind.FULL, material="mdf", length=2 * half + kerf, width=7 * wide)
    cell = Node(half, wide, part=0)
    strip = Node(stock.length, wide, axis=Axis.CROSSCUT, children=(cell, cell))
    left = Node(stock.length, stock.width - 6 * (wide + kerf))
    root = Node(stock.length, stock.width, axis=Axis.RIP, children=(*(strip,) * 6, left))
    slats = Part(id="slats", length=half, width=wide, count=12)
    rip, cross = step_rows(card_from(stock, root, (slats,), Unit.MM, kerf))
    assert (rip.keeps, cross.takes) == ("1a–6a", "1a–6a")
    assert {cross.keeps, cross.rest} == {"slats, 1, 3, 5, 7, 9, 11 of 12", "slats, 2, 4, 6, 8, 10, 12 of 12"}


def test_what_is_chalked_are_names_that_stand_among_the_cuts() -> None:
    """Of three strips off one board, 1a, 2a and 3a, the last leaves 3b to be cut further; 1b is no name."""
    card = board_of_strips()
    third, rest = card.steps[2], card.steps[3:]
    assert third.gives[0] == "3a"
    card = replace(
        card,
        steps=(
            *card.steps[:2],
            replace(third, gives=("3a", "3b")),
            *rest,
            replace(
                third,
                number=len(card.steps) + 1,
                piece="3b",
                width=third.width - third.fence - card.kerf,
                fence=mm(5),
                gives=("slat 13", None),
            ),
        ),
    )
    (note,) = names_note(card, turned=False)
    assert note.startswith("Chalk on what cut 3 gives: 3a is") and "3b" in note


@pytest.mark.parametrize(
    ("seed", "x", "y"), [(2, 4081968, 1860685), (9, 6436827, 206987), (32, 324730, 1791947)]
)
def test_a_number_stands_rather_on_waste_than_on_known_damage(seed: int, x: int, y: int) -> None:
    """In these jobs the best place for a number would be a flaw in the waste, were it not kept clear."""
    (card,) = random_cards(seed, 1)
    flaw = Flaw(x=x, y=y, dx=card.length // 30, dy=card.width // 12)
    shapes = draw_piece(replace(card, flaws=(flaw,)), 540, 300, paper_metrics()).drawing.shapes
    crossed = next(s.at for s in shapes if isinstance(s, Box) and s.fill is Fill.CROSS)
    badges = [s for s in shapes if isinstance(s, Badge) and s.black]
    assert badges and not any(badge.at.meets(crossed) for badge in badges)
