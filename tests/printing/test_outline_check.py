"""Outlines that no bit could follow are refused; what is drawn from below or turned is read as it looks."""

from __future__ import annotations

from io import StringIO
from math import cos, pi, sin, sqrt
from typing import Any

import ezdxf
import pytest

from stockyard.desk.routed_sheets import look_at_size
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER, TICKS_PER_INCH, TICKS_PER_MM, Unit
from stockyard.printing.outline_check import extents
from stockyard.printing.outline_file import read_outline
from stockyard.printing.routed_sheet import Outline

Corners = list[tuple[float, ...]]
PLATE: Corners = [(0, 0), (300, 0), (300, 200), (0, 200)]


def box(x: float, y: float, side: float) -> Corners:
    return [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]


def drawn(*loops: Corners, units: int = 4, **attributes: Any) -> bytes:
    doc = ezdxf.new()
    doc.units = units
    for loop in loops:
        points = [(*p, 0.0)[:3] for p in loop]
        doc.modelspace().add_lwpolyline(points, format="xyb", close=True, dxfattribs=attributes)
    text = StringIO()
    doc.write(text)
    return text.getvalue().encode()


@pytest.mark.parametrize(
    ("loops", "wanted"),
    [
        ([[(0, 0), (300, 200), (300, 0), (0, 200)]], "crosses or touches itself"),
        ([[(0, 0), (300, 0), (150, 0), (300, 200), (0, 200)]], "crosses or touches itself"),
        ([[(0, 0), (300, 0), (300, 200), (150, 0), (0, 200)]], "crosses or touches itself"),
        ([PLATE, PLATE], "crosses or touches another line"),
        ([PLATE, box(50, 50, 100), box(100, 100, 80)], "crosses or touches another line"),
        ([PLATE, box(50, 50, 100), box(80, 80, 20)], "lies in another hole"),
        ([PLATE, box(0, 50, 100)], "crosses or touches another line"),
        ([[(0, 0), (300, 0), (0, 200)], box(200, 150, 40)], "is not inside the outline"),
        ([[(0, 0), (float("nan"), 0), (300, 200), (0, 200)]], "is no place"),
        ([[(0, 0), (float("inf"), 0), (300, 200), (0, 200)]], "is no place"),
        ([[(0, 0, 1), (100, 0, 1)], [(30, 0, 1), (70, 0, 1)], [(60, 0, 1), (90, 0, 1)]], "another line"),
    ],
)  # fmt: skip
def test_a_shape_that_can_not_be_cut(loops: list[Corners], wanted: str) -> None:
    with pytest.raises(BadInput, match=r"plate\.dxf: LWPOLYLINE \(handle [0-9A-F]+\) .*" + wanted):
        read_outline(drawn(*loops), "plate.dxf", Unit.MM)


def test_a_shape_that_can() -> None:
    """Holes side by side, an arc between, a corner there twice: all of it is kept, each corner once."""
    loops = [[*PLATE, (0, 200), (0, 0)], box(20, 20, 60), box(81, 20, 60), [(200, 100, 1), (240, 100, 1)]]
    outline = read_outline(drawn(*loops), "plate.dxf", Unit.MM)
    assert sorted(len(loop) for loop in outline.loops) == [2, 4, 4, 4]


@pytest.mark.parametrize("degrees", [0, 7, 30, 45, 61, 90])
@pytest.mark.parametrize("units", [1, 4])
def test_a_disc_is_as_large_as_its_circle_however_it_is_turned(degrees: int, units: int) -> None:
    """Two half circles; their ends lie anywhere on them."""
    x, y = 500 * cos(degrees * pi / 180), 500 * sin(degrees * pi / 180)
    outline = read_outline(drawn([(x, y, 1), (-x, -y, 1)], units=units), "disc.dxf", Unit.MM)
    size = 1000 * (25.4 if units == 1 else 1)
    assert (outline.length, outline.width) == pytest.approx((size, size), abs=1e-6)


def with_hole(kind: str, **more: object) -> bytes:
    """Return a plate of 300 x 200 with another entity in it, as drawing programs draw holes."""
    doc = ezdxf.new()
    doc.units = 4
    doc.modelspace().add_lwpolyline(PLATE, close=True)
    doc.modelspace().new_entity(kind, more)
    out = StringIO()
    doc.write(out)
    return out.getvalue().encode()


