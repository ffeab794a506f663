"""Beams on lines: whatever they find can be cut, and they come close to published optima."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.planning.tables import dp
from stockyard.planning.tables.beam import Beam
from stockyard.planning.tables.lines import beam_table, lines
from tests.planning.jobs import published
from tests.planning.tables.test_beam import Drawn, box

Sheet = tuple[int, int]


def items_of(drawn: Drawn) -> list[dp.Item]:
    """Return items (length, width, most of it, value), one part each."""
    return [dp.Item(a, b, n, k) for k, (a, b, n, _) in enumerate(drawn)]


def beam_of(sheets: list[Sheet], drawn: Drawn, steps: float, width: int = 8) -> Beam:
    """Return the beam on lines of about so many steps."""
    table = lines(items_of(drawn), sheets, steps)
    return Beam(table, [v for *_, v in drawn], [n for _, _, n, _ in drawn], width=width)


def best(beam: Beam, drawn: Drawn, sheet: Sheet) -> int:
    """Return what the best pattern of a sheet is worth, by its parts."""
    trace = next(beam.patterns(sheet), None)
    return 0 if trace is None else sum(drawn[k][3] for kind, k in trace.tolist() if kind == dp.PART)


@pytest.fixture(scope="module", autouse=True)
def compiled() -> None:
    """Compile first: drawn examples have little time each."""
    list(beam_of([(6, 6)], [(2, 3, 1, 1)], 100).patterns((6, 6)))


items = st.lists(
    st.tuples(st.integers(4, 40), st.integers(4, 40), st.integers(1, 3), st.integers(1, 50)),
    min_size=1,
    max_size=6,
)
sheets = st.lists(st.tuples(st.integers(40, 120), st.integers(40, 120)), min_size=1, max_size=4)


@given(sheets, items, st.sampled_from([30, 300, 3000]))
def test_every_pattern_fits_its_sheet_keeps_to_the_counts_and_comes_in_order(
    several: list[Sheet], drawn: Drawn, steps: int
) -> None:
    table = lines(items_of(drawn), several, steps)
    beam = beam_of(several, drawn, steps)
    for sheet in several:
        worths = []
        for trace in beam.patterns(sheet):
            counts = Counter(k for kind, k in trace.tolist() if kind == dp.PART)
            assert all(n <= drawn[k][2] for k, n in counts.items())
            worths.append(sum(n * drawn[k][3] for k, n in counts.items()))
            length, width = box(table, trace.tolist())
            assert length <= sheet[0] and width <= sheet[1]
        assert worths == sorted(worths, reverse=True)
        assert [w for w in worths if w >= 40] == worths_from(beam, drawn, sheet, 40)


def worths_from(beam: Beam, drawn: Drawn, sheet: Sheet, least: int) -> list[int]:
    """Return the worths of the patterns that are worth `least`."""
    found = beam.patterns(sheet, least=least)
    return [sum(drawn[k][3] for kind, k in t.tolist() if kind == dp.PART) for t in found]


@given(st.tuples(st.integers(6, 16), st.integers(6, 16)), st.data())
def test_with_a_line_at_every_length_it_is_the_exact_beam(sheet: Sheet, data: st.DataObject) -> None:
    small = st.tuples(st.integers(2, 9), st.integers(2, 9), st.integers(1, 3), st.integers(1, 50))
    drawn = [
        (min(a, sheet[0]), min(b, sheet[1]), n, v)
        for a, b, n, v in data.draw(st.lists(small, min_size=1, max_size=3))
    ]
    exact = Beam(
        dp.table(items_of(drawn), [sheet]), [v for *_, v in drawn], [n for _, _, n, _ in drawn], width=64
    )
    steps = sheet[0] * sheet[1] * sum(sheet) / 4
    assert best(beam_of([sheet], drawn, steps, width=64), drawn, sheet) == best(exact, drawn, sheet)


def test_comes_close_to_the_published_optima_and_never_above() -> None:
    """See tests/data/README.md for the values; forty lines or so in place of up to five hundred points."""
    shares = []
    for case in published("guillotine_knapsack.json"):
        sheet, drawn = tuple(case["sheet"]), [tuple(it) for it in case["items"]]
        fitting = [it for it in drawn if it[0] <= sheet[0] and it[1] <= sheet[1]]
        shares.append(best(beam_of([sheet], fitting, 3e4, width=16), fitting, sheet) / case["best"])
    assert max(shares) <= 1.0
    assert sum(shares) / len(shares) > 0.97


def test_lines_stand_in_only_where_an_exact_table_is_large() -> None:
    few = [dp.Item(250, 400, 3, 0)]
    assert not beam_table(few, [(1000, 800)]).by_lines
    many = [dp.Item(201 + 17 * n, 61 + 13 * n, 3, n) for n in range(40)]
    table = beam_table(many, [(2440, 1220), (777, 333)])
    assert table.by_lines
    assert (table.xs[-1], table.ys[-1]) == (2440, 1220)
