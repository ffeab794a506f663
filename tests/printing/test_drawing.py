"""The scale drawing: everything is on it, inside its outline, and nothing lies on anything else."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from xml.etree import ElementTree

import pytest

from stockyard.measure import Length
from stockyard.planning.problem import Edge
from stockyard.printing.cut_marks import CHALK, outside
from stockyard.printing.drawing import (
    Badge,
    Box,
    Drawing,
    Line,
    Metrics,
    Region,
    Words,
    broken_up,
    fit,
    place,
)
from stockyard.printing.drawing_pdf import paper_metrics
from stockyard.printing.drawing_svg import draw_svg
from stockyard.printing.drawing_text import cells, draw_text, terminal_metrics
from stockyard.printing.drawn_words import letter
from stockyard.printing.fonts import MissingGlyph
from stockyard.printing.papers import CutCard, DrawnLeftover, DrawnPart, DrawnSet
from stockyard.printing.piece_drawing import draw_piece
from tests.printing.samples import board_of_legs, board_of_strips, inch, random_cards, sheet_of_many

PAPER = (540.0, 300.0)
SCREEN = (96.0, 30.0)


def writings(drawing: Drawing) -> list[Words | Badge]:
    return [shape for shape in drawing.shapes if isinstance(shape, (Words, Badge))]


def named(card: CutCard, text: str) -> set[str]:
    """Return the parts that a text names: `side, 2 of 5`, or five at once as `side, 1–5 of 5`."""
    found = set()
    for part in card.parts:
        if part.of == 1:
            found |= {part.name} if part.line in text else set()
            continue
        for numbers in re.findall(rf"{re.escape(part.line)}, ([\d–, ]+) of {part.of}\b", text):
            for run in numbers.split(", "):
                first, _, last = run.partition("–")
                found |= {part.name} if int(first) <= part.number <= int(last or first) else set()
    return found


def check(card: CutCard, size: tuple[float, float], metrics: Metrics) -> None:
    made = draw_piece(card, *size, metrics)
    drawing = made.drawing
    canvas = Region(0, 0, drawing.width, drawing.height)
    assert drawing.width <= size[0] + 1
    assert drawing.height <= size[1] + 1
    boxes = [shape.at for shape in drawing.shapes if isinstance(shape, Box)]
    assert all(canvas.holds(box) for box in boxes)
    for one, other in combinations(writings(drawing), 2):
        assert not one.at.meets(other.at, -0.01), (card.tag, one, other)
    inside = [w for w in writings(drawing) if isinstance(w, Words)][:-1]  # the last one is the grain
    for words in inside:
        assert any(box.holds(words.at) for box in boxes[1:]), (card.tag, words)
    text = " ".join(w.text for w in writings(drawing))
    for part in card.parts:
        assert part.name in named(card, f"{text} " + " ".join(c.name for c in made.called)), part.name
    for left in card.leftovers:
        assert left.tag in text or any(called.name == left.tag for called in made.called), left.tag


@pytest.mark.parametrize("seed", range(50))
def test_everything_is_drawn_once_and_apart(seed: int) -> None:
    for card in random_cards(seed):
        check(card, PAPER, paper_metrics())
        check(card, SCREEN, terminal_metrics())


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(50, 1050))
def test_everything_is_drawn_once_and_apart_in_many_jobs(seed: int) -> None:
    for card in random_cards(seed):
        check(card, PAPER, paper_metrics())
        check(card, SCREEN, terminal_metrics())


def test_forty_parts_on_one_sheet_are_named_or_called() -> None:
    card = sheet_of_many(40)
    check(card, PAPER, paper_metrics())
    check(card, (262.0, 200.0), paper_metrics())


def test_a_long_board_is_drawn_broader_and_says_so() -> None:
    card = board_of_strips()
    made = draw_piece(card, *PAPER, paper_metrics())
    whole = next(shape.at for shape in made.drawing.shapes if isinstance(shape, Box))
    assert whole.h > 13 * 72 / 25.4 - 1
    assert made.remark == "width not to scale"
    check(card, PAPER, paper_metrics())


def test_a_sheet_is_drawn_to_scale() -> None:
    card = sheet_of_many(6)
    made = draw_piece(card, *PAPER, paper_metrics())
    whole = next(shape.at for shape in made.drawing.shapes if isinstance(shape, Box))
    assert made.remark == ""
    assert whole.w / whole.h == pytest.approx(card.length / card.width)


def test_a_piece_broader_than_long_is_turned_not_mirrored() -> None:
    part = DrawnPart(name="corner", line="corner", x=0, y=0, dx=inch(4), dy=inch(30))
    card = replace(sheet_of_many(6), length=inch(10), width=inch(60), parts=(part,), steps=(), leftovers=())
    made = draw_piece(card, *PAPER, paper_metrics())
    whole, drawn = (shape.at for shape in made.drawing.shapes if isinstance(shape, Box))
    # The length stands upright, so the corner 0, 0 comes to lie at the lower right.
    assert drawn.y == whole.y
    assert drawn.x + drawn.w == pytest.approx(whole.x + whole.w)
    assert drawn.w / whole.w == pytest.approx(0.5)


def test_a_missing_glyph_is_named() -> None:
    card = replace(sheet_of_many(2))
    odd = replace(card.parts[0], name="棚 1", line="棚")
    with pytest.raises(MissingGlyph, match=r"U\+68DA"):
        draw_piece(replace(card, parts=(odd, *card.parts[1:]), steps=()), *PAPER, paper_metrics())


def test_svg_is_well_formed_and_as_large_as_it_says() -> None:
    card = sheet_of_many(12)
    drawing = draw_piece(card, *PAPER, paper_metrics()).drawing
    root = ElementTree.fromstring(draw_svg(drawing, "5 < 6 & more"))
    wide, high = (float(root.attrib[key].removesuffix("mm")) for key in ("width", "height"))
    assert wide * 72 / 25.4 == pytest.approx(drawing.width, abs=0.02)
    assert high * 72 / 25.4 == pytest.approx(drawing.height, abs=0.02)
    words = [node.text for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "shelf, 1 of 12" in words
    assert root.find("{http://www.w3.org/2000/svg}title").text == "5 < 6 & more"  # type: ignore[union-attr]


def test_the_terminal_drawing_has_an_ascii_form() -> None:
    card = board_of_strips()
    drawing = draw_piece(card, *SCREEN, terminal_metrics()).drawing
    plain, fine = draw_text(drawing, ascii_only=True), draw_text(drawing)
    assert plain.isascii()
    assert "┌" in fine and "░" in fine
    assert all(len(line) <= SCREEN[0] for line in fine.splitlines())
    assert re.findall(r"\d+", plain) == re.findall(r"\d+", fine)


def test_wide_characters_take_two_cells() -> None:
    assert cells("棚 a") == 4
    assert cells("e\u0301") == 1


def test_lines_are_broken_evenly() -> None:
    assert broken_up("drawer front left") == [
        ("drawer front left",),
        ("drawer", "front left"),
        ("drawer", "front", "left"),
    ]


def test_the_largest_letters_that_fit_win() -> None:
    metrics = paper_metrics()
    rows = (("side 1", True), ("20 × 10", False))
    large = fit([rows], Region(0, 0, 300, 200), metrics)
    small = fit([rows], Region(0, 0, 60, 28), metrics)
    assert large is not None and small is not None
    assert large.size == metrics.sizes[0] > small.size
    assert fit([rows], Region(0, 0, 10, 10), metrics) is None
    upright = fit([rows], Region(0, 0, 32, 90), metrics)
    assert upright is not None and upright.turned
    room = Region(5, 5, 32, 90)
    assert all(room.holds(words.at) for words in place(upright, room, metrics))


def test_letters_go_on_after_z() -> None:
    assert [letter(n) for n in (0, 25, 26, 27, 51, 52)] == ["A", "Z", "AA", "AB", "AZ", "BA"]


@pytest.mark.parametrize("seed", range(8))
def test_the_triangle_over_a_set_leaves_the_words_free(seed: int) -> None:
    """Looked at point by point: what lies in no word is drawn, what lies in one is not."""
    card = random_cards(seed, 1)[0]
    over = DrawnSet(
        title="set", x=Length(0), y=Length(0), dx=card.length, dy=card.width, first=Edge.Y_HIGH
    )  # fmt: skip
    drawn = draw_piece(replace(card, sets=(over,)), *PAPER, paper_metrics()).drawing
    words = [shape.at for shape in drawn.shapes if isinstance(shape, Words)]
    chalk = [shape for shape in drawn.shapes if isinstance(shape, Line) and shape.weight == CHALK]
    assert chalk
    for line in chalk:
        for n in range(1, 100):
            x, y = line.x1 + n / 100 * (line.x2 - line.x1), line.y1 + n / 100 * (line.y2 - line.y1)
            assert not any(at.x < x < at.x + at.w and at.y < y < at.y + at.h for at in words)


def test_what_is_outside_of_regions_is_all_that_is_left_of_a_line() -> None:
    line, one, other = Line(0, 0, 10, 5, 0.7), Region(2, 0.5, 2, 2), Region(3, 1, 3, 3)
    assert [(p.x1, p.y1, p.x2, p.y2) for p in outside(line, [other, one])] == [(0, 0, 2, 1), (6, 3, 10, 5)]
    assert list(outside(line, [])) == [line]
    assert list(outside(line, [Region(-1, -1, 20, 20)])) == []
    assert list(outside(Line(0, 1, 9, 1), [Region(0, 1, 9, 1), Region(2, 0, 1, 3)])) == [
        Line(0, 1, 2, 1), Line(3, 1, 9, 1)
    ]  # fmt: skip


def test_a_leftover_too_short_for_its_size_bears_its_tag() -> None:
    """What its size is stands beside the tag where it is put back; a letter would send the eye twice."""
    card = board_of_legs()
    at = 5 * (inch(15) + card.kerf)
    left = DrawnLeftover(name="rest", tag="1SAEB", place="", x=at, y=0, dx=inch(12.5), dy=card.width)
    drawn = draw_piece(replace(card, leftovers=(left,)), 400, 150, paper_metrics())
    words = [shape.text for shape in drawn.drawing.shapes if isinstance(shape, Words)]
    assert "1SAEB" in words and not drawn.called