@pytest.mark.parametrize("z", [1, -1])
def test_a_hole_may_be_a_circle(z: int) -> None:
    """It is two half circles; drawn from below its x runs the other way."""
    data = with_hole("CIRCLE", center=(z * 100, 80), radius=25, extrusion=(0, 0, z))
    _, hole = read_outline(data, "plate.dxf", Unit.MM).loops
    assert extents(hole) == pytest.approx((75, 55, 125, 105))
    assert [abs(bulge) for _, _, bulge in hole] == [1, 1]


def test_a_circle_is_looked_at_as_any_other_line() -> None:
    for center, radius, wanted in (
        ((290, 100), 25, "more than one outline"),
        ((100, 100), 0, "fewer than two corners"),
    ):
        with pytest.raises(BadInput, match=wanted):
            read_outline(with_hole("CIRCLE", center=center, radius=radius), "plate.dxf", Unit.MM)


def test_what_can_not_be_a_hole_is_named_with_what_to_do() -> None:
    line = with_hole("LINE", start=(10, 10), end=(20, 20))
    with pytest.raises(BadInput, match=r"LINE \(handle .*join lines and arcs into one"):
        read_outline(line, "plate.dxf", Unit.MM)
    oval = with_hole("ELLIPSE", center=(100, 100), major_axis=(50, 0), ratio=0.5)
    with pytest.raises(BadInput, match=r"ELLIPSE \(handle .*draw its edge as one"):
        read_outline(oval, "plate.dxf", Unit.MM)


@pytest.mark.parametrize(
    ("size", "unit", "said"),
    [
        ((24, 7.6), Unit.INCH, "it is 24 x 7.6 in, and the part is 24 x 8 in"),
        ((8, 24), Unit.INCH, "it is 8 x 24 in, and the part is 24 x 8 in; turn it by a quarter"),
        ((24 * 25.4, 8 * 25.4), Unit.INCH, "is the drawing's unit mm or in"),
        ((24 / 25.4, 8 / 25.4), Unit.INCH, "is the drawing's unit mm or in"),
        ((609.6, 203), Unit.MM, "it is 609.6 x 203 mm, and the part is 609.6 x 203.2 mm"),
    ],
)
def test_a_shape_of_another_size_is_told_in_the_shops_unit(
    size: tuple[float, float], unit: Unit, said: str
) -> None:
    one = TICKS_PER[unit] / TICKS_PER_MM
    outline = Outline(size[0] * one, size[1] * one, ())
    with pytest.raises(BadInput, match=said):
        look_at_size("crest", 24 * TICKS_PER_INCH, 8 * TICKS_PER_INCH, outline, unit)


def test_an_arc_that_bulges_inward_adds_nothing() -> None:
    """A quarter circle taken out of a corner, and one that bulges out over the side by r - r / sqrt 2."""
    quarter = sqrt(2) - 1
    cove = [(0, 0, 0), (200, 0, -quarter), (300, 100, 0), (300, 200, 0), (0, 200, 0)]
    outline = read_outline(drawn(cove), "cove.dxf", Unit.MM)
    assert (outline.length, outline.width) == pytest.approx((300, 200), abs=1e-9)
    bow = [(0, 0, 0), (300, 0, quarter), (300, 200, 0), (0, 200, 0)]
    outline = read_outline(drawn(bow), "bow.dxf", Unit.MM)
    assert outline.length == pytest.approx(300 + 100 * sqrt(2) * (1 - 1 / sqrt(2)), abs=1e-9)


def test_a_polyline_drawn_from_below_is_read_as_it_looks_from_above() -> None:
    """Its x runs the other way: extrusion direction 0, 0, -1 (the format's arbitrary axis algorithm)."""
    wedge: Corners = [(0, 0, 0), (300, 0, 0), (300, 50, 0.2), (0, 200, 0)]
    low = read_outline(drawn(wedge, extrusion=(0, 0, -1)), "wedge.dxf", Unit.MM).loops[0]
    assert low[0] == pytest.approx((300, 0, 0))
    assert low[1] == pytest.approx((0, 0, 0))
    assert low[2] == pytest.approx((0, 50, -0.2))
    with pytest.raises(BadInput, match="does not lie flat"):
        read_outline(drawn(wedge, extrusion=(0, 1, 1)), "wedge.dxf", Unit.MM)


def test_an_empty_file_is_no_shape() -> None:
    for data in (b"", b" \r\n"):
        with pytest.raises(BadInput, match=r"x\.dxf: there is nothing in it"):
            read_outline(data, "x.dxf", Unit.MM)
