"""What the operator of the router sees: marks told apart without colour, sizes as on labels, what is kept."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO, StringIO
from itertools import product
from random import Random
from xml.etree import ElementTree

import ezdxf
import pdfplumber
import pytest
from pdfplumber.page import Page

from stockyard.errors import BadInput
from stockyard.flaws import Flaw, covered
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.printing.card_text import card_text
from stockyard.printing.drawing_file import sheet_dxf, sheet_svg
from stockyard.printing.rest_outline import rest_outline
from stockyard.printing.routed_sheet import (
    DrawingRules,
    Origin,
    Outline,
    Release,
    Remain,
    RoutedPart,
    RoutedSheet,
)
from stockyard.printing.router_sheet import router_sheets_pdf
from stockyard.routing import Box, layers_of
from tests.printing.samples import sheet_of_many

BRACE = RoutedPart(label="brace, 2 of 6", box=(600 * MM, 100 * MM, 70 * MM, 200 * MM), turned=True)
SHEET = RoutedSheet(
    name="stools, card 1 of 1", material="birch ply", length=2400 * MM, width=1200 * MM, thickness=18 * MM,
    grain=True, parts=(RoutedPart(label="side", box=(100 * MM, 100 * MM, 400 * MM, 300 * MM)), BRACE),
    clamps=((0, 0, 120 * MM, 80 * MM),), flaws=((1800 * MM, 600 * MM, 100 * MM, 90 * MM),),
)  # fmt: skip
CARD = replace(sheet_of_many(4), routed=True, steps=())


def page(sheet: RoutedSheet, rules: DrawingRules = DrawingRules()) -> Page:
    pdf = pdfplumber.open(BytesIO(router_sheets_pdf([sheet], rules, Unit.MM)))
    (found,) = pdf.pages
    return found


def spaced(p: Page, box: tuple[float, ...]) -> tuple[float, ...]:
    """A box on the page as mm of the sheet, from the corner of that."""
    whole = max(p.rects, key=lambda r: r["width"])
    scale = 2400 / whole["width"]
    x, bottom, wide, high = box
    return tuple(v * scale for v in (x - whole["x0"], whole["bottom"] - bottom, wide, high))


def of(p: Page, r: dict[str, float]) -> tuple[float, ...]:
    return spaced(p, (r["x0"], r["bottom"], r["width"], r["height"]))


def test_clamps_and_flaws_have_a_layer_and_a_mark_each_in_the_file() -> None:
    """A clamp is crossed by two lines, a flaw struck by one; each is named."""
    doc = ezdxf.read(StringIO(sheet_dxf(SHEET, DrawingRules()).decode("cp1252")))
    on = {
        layer: [e.dxftype() for e in doc.modelspace() if e.dxf.layer == layer]
        for layer in ("CLAMPS", "FLAWS")
    }
    assert on == {"CLAMPS": ["LWPOLYLINE", "LINE", "LINE"], "FLAWS": ["LWPOLYLINE", "LINE"]}
    assert {"clamp", "flaw"} <= {e.dxf.text for e in doc.modelspace().query("TEXT")}
    assert not doc.audit().has_errors
    root = ElementTree.fromstring(sheet_svg(SHEET, DrawingRules()))
    groups = {g.get("id"): len(list(g)) for g in root if g.tag.endswith("}g")}
    assert (groups["CLAMPS"], groups["FLAWS"]) == (3, 2)


def test_the_layer_of_flaws_is_named_like_the_others() -> None:
    named = DrawingRules(layers=layers_of("flaws=KNOTS, clamps=JAWS"))
    doc = ezdxf.read(StringIO(sheet_dxf(SHEET, named).decode("cp1252")))
    assert {"KNOTS", "JAWS"} <= {e.dxf.layer for e in doc.modelspace()}
    with pytest.raises(BadInput, match="name of another layer"):
        named.layers.__class__(flaws="clamps").check(named.release)


@pytest.mark.parametrize("release", list(Release))
def test_the_layers_that_every_file_has(release: Release) -> None:
    """0 may have the parts; what lies on that of dimension points is not printed (the format's reference)."""
    doc = ezdxf.read(
        StringIO(
            sheet_dxf(SHEET, DrawingRules(release=release, layers=layers_of("parts=0"))).decode("cp1252")
        )
    )
    assert len([e for e in doc.modelspace() if e.dxf.layer == "0"]) == 2 and not doc.audit().has_errors
    with pytest.raises(BadInput, match="'Defpoints': programs leave out"):
        sheet_dxf(SHEET, DrawingRules(release=release, layers=layers_of("tabs=Defpoints")))


def test_a_shop_that_called_another_layer_so_keeps_its_name() -> None:
    """Such a setting was good before flaws had a layer, and is read with the yard."""
    layers = layers_of("clamps=flaws")
    layers.check(DrawingRules().release)
    assert (layers.clamps, layers.flaws) == ("flaws", "FLAWS-2")


def test_a_clamp_is_black_on_paper_and_a_flaw_hatched_both_ways() -> None:
    p = page(SHEET)
    (clamp,) = (of(p, r) for r in p.rects if r["fill"] and not r["non_stroking_color"])
    assert clamp == pytest.approx((0, 0, 120, 80), abs=2)
    x, y, wide, high = 1800, 600, 100, 90
    lines = [of(p, line) for line in p.lines]
    hatched = [
        (a, b) for a, b, w, h in lines if w and h and x - w <= a <= x + wide and y - h <= b <= y + high
    ]
    assert len(hatched) > 4
    text = " ".join(p.extract_text().split())
    assert "Black: a clamp. Cross-hatched: a flaw. Keep the bit clear of both." in text
    plain = " ".join(page(replace(SHEET, clamps=(), flaws=())).extract_text().split())
    assert "clear of" not in plain and "Black" not in plain


def test_tabs_are_marked_where_they_are_and_a_turned_part_has_its_own_size() -> None:
    """The brace is 200 x 70, as its label says, though it stands upright; tabs are amid its long sides."""
    p = page(SHEET)
    bars = [of(p, line) for line in p.lines if line["linewidth"] > 3]
    middles = sorted((x + w / 2, y + h / 2) for x, y, w, h in bars)
    assert middles == [pytest.approx((600, 200), abs=3), pytest.approx((670, 200), abs=3)]
    assert "1 brace, 2 of 6 200 x 70 mm, tabs" in p.extract_text()
    assert "Thick bars: tabs" in p.extract_text()


@pytest.mark.parametrize(("origin", "along_y"), list(product(Origin, (False, True))))
def test_zero_and_its_axes_are_marked(origin: Origin, along_y: bool) -> None:
    """A dot at the corner, and both arrows start there; nothing is written over something else."""
    p = page(SHEET, DrawingRules(origin=origin, along_y=along_y))
    whole = max(p.rects, key=lambda r: r["width"] * r["height"])
    across = 0.5 if origin is Origin.CENTRE else float(origin.endswith("right"))
    up = 0.5 if origin is Origin.CENTRE else float(origin.startswith("upper"))
    zero = whole["x0"] + across * whole["width"], whole["bottom"] - up * whole["height"]
    dots = [c for c in p.curves if c["fill"] and c["width"] < 14]
    assert any(
        ((c["x0"] + c["x1"]) / 2, (c["top"] + c["bottom"]) / 2) == pytest.approx(zero, abs=0.5) for c in dots
    )
    words = p.extract_words()
    assert {"x", "y", "grain"} <= {w["text"] for w in words}
    for n, a in enumerate(words):
        for b in words[n + 1 :]:
            wide = min(a["x1"], b["x1"]) - max(a["x0"], b["x0"])
            high = min(a["bottom"], b["bottom"]) - max(a["top"], b["top"])
            assert wide < 0.5 or high < 2.5, (a["text"], b["text"])


def test_what_is_kept_in_one_piece_is_drawn_and_said_so() -> None:
    """The L round a corner of 600 x 500: six corners; the label's words lie clear of what is cut out."""
    left = Remain(
        box=(0, 0, 2400 * MM, 1200 * MM), tag="AAAAA", place="on the bench", kept=True,
        holes=((0, 0, 600 * MM, 500 * MM),),
    )  # fmt: skip
    sheet = replace(SHEET, remains=(left,), parts=SHEET.parts[:1], clamps=(), flaws=())
    p = page(sheet)
    assert "kept: AAAAA 2400 x 1200 mm, one piece with 1 cut-out, on the bench" in p.extract_text()
    doc = ezdxf.read(StringIO(sheet_dxf(sheet, DrawingRules()).decode("cp1252")))
    (line,) = (e for e in doc.modelspace() if e.dxf.layer == "REMAINS")
    corners = {(round(x, 3), round(y, 3)) for x, y in line.get_points("xy")}
    assert corners == {(0, 500), (0, 1200), (600, 0), (600, 500), (2400, 0), (2400, 1200)}
    low = max(p.rects, key=lambda r: r["width"])["bottom"]
    (name,) = (w for w in p.extract_words() if w["text"] == "AAAAA" and w["bottom"] < low)
    x, y, *_ = spaced(p, (name["x0"], name["bottom"], 0, 0))
    assert x > 600 or y > 500
    unknown = page(replace(sheet, remains=(replace(left, drawn=False),)))
    assert "AAAAA" in unknown.extract_text()
    assert not [w for w in unknown.extract_words() if w["text"] == "AAAAA" and w["bottom"] < low]


@pytest.mark.parametrize(("dx", "dy"), [(160, 900), (90, 900), (900, 160)])
def test_a_tag_stays_within_what_it_names(dx: int, dy: int) -> None:
    """In smaller letters, or upward in a narrow strip."""
    left = Remain(box=(2400 * MM - dx * MM, 100 * MM, dx * MM, dy * MM), tag="WWWWW")
    p = page(replace(SHEET, remains=(left,), clamps=(), flaws=()))
    whole = max(p.rects, key=lambda r: r["width"])
    letters = [c for c in p.chars if c["text"] == "W" and c["bottom"] < whole["bottom"]]
    assert len(letters) == 5
    for c in letters:
        x, y, wide, high = spaced(p, (c["x0"], c["bottom"], c["x1"] - c["x0"], c["bottom"] - c["top"]))
        assert 2400 - dx <= x and x + wide <= 2400 and y >= 100 and y + high <= 100 + dy


def test_what_could_stay_in_one_piece_is_offered() -> None:
    whole = Remain(box=(0, 0, 2400 * MM, 1200 * MM), tag="AAAAA", holes=((0, 0, 600 * MM, 500 * MM),))
    text = " ".join(page(replace(SHEET, instead=(whole,))).extract_text().split())
    assert "say so as you confirm the cut: AAAAA, 2400 x 1200 mm, one piece with 1 cut-out" in text
    assert "Nothing goes back to the rack." in text


@pytest.mark.parametrize("seed", range(30))
def test_the_outline_of_what_is_left_encloses_just_that(seed: int) -> None:
    """The area of its lines by the surveyor's formula, holes negative; all corners are square."""
    rng = Random(seed)
    holes: list[Box] = [
        (rng.randrange(0, 90, 5), rng.randrange(0, 90, 5), rng.randrange(5, 40, 5), rng.randrange(5, 40, 5))
        for _ in range(rng.randint(0, 4))
    ]
    inside = [Flaw(x, y, min(dx, 100 - x), min(dy, 100 - y)) for x, y, dx, dy in holes]
    lines = rest_outline((0, 0, 100, 100), holes)
    twice = 0
    for line in lines:
        for (ax, ay), (bx, by) in zip(line, (*line[1:], line[0]), strict=True):
            assert (ax == bx) != (ay == by)
            twice += ax * by - bx * ay
    assert twice == 2 * (100 * 100 - covered(inside))


def test_clamps_are_in_the_text_drawing() -> None:
    """Black at their corner, in plain characters too, and told with the corner they are measured from."""
    one = replace(CARD, clamps=(Flaw(0, 0, CARD.length // 20, CARD.width // 20),))
    drawn = card_text(one, 100, 30)
    assert "█" in drawn and "█" not in card_text(CARD, 100, 30)
    assert "#" in card_text(one, 100, 30, ascii_only=True)
    assert "a clamp of the router's table" in drawn
    lowest = [line for line in drawn.splitlines() if "█" in line][-1]
    assert lowest.startswith("█")


@pytest.mark.parametrize("note", ["", "the knot near the far end goes to the waste side " * 12])
def test_a_sheet_of_many_parts_goes_on_under_its_name_and_keeps_its_numbers_apart(note: str) -> None:
    """Discs with a hole: each number lies in its own box. Nothing is written over the cautions."""
    disc = Outline(100, 100, (((0, 50, 1), (100, 50, 1)), ((40, 60, 1), (52, 60, 1))))
    many = tuple(
        RoutedPart(
            label=f"disc, {n} of 40", outline=disc,
            box=(20 * MM + n % 8 * 110 * MM, 20 * MM + n // 8 * 110 * MM, 100 * MM, 100 * MM),
        )
        for n in range(40)
    )  # fmt: skip
    sheet = replace(SHEET, parts=many, clamps=(), flaws=(), note=note)
    upright = DrawingRules(along_y=True, small=0)
    pdf = pdfplumber.open(BytesIO(router_sheets_pdf([sheet], upright, Unit.MM)))
    first, second = pdf.pages
    assert second.extract_text().startswith("stools, card 1 of 1, continued\n[ ]")
    assert all(f"disc, {n} of 40" in first.extract_text() + second.extract_text() for n in range(40))
    boxes = sorted(first.rects, key=lambda r: r["height"])[:40]
    for box in boxes:
        inside = [
            w for w in first.extract_words()
            if box["x0"] < w["x0"] and w["x1"] < box["x1"] and box["top"] < w["top"] < box["bottom"]
        ]  # fmt: skip
        assert len([w for w in inside if w["text"].isdecimal()]) == 1
    cautions = min(w["top"] for w in first.extract_words() if w["text"] == "No")
    assert max(r["bottom"] for r in first.rects) < cautions
