"""Where a shaped part holds on: figures by hand, and turned with its part on the drawing."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO, StringIO
from math import hypot

import ezdxf
import pdfplumber
import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.printing.drawing_file import sheet_dxf
from stockyard.printing.outline_file import read_outline
from stockyard.printing.outline_tabs import flattened, outline_tabs
from stockyard.printing.routed_sheet import DrawingRules, Remain, RoutedPart
from stockyard.printing.router_sheet import router_sheets_pdf
from tests.printing.test_routed_drawing import random_sheet, shaped

DISC = ((0.0, 50.0, 1.0), (100.0, 50.0, 1.0))


def middle(ends: tuple[tuple[float, float], tuple[float, float]]) -> tuple[float, float]:
    (x1, y1), (x2, y2) = ends
    return (x1 + x2) / 2, (y1 + y2) / 2


def test_tabs_lie_amid_straight_stretches_opposite_each_other() -> None:
    """A house of 100 x 60 with a gable of 40: the longest side is its foot; across from it lies a slope."""
    house = [(0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 60.0, 0.0), (50.0, 100.0, 0.0), (0.0, 60.0, 0.0)]
    foot, slope = outline_tabs(house, 5.0)
    assert foot == ((47.5, 0.0), (52.5, 0.0))
    assert middle(slope) in (pytest.approx((75, 80)), pytest.approx((25, 80)))
    assert hypot(slope[1][0] - slope[0][0], slope[1][1] - slope[0][1]) == pytest.approx(5)


def test_a_short_stretch_takes_no_tab() -> None:
    """The stretch of 4 opposite the foot is too short for a tab of 5: it goes on one beside it."""
    points = [(0, 0), (100, 0), (100, 50), (52, 50), (48, 50), (0, 50)]
    foot, across = outline_tabs([(float(x), float(y), 0.0) for x, y in points], 5.0)
    assert middle(foot) == (50, 0)
    assert middle(across) in ((76, 50), (24, 50))


def test_a_disc_has_two_tabs_a_diameter_apart() -> None:
    """An arc of bulge 1 is half a circle, one of -1 lies on the other side (the format's reference)."""
    assert all(hypot(x - 50, y - 50) == pytest.approx(50) for x, y in flattened(DISC))
    one, other = (middle(ends) for ends in outline_tabs(DISC, 4.7625))
    assert hypot(one[0] - other[0], one[1] - other[1]) == pytest.approx(100, abs=0.5)
    dent = flattened([(0.0, 0.0, -1.0), (20.0, 0.0, 0.0), (20.0, -30.0, 0.0), (0.0, -30.0, 0.0)])
    assert max(y for _, y in dent) == pytest.approx(10)


@pytest.mark.parametrize("turned", [False, True])
def test_a_small_shaped_part_gets_its_tabs_where_it_lies(turned: bool) -> None:
    """The plate of 200 x 100: its upper edge is longest, its lower one is straight for 170."""
    size = (100 * MM, 200 * MM) if turned else (200 * MM, 100 * MM)
    outline = read_outline(shaped(), "plate.dxf", Unit.MM)
    part = RoutedPart(label="plate", box=(500 * MM, 300 * MM, *size), turned=turned, outline=outline)
    sheet = replace(random_sheet(0), parts=(part,))

    def tabs(rules: DrawingRules) -> list[tuple[float, float]]:
        doc = ezdxf.read(StringIO(sheet_dxf(sheet, rules).decode("cp1252")))
        lines = [e for e in doc.modelspace() if e.dxf.layer == "TABS"]
        return [((e.dxf.start.x + e.dxf.end.x) / 2, (e.dxf.start.y + e.dxf.end.y) / 2) for e in lines]

    # Turned, what lay (u, v) from the low corner lies (100 - v, u) from it.
    wanted = [(500, 400), (600, 385)] if turned else [(600, 400), (585, 300)]
    assert [pytest.approx(at, abs=0.001) for at in wanted] == tabs(DrawingRules())
    assert tabs(DrawingRules(small=50 * MM)) == []


def test_the_operator_sees_the_shape() -> None:
    """The plate and its hole are drawn as many-cornered lines, to the scale of the sheet."""
    outline = read_outline(shaped(), "plate.dxf", Unit.MM)
    part = RoutedPart(label="plate", box=(500 * MM, 300 * MM, 200 * MM, 100 * MM), outline=outline)
    sheet = replace(random_sheet(0), parts=(part,), clamps=())
    with pdfplumber.open(BytesIO(router_sheets_pdf([sheet], DrawingRules(), Unit.MM))) as pdf:
        curves = [c for c in pdf.pages[0].curves if len(c["pts"]) > 10]
        wide = max(r["width"] for r in pdf.pages[0].rects) / 2500
    sizes = sorted((c["width"] / wide, c["height"] / wide) for c in curves)[-2:]
    assert sizes == [
        (pytest.approx(30, abs=0.3),) * 2,
        (pytest.approx(200, abs=1), pytest.approx(100, abs=1)),
    ]


def test_the_operator_reads_how_what_remains_is_freed() -> None:
    """A strip over the whole width comes off by one straight cut, a corner by more."""
    part = RoutedPart(label="plate", box=(0, 0, 500 * MM, 300 * MM))
    strip = Remain(box=(506 * MM, 0, 1994 * MM, 1250 * MM), tag="AAAAA")
    corner = Remain(box=(0, 306 * MM, 500 * MM, 944 * MM), tag="BBBBB", place="RACK")
    sheet = replace(random_sheet(0), parts=(part,), remains=(strip, corner), place="from PALLET")
    with pdfplumber.open(BytesIO(router_sheets_pdf([sheet], DrawingRules(), Unit.MM))) as pdf:
        text = pdf.pages[0].extract_text()
    assert "AAAAA 1994 x 1250 mm, one straight cut across the sheet frees it" in text
    assert "BBBBB 500 x 944 mm, to RACK, cut it free along its dashed outline" in text
    assert "From PALLET" in text
