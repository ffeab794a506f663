"""Lumber sizes, banded edges, and rows that survive being written and read again."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.bands import cut_size
from stockyard.cutlist import Grain, Row, read, write
from stockyard.cutlist.edges import EdgesUnclear, banded
from stockyard.cutlist.lumber import Lumber
from stockyard.measure import LONGEST, TICKS_PER_INCH, TICKS_PER_MM, Unit

INCH, MM = TICKS_PER_INCH, TICKS_PER_MM

# PS 20-20 (American Softwood Lumber Standard) Table 3, dry: nominal -> dressed inches.
PS_20 = {
    "1x2": ("3/4", "1 1/2"), "1x3": ("3/4", "2 1/2"), "1x4": ("3/4", "3 1/2"), "1x5": ("3/4", "4 1/2"),
    "1x6": ("3/4", "5 1/2"), "1x7": ("3/4", "6 1/2"), "1x8": ("3/4", "7 1/4"), "1x9": ("3/4", "8 1/4"),
    "1x10": ("3/4", "9 1/4"), "1x11": ("3/4", "10 1/4"), "1x12": ("3/4", "11 1/4"), "1x14": ("3/4", "13 1/4"),
    "1x16": ("3/4", "15 1/4"), "5/4x6": ("1", "5 1/2"), "2x2": ("1 1/2", "1 1/2"), "2x4": ("1 1/2", "3 1/2"),
    "2x6": ("1 1/2", "5 1/2"), "2x8": ("1 1/2", "7 1/4"), "2x10": ("1 1/2", "9 1/4"),
    "2x12": ("1 1/2", "11 1/4"), "2-1/2x4": ("2", "3 1/2"), "3x4": ("2 1/2", "3 1/2"),
    "3-1/2x4": ("3", "3 1/2"), "4x4": ("3 1/2", "3 1/2"), "4x12": ("3 1/2", "11 1/4"),
    "6x6": ("5 1/2", "5 1/2"),
}  # fmt: skip
# Hardwood quarters as NHLA grades them: rough, surfaced on one side, on two (in inches).
QUARTERS = {
    "4/4": ("1", "7/8", "13/16"), "5/4": ("1 1/4", "1 1/8", "1 1/16"), "6/4": ("1 1/2", "1 3/8", "1 5/16"),
    "7/4": ("1 3/4", None, "1 1/2"), "8/4": ("2", "1 13/16", "1 3/4"), "12/4": ("3", "2 13/16", "2 3/4"),
    "16/4": ("4", "3 13/16", "3 3/4"),
}  # fmt: skip


def inch(text: str | None) -> int | None:
    return None if text is None else int(sum(Fraction(p) for p in text.split()) * INCH)


@pytest.mark.parametrize("nominal", PS_20)
def test_dressed_sizes_are_those_of_the_standard(nominal: str) -> None:
    assert Lumber().actual(nominal) == tuple(inch(t) for t in PS_20[nominal])


@pytest.mark.parametrize("name", QUARTERS)
def test_quarters_are_those_of_the_trade(name: str) -> None:
    quarter = Lumber().quarters[name]
    assert (quarter.rough, quarter.one_side, quarter.two_sides) == tuple(inch(t) for t in QUARTERS[name])


def test_a_shop_may_change_its_table() -> None:
    """One yard sells its 2x hardwood 1-3/4 thick (common practice, no source)."""
    own = Lumber().with_size("2x4", INCH * 7 // 4, INCH * 7 // 2)
    (row,) = read("2 pcs 2x4 @ 37", unit=Unit.INCH, lumber=own).rows
    assert (row.thickness, row.width) == (INCH * 7 // 4, INCH * 7 // 2)
    assert Lumber().actual("2x4") == (INCH * 3 // 2, INCH * 7 // 2)


def test_cut_size_under_a_finished_size() -> None:
    """716 x 396 finished, 1 mm on four edges: 714 x 394 (worked by hand)."""
    assert cut_size(716 * MM, 396 * MM, ("L1", "L2", "W1", "W2"), MM) == (714 * MM, 394 * MM)
    assert cut_size(716 * MM, 396 * MM, ("L1",), 2 * MM) == (716 * MM, 394 * MM)
    assert cut_size(716 * MM, 396 * MM, ("W1", "W2"), 2 * MM) == (712 * MM, 396 * MM)
    assert cut_size(716 * MM, 396 * MM, (), 2 * MM) == (716 * MM, 396 * MM)


@pytest.mark.parametrize(
    ("code", "length", "width", "edges"),
    [
        ("1L", 7, 4, "L1"), ("2L", 7, 4, "L1 L2"), ("2L1S", 7, 4, "L1 L2 W1"), ("4", 7, 4, "L1 L2 W1 W2"),
        ("LLSS", 7, 4, "L1 L2 W1 W2"), ("1S", 7, 4, "W1"), ("1S", 4, 7, "L1"), ("1L1S", 4, 7, "L1 W1"),
        ("1L2W", 4, 7, "L1 W1 W2"), ("-", 7, 4, ""), ("none", 7, 4, ""), ("L2 W1", 7, 4, "L2 W1"),
    ],
)  # fmt: skip
def test_banding_codes(code: str, length: int, width: int, edges: str) -> None:
    assert banded(code, length, width) == tuple(edges.split())


@pytest.mark.parametrize(
    ("code", "readings"), [("2", 3), ("1", 2), ("3", 2), ("5L", 0), ("3L", 0), ("1S1W", 0)]
)
def test_banding_codes_in_doubt(code: str, readings: int) -> None:
    with pytest.raises(EdgesUnclear) as caught:
        banded(code, 7, 4)
    assert len(caught.value.readings) == readings
    for reading in caught.value.readings:
        assert banded(reading, 7, 4) == banded(reading, 4, 7)


def test_the_longer_edge_or_the_one_along_the_length() -> None:
    with pytest.raises(EdgesUnclear) as caught:
        banded("1L", 4, 7)
    assert caught.value.readings == ("L1", "W1")


words = (
    st.text("abcdefghij klmnopqrstuvwyz", min_size=1, max_size=12)
    .map(lambda w: " ".join(w.split()))
    .filter(lambda w: w not in ("", "do", "same", "ditto") and not w.startswith(("total", "sum")))
)
# A hundredth of a millimetre to 100 m, at any tick.
lengths = st.integers(32, LONGEST)
rows = st.builds(
    Row,
    name=words,
    count=st.integers(1, 10_000),
    length=lengths,
    width=lengths,
    grain=st.one_of(st.none(), st.sampled_from(Grain)),
    bands=st.sets(st.sampled_from(("L1", "L2", "W1", "W2"))).map(lambda s: tuple(sorted(s))),
    material=st.sampled_from(("", "birch ply", "MDF", "red oak")),
    thickness=st.just(18 * MM),
    thickness_name=st.just("18 mm"),
    rip_from=st.sampled_from((None, "2x4")),
    note=st.sampled_from(("", "scribe to wall")),
)


def bare(row: Row) -> Row:
    return Row(**{f: getattr(row, f) for f in Row.__slots__ if f not in ("line", "column", "text")})


@settings(max_examples=200, deadline=None)
@given(st.lists(rows, min_size=1, max_size=6), st.sampled_from(Unit))
def test_what_is_written_reads_as_the_same_rows(written: list[Row], unit: Unit) -> None:
    found = read(write(written), unit=unit)
    assert not found.questions
    assert [bare(r) for r in found.rows] == [bare(r) for r in written]


@pytest.mark.parametrize(
    "text",
    [
        "(4) 1x6 @ 6'\n10 pcs 2x2 @ 14\" (rip from 2x4)",
        "8/4 walnut: 4 pcs 1 1/2 sq x 29\n4/4 walnut: 2 @ 3-1/2 x 48",
        "1/2 baltic birch ply\n2 sides 12 x 30 (grain along)\n1 top 12 x 31 2L",
    ],
)
def test_lists_read_the_same_after_writing(text: str) -> None:
    once = read(text, unit=Unit.INCH, first="along").rows
    again = read(write(once), unit=Unit.INCH)
    assert not again.questions
    assert [bare(r) for r in again.rows] == [bare(r) for r in once]
