"""What a panel may measure, against the tables that standards and makers print."""

from __future__ import annotations

import pytest

from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.tolerances import panel


# EN 315:2000, sanded plywood, as two makers print it to a tenth: 12 mm +0.5/-0.7, 18 mm +0.7/-0.9,
# 24 mm +0.9/-1.1, 30 mm +1.1/-1.3.
@pytest.mark.parametrize(
    ("named", "over", "under"), [(12, 0.5, 0.7), (18, 0.7, 0.9), (24, 0.9, 1.1), (30, 1.1, 1.3)]
)
def test_en_315(named: int, over: float, under: float) -> None:
    found = panel(named * MM, inches=False)
    assert found.source == "EN 315"
    assert abs((found.most - named * MM) / MM - over) <= 0.1
    assert abs((named * MM - found.least) / MM - under) <= 0.1
    assert named * MM in found and (named + 2) * MM not in found


# PS 1-19, sanded panels: 1/64 in either way up to 3/4 in, 3 % above.
@pytest.mark.parametrize(
    ("named", "slack"), [(INCH // 2, INCH // 64), (INCH * 3 // 4, INCH // 64), (INCH, INCH * 3 / 100)]
)
def test_ps_1(named: int, slack: float) -> None:
    found = panel(named, inches=True)
    assert found.source == "PS 1"
    assert (round(named - slack), round(named + slack)) == (found.least, found.most)
