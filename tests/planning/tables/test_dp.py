"""The guillotine dynamic programme against published optima, a naive recursion, and plain Python."""

from __future__ import annotations

from functools import cache
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.planning.tables import dp
from stockyard.planning.tables.beam import Beam
from stockyard.planning.tables.lines import lines
from tests.planning.jobs import published


def best(items: list[dp.Item], values: list[int], sheet: tuple[int, int], most: float = dp.inf) -> int:
    """Return the most value one sheet can hold."""
    table = dp.table(items, [sheet], most)
    per_item = np.array([values[it.part] for it in items], dtype=np.float32)
    return int(table.solve(per_item)[table.point(*sheet)])


@pytest.mark.parametrize("case", published("gcut.json"), ids=lambda c: c["name"])
@pytest.mark.parametrize("turn", [False, True])
def test_meets_the_published_optima(case: dict, turn: bool) -> None:
    """gcut1 to gcut11 of Beasley 1985; see tests/data/README.md for the values."""
    items = [dp.Item(a, b, 10**6, k) for k, (a, b, _) in enumerate(case["items"])]
    if turn:
        items += [dp.Item(b, a, 10**6, k) for k, (a, b, _) in enumerate(case["items"])]
    values = [v for _, _, v in case["items"]]
    assert best(items, values, tuple(case["sheet"])) == case["turned" if turn else "best"]


def naive(sheet: tuple[int, int], items: list[tuple[int, int, int]]) -> int:
    """Return the same by trying every cut."""

    @cache
    def f(w: int, h: int) -> int:
        top = max((v for a, b, v in items if a <= w and b <= h), default=0)
        top = max([top] + [f(c, h) + f(w - c, h) for c in range(1, w // 2 + 1)])
        return max([top] + [f(w, c) + f(w, h - c) for c in range(1, h // 2 + 1)])

    return f(*sheet)


@given(
    st.tuples(st.integers(4, 22), st.integers(4, 22)),
    st.lists(st.tuples(st.integers(2, 14), st.integers(2, 14), st.integers(1, 60)), min_size=1, max_size=5),
)
def test_agrees_with_trying_every_cut(sheet: tuple[int, int], drawn: list[tuple[int, int, int]]) -> None:
    """Raster points lose nothing."""
    items = [dp.Item(a, b, 99, k) for k, (a, b, _) in enumerate(drawn)]
    assert best(items, [v for _, _, v in drawn], sheet) == naive(sheet, drawn)


def test_one_table_serves_smaller_sheets() -> None:
    """What a table says of a small sheet is what the small sheet's own table says."""
    rng = Random(4)
    items = [dp.Item(rng.randint(40, 300), rng.randint(30, 200), 3, k) for k in range(12)]
    values = [it.length * it.width // 10 for it in items]
    sheets = [(900, 600), (620, 333), (410, 290)]
    shared = dp.table(items, sheets)
    solved = shared.solve(np.array(values, dtype=np.float32))
    for sheet in sheets:
        assert int(solved[shared.point(*sheet)]) == best(items, values, sheet)


def test_the_trace_has_the_value_and_fits() -> None:
    """The traced pattern adds up to F and its parts do not cover more than the sheet."""
    case = published("gcut.json")[-1]
    items = [dp.Item(a, b, 10**6, k) for k, (a, b, _) in enumerate(case["items"])]
    table = dp.table(items, [tuple(case["sheet"])])
    values = np.array([v for _, _, v in case["items"]], dtype=np.float32)
    point = table.point(*case["sheet"])
    steps = table.trace(table.solve(values), values, point)
    chosen = steps[steps[:, 0] == dp.PART, 1]
    assert values[chosen].sum() == case["best"]
    assert sum(items[k].length * items[k].width for k in chosen) <= case["sheet"][0] * case["sheet"][1]


def test_points_are_sums_within_the_demand() -> None:
    """Worked by hand: two of 30 and one of 50 within 120."""
    assert dp.normal_points([(30, 2), (50, 1)], 120).tolist() == [0, 30, 50, 60, 80, 110]
    every = dp.normal_points([(30, 4), (50, 2)], 120)
    assert every.tolist() == [0, 30, 50, 60, 80, 90, 100, 110, 120]
    assert dp.raster_points(every, [120]).tolist() == [0, 30, 60, 90, 120]


def test_five_strips_that_fit_side_by_side_are_all_counted() -> None:
    """Raster points of sums within the counts would leave one of them out (and prove too much)."""
    items = [dp.Item(34, 1206, 5, 0), dp.Item(1206, 34, 5, 0)]
    assert best(items, [1, 1], (2444, 1224)) >= 5


@settings(deadline=None)
@given(
    st.tuples(st.integers(8, 40), st.integers(8, 40)),
    st.lists(
        st.tuples(st.integers(2, 20), st.integers(2, 20), st.integers(1, 4), st.integers(1, 50)),
        min_size=1,
        max_size=4,
    ),
)
def test_no_pattern_within_the_counts_is_worth_more(
    sheet: tuple[int, int], drawn: list[tuple[int, int, int, int]]
) -> None:
    """Against beams on a line at every length, which find true patterns."""
    drawn = [(min(a, sheet[0]), min(b, sheet[1]), n, v) for a, b, n, v in drawn]
    items = [dp.Item(a, b, n, k) for k, (a, b, n, _) in enumerate(drawn)]
    every = lines(items, [sheet], sheet[0] * sheet[1] * sum(sheet) / 4)
    values = [v for *_, v in drawn]
    beam = Beam(every, values, [n for _, _, n, _ in drawn], width=16)
    trace = next(beam.patterns(sheet))
    found = sum(values[k] for kind, k in trace.tolist() if kind == dp.PART)
    assert found <= best(items, values, sheet)


def test_a_coarse_table_is_an_upper_bound() -> None:
    """Rounded down extents can only make more fit."""
    rng = Random(1)
    items = [dp.Item(rng.randint(90, 700), rng.randint(70, 500), 4, k) for k in range(25)]
    values = [it.length * it.width // 8 for it in items]
    exact = best(items, values, (2440, 1220))
    coarse = best(items, values, (2440, 1220), most=1e7)
    assert exact <= coarse <= exact * 1.1


def test_plain_python_gives_the_same() -> None:
    """The kernels without the compiler."""
    plain = getattr(dp._behind, "py_func", dp._behind)
    points = np.array([0, 3, 5, 6, 8, 10, 11], dtype=np.int64)
    assert (plain(points) == dp._behind(points)).all()
