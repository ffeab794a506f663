"""What the bit runs along of a shaped part: figures by hand, and lengths as ezdxf measures them."""

from __future__ import annotations

from io import StringIO
from itertools import pairwise
from math import pi

import ezdxf
import pytest
from ezdxf.path import make_path

from stockyard.desk.shapes import shape_in, shape_of
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.planning.path import Stretch
from stockyard.printing.outline_file import read_outline
from tests.printing.test_routed_drawing import shaped


def test_a_plate_with_a_round_corner_and_a_hole() -> None:
    """200 x 100, one corner of radius 30, a hole of 30 across; the file's corner is at 10, 20."""
    shape = shape_of(shaped().decode(), Unit.MM)
    assert shape.around == pytest.approx((170 + 15 * pi + 70 + 200 + 100 + 30 * pi) * MM, abs=1)
    assert shape.x_low == (Stretch(0, 100 * MM),) and shape.y_high == (Stretch(0, 200 * MM),)
    assert shape.x_high == (Stretch(30 * MM, 100 * MM),) and shape.y_low == (Stretch(0, 170 * MM),)


def test_its_length_is_what_the_library_measures() -> None:
    """Of outlines with arcs to both sides, flattened by ezdxf to a thousandth of a mm."""
    for bulge in (-0.4, 0.05, 0.3, 1.0):
        doc = ezdxf.new("R2000")
        doc.units = 4
        points = [(0, 0, 0), (300, 0, bulge), (300, 200, 0), (0, 200, -bulge / 2)]
        line = doc.modelspace().add_lwpolyline(points, format="xyb", close=True)
        text = StringIO()
        doc.write(text)
        spots = list(make_path(line).flattening(0.001))
        long = sum(a.distance(b) for a, b in pairwise(spots))
        shape = shape_in(read_outline(text.getvalue().encode(), "x", Unit.MM))
        assert shape.around / MM == pytest.approx(long, abs=0.05)
