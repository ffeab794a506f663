"""The card and the walk on the screen: the same figures as on paper."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from itertools import pairwise

import pdfplumber
import pytest

from stockyard.measure import Unit, Weight
from stockyard.printing.card_text import card_text
from stockyard.printing.drawing_text import cells
from stockyard.printing.papers import BandLine, BuyLine, Lift, Lying, PullEntry, PullList, Stop
from stockyard.printing.pull_lines import NOTHING
from stockyard.printing.pull_list import pull_list_pdf
from stockyard.printing.pull_text import pull_text
from stockyard.printing.step_rows import step_rows
from tests.printing.samples import board_of_legs, board_of_strips, mm, normal_pull_list, random_cards
from tests.printing.sheets_of_paper import text_of


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
    assert pull_text(replace(walk, stops=(), buy=(), cautions=())) == NOTHING + "\n"


STRIPS = """
  A  slat, 1–12 of 12  1200 × 20
   1–3  rip         set   20  whole  4877 × 89, lower edge to the fence  → 1a, 2a, 3a; rest waste  (3 cuts)
        !! narrow strip: push stick between fence and blade
  4–15  cross       set 1200  1a, 2a, 3a  4877 × 20, left end to the stop  → slat, 1–12 of 12; rest waste  (12 cuts)
  support behind the saw: cuts 1–3
  on a sled or mitre gauge with a stop, never on the rip fence: cuts 4–15
  long overhang: support the far end: cuts 4–5, 8–9, 12–13
  Chalk on what cut 1 gives: 1a is the left or lower one in the drawing, 1b the other
  kerf 3 mm
"""  # noqa: E501


def test_a_card_on_the_screen_to_the_letter() -> None:
    """Three strips of 20 off a board of 89 x 4877, four slats of 1200 from each."""
    text = card_text(board_of_strips(), 80, 6)
    assert text.startswith("30AXH  fir 2x4  FULL 4877 × 89  from P1-1  (card 1 of 1)\n┌─")
    assert text[text.index("  A  slat") - 1 :] == STRIPS


def test_two_cuts_are_told_as_two() -> None:
    assert "  (2 cuts)\n" in card_text(board_of_legs(2), 80, 6)
    assert "cuts)" not in card_text(board_of_legs(1), 80, 6)


WALK = """
 1  R1  (flat stack)
        first lift off 2, from the top down: T0P, M1D
    [ ] L0W  FULL 2440 × 1220 birch ply 18, measures 17.2 mm  36 kg: two people
               under two others; 17.2 mm thick; from the mill
    [ ] 5M4L  600 × 300 birch ply 18  not weighed: look first
               shortest there
    [ ] Put back M1D, then T0P.
 2  R2  (upright slot)
    [ ] L4ST  600 × 300 birch ply 18  not weighed: look first
               shortest there
 +  BUY
    [ ] 2 × oak 27 2400 × 180  EUR 31.00 each, the mill
    [ ] 1 × ash 27 2400 × 180
    [ ] 2.5 m of oak 1 mm, 20 mm wide or more
Two people for one piece.
"""


def walk() -> PullList:
    """Two places, two sheets to lift off, two things to buy and a band; weights only of one."""
    unknown = Lift(weight=None, people=None, advice="look first", source="")
    two = Lift(weight=Weight(36_000), people=2, advice="two people", source="")
    low = PullEntry(
        tag="L0W", material="birch ply 18", length=mm(2440), width=mm(1220), full=True, lift=two,
        tell_apart="under two others", thickness=mm(17.2), supplier="the mill", measured="measures 17.2 mm",
        on_top=tuple(Lying(tag=tag, what="a sheet", lift=two) for tag in ("T0P", "M1D")),
    )  # fmt: skip
    small = PullEntry(
        tag="5M4L", material="birch ply 18", length=mm(600), width=mm(300), full=False, lift=unknown,
        tell_apart="shortest there",
    )  # fmt: skip
    flat = Stop(place="R1", storage="flat stack", entries=(low, small), put_back="Put back M1D, then T0P.")
    slot = Stop(place="R2", storage="upright slot", entries=(replace(small, tag="L4ST"),))
    oak = BuyLine(
        count=2, material="oak 27", length=mm(2400), width=mm(180), price="EUR 31.00", supplier="the mill"
    )
    return PullList(
        job="hall", date="", unit=Unit.MM, stops=(flat, slot),
        buy=(oak, BuyLine(count=1, material="ash 27", length=mm(2400), width=mm(180))),
        bands=(BandLine(what="oak 1 mm", length=mm(2500), width=mm(20)),),
        cautions=("Two people for one piece.",),
    )  # fmt: skip


def test_a_walk_on_the_screen_to_the_letter() -> None:
    assert "\n" + pull_text(walk()) == WALK
    band = WALK.strip().splitlines()[-2]
    assert pull_text(replace(walk(), stops=(), buy=(), cautions=())) == f" +  BANDS\n{band}\n"


def test_on_paper_each_thing_to_do_has_a_box_beside_its_words() -> None:
    with pdfplumber.open(BytesIO(pull_list_pdf(walk(), "a4"))) as pdf:
        (page,) = pdf.pages
        boxes = [r for r in page.rects if r["stroke"] and not r["fill"] and 9 < r["width"] < 16]
        found = []
        for box in sorted((r for r in boxes if abs(r["width"] - r["height"]) < 0.1), key=lambda r: r["top"]):
            beside = page.crop((box["x1"], box["top"], box["x1"] + 60, box["bottom"]))
            found.append((beside.extract_text() or "").split(" ")[0])
    assert found == ["L0W", "5M4L", "Put", "L4ST", "2", "1", "2.5"]


def test_one_piece_on_top_is_lifted_off_in_no_order() -> None:
    whole = walk()
    low = whole.stops[0].entries[0]
    one = replace(whole, stops=(replace(whole.stops[0], entries=(replace(low, on_top=low.on_top[:1]),)),))
    text = " ".join(text_of(pull_list_pdf(one, "a4")))
    assert "FIRST LIFT OFF 1:" in text and "from the top down" not in text
    assert "FIRST LIFT OFF 2, from the top down:" in " ".join(text_of(pull_list_pdf(whole, "a4")))


@pytest.mark.parametrize(("on_top", "drawn"), [(1, 2), (2, 3), (4, 5), (7, 5)])
def test_the_little_stack_shows_what_lies_above_and_the_wanted_one_black(on_top: int, drawn: int) -> None:
    whole = walk()
    low = whole.stops[0].entries[0]
    sheets = tuple(replace(low.on_top[0], tag=f"T{n}P") for n in range(on_top))
    one = replace(whole, stops=(replace(whole.stops[0], entries=(replace(low, on_top=sheets),)),), buy=())
    with pdfplumber.open(BytesIO(pull_list_pdf(one, "a4"))) as pdf:
        layers = [r for r in pdf.pages[0].rects if (round(r["width"]), round(r["height"], 1)) == (16, 2.2)]
    layers.sort(key=lambda r: r["top"])
    assert [bool(r["fill"]) for r in layers] == [False] * (drawn - 1) + [True]
    assert all(above["bottom"] < below["top"] for above, below in pairwise(layers))
