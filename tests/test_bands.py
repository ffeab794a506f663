"""Sizes with and without their bands, against examples worked by hand."""

from __future__ import annotations

import pytest

from stockyard.bands import EDGES, cut_size, finished_size, strip_length
from stockyard.measure import TICKS_PER_MM as MM


def mm(*figures: float) -> tuple[int, ...]:
    return tuple(round(f * MM) for f in figures)


@pytest.mark.parametrize(
    ("finished", "edges", "thick", "trim", "cut"),
    [
        # 716 x 396 finished with 1 mm on four edges is cut 714 x 394: worked by hand, common practice.
        ((716, 396), EDGES, 1, 0, (714, 394)),
        # 2 mm on one long edge takes 2 off the width alone.
        ((716, 396), ("L1",), 2, 0, (716, 394)),
        ((716, 396), ("W1", "W2", "L2"), 0.6, 0, (714.8, 395.4)),
        # Sawn 1 mm over on each banded edge, trimmed before 2 mm bands: 716 - 2 + 1 wide.
        ((2000, 716), ("L1",), 2, 1, (2000, 715)),
        # A 6 mm lipping glued all round on a panel 3 mm over on each edge.
        ((600, 400), EDGES, 6, 3, (594, 394)),
    ],
)
def test_a_cut_size_and_its_finished_size(
    finished: tuple[float, ...], edges: tuple[str, ...], thick: float, trim: float, cut: tuple[float, ...]
) -> None:
    thickness, over = mm(thick, trim)
    assert cut_size(*mm(*finished), edges, thickness, over) == mm(*cut)  # type: ignore[call-arg, arg-type]
    assert finished_size(*mm(*cut), edges, thickness, over) == mm(*finished)  # type: ignore[call-arg, arg-type]


def test_how_much_band_a_door_takes() -> None:
    """All round a door of 716 x 396, each strip 25 over at both ends: 2 x 766 + 2 x 446 = 2424 mm by hand."""
    assert strip_length(*mm(716, 396), EDGES, 25 * MM) == 2424 * MM  # type: ignore[call-arg, arg-type]
    assert strip_length(*mm(716, 396), ("L2",), 0) == 716 * MM  # type: ignore[call-arg, arg-type]
