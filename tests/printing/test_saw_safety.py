"""Sizes at which a saw wants more than two hands and a fence.

Push stick under 6 in of width and 12 in of length, support for rips over 3 ft: two table-saw makers'
manuals, page 21 of each. A stick between fence and blade under 1 1/2 in; the smallest sizes: common
practice, no source.
"""

from __future__ import annotations

import pytest

from stockyard.printing.papers import Direction
from stockyard.printing.saw_safety import cautions_of
from tests.printing.samples import inch


def rip(length: float, strip: float, width: float = 20) -> list[str]:
    found = cautions_of(
        Direction.RIP, inch(length), inch(width), inch(strip), (inch(strip), inch(width - strip))
    )
    return [("! " if c.grave else "") + c.text for c in found]


def crosscut(low: float, high: float | None, width: float) -> list[str]:
    gives = (inch(low), None if high is None else inch(high))
    found = cautions_of(Direction.CROSSCUT, inch(low + (high or 0)), inch(width), inch(low), gives)
    return [("! " if c.grave else "") + c.text for c in found]


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
        (2.9, 8, "! too small"),
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
        (20, 20, 10, None),
        (5, 20, 10, "short"),
        (20, 5, 10, "short"),
        (2.9, 20, 2.9, "! too small"),
        (2.9, 20, 10, "short"),
        (0.4, 20, 10, "! too thin"),
        (20, None, 10, None),
    ],
)
def test_crosscuts(low: float, high: float | None, width: float, word: str | None) -> None:
    found = crosscut(low, high, width)
    assert (found == []) if word is None else any(text.startswith(word) for text in found)


def test_a_large_sheet_wants_two_people() -> None:
    assert any("two people" in text for text in rip(96, 24, 48))
