"""Sizes at which a saw wants more than two hands and a fence.

Push stick under 6 in of width and 12 in of length, support for rips over 3 ft: two table-saw makers'
manuals, page 21 of each. A stick between fence and blade under 1 1/2 in; the smallest sizes: common
practice, no source.
"""

from __future__ import annotations

import pytest

from stockyard.printing.papers import CutStep, Direction, Side
from stockyard.printing.saw_safety import cautions_of
from tests.printing.samples import inch


def said(
    size: tuple[float, float], direction: Direction, fence: float, high: float | None, trim: float = 0
) -> list[str]:
    step = CutStep(
        number=1, piece="stock", length=inch(size[0]), width=inch(size[1]), direction=direction,
        fence=inch(fence), against=Side.LOW, gives=("1a", None), trim=inch(trim),
    )  # fmt: skip
    found = cautions_of(step, (inch(fence), None if high is None else inch(high)))
    return [("! " if c.grave else "") + c.text for c in found]


def rip(length: float, strip: float) -> list[str]:
    """A piece as wide as it may be for a rip, so that the width decides nothing."""
    return said((length, min(length, 20)), Direction.RIP, strip, 1)


def crosscut(low: float, high: float | None, width: float) -> list[str]:
    return said((low + (high or 0), width), Direction.CROSSCUT, low, high)


@pytest.mark.parametrize(
    ("length", "strip", "word"),
    [
        (30, 6, None),
        (30, 5.99, "push stick"),
        (30, 1.5, "push stick"),
        (30, 1.49, "! narrow strip"),
        (30, 0.5, "! narrow strip"),
        (30, 0.49, "! too narrow"),
        (12, 8, None),
        (11.9, 8, "! short to rip"),
        (2.9, 2, "! too small"),
        (36, 8, None),
        (36.1, 8, "support behind"),
    ],
)
def test_rips(length: float, strip: float, word: str | None) -> None:
    found = rip(length, strip)
    assert (found == []) if word is None else any(text.startswith(word) for text in found)


@pytest.mark.parametrize(
    ("low", "high", "width", "word"),
    [
        (20, 20, 10, "to length: on a sled"),
        (5, 20, 10, "to length: on a sled"),
        (2.9, 20, 2.9, "! too small"),
        (2.9, 20, 10, "to length: on a sled"),
        (0.4, 20, 10, "! too thin"),
        (20, None, 10, "to length: on a sled"),
        (45, 5, 30, "cut shorter than the fence"),
        (20, 25, 30, None),
    ],
)
def test_crosscuts(low: float, high: float | None, width: float, word: str | None) -> None:
    found = crosscut(low, high, width)
    assert (found == []) if word is None else any(text.startswith(word) for text in found)


def test_a_large_sheet_wants_two_people_and_no_sled() -> None:
    for direction, fence in ((Direction.RIP, 24), (Direction.CROSSCUT, 3), (Direction.CROSSCUT, 60)):
        found = said((96.875, 49), direction, fence, 20)
        assert any("two people, or break it down" in text for text in found)
        assert not any("sled" in text for text in found)


def test_the_shape_in_hand_decides_not_the_name_of_the_direction() -> None:
    """A strip 3 1/2 x 49 cut to length has its short end nowhere near the rip fence."""
    assert any("sled" in text for text in said((3.5, 49), Direction.RIP, 48.875, None))
    assert not any("sled" in text for text in said((3.5, 49), Direction.CROSSCUT, 1.5, 1.875))


def test_a_trim_sets_no_fence() -> None:
    assert said((40, 30), Direction.RIP, 1, None, trim=0.2) == ["support behind the saw"]
