"""The table of cut trees: exact undo, sound trees, the same draws for the same seed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.alike import merge
from stockyard.planning.hunting.rebuilder import MANY, Rebuilder, Stage
from stockyard.planning.model import Model, shares
from stockyard.planning.problem import Grain, Kind, Part, Problem, Stock
from stockyard.planning.recreate import forest as f
from stockyard.planning.recreate import kernel


def model_of(sizes: list[tuple[int, int, int]], kerf: int = 3, offcuts: int = 2) -> Model:
    sheet = Stock(
        id="sheet", kind=Kind.FULL, material="ply", length=1000 * MM, width=600 * MM, count=None, cost=10
    )
    rack = [
        Stock(
            id=f"o{n}",
            kind=Kind.OFFCUT,
            material="ply",
            length=(500 - 40 * n) * MM,
            width=(300 + 30 * n) * MM,
            dig=n,
        )
        for n in range(offcuts)
    ]
    parts = tuple(
        Part(id=str(i), length=a * MM, width=b * MM, count=n, grain=Grain.ANY)
        for i, (a, b, n) in enumerate(sizes)
    )
    (model,) = shares(Problem(stock=(sheet, *rack), parts=parts, kerf=kerf * MM))
    return merge(model).model


SIZES = [(420, 310, 3), (250, 180, 5), (600, 90, 4), (130, 130, 6), (700, 350, 2)]


def node_is_sound(rows: f.Ints, x: int, length: int, width: int, axis: int, rests: set[int]) -> int:
    """Check the tree under `x`; return how many parts it gives."""
    assert (rows[x, f.LENGTH], rows[x, f.WIDTH]) == (length, width)
    kind = rows[x, f.KIND]
    if kind == f.REST:
        rests.add(x)
        return 0
    if kind == f.PART:
        t = rows[x, f.TAG]
        assert sorted((length, width)) == sorted((rows[t, f.LENGTH], rows[t, f.WIDTH]))
        return 1
    assert kind == f.SPLIT
    own = int(rows[x, f.TAG])
    assert own != axis, "axes alternate"
    total = given_parts = count = 0
    own_rests = []
    c = int(rows[x, f.CHILD])
    while c:
        assert rows[c, f.PARENT] == x
        size = int(rows[c, f.LENGTH + own])
        box = (size, width) if own == 0 else (length, size)
        given_parts += node_is_sound(rows, c, *box, own, rests)
        total += size
        count += 1
        if rows[c, f.KIND] == f.REST:
            own_rests.append(c)
        c = int(rows[c, f.NEXT])
    assert total == (length, width)[own]
    assert count >= 2
    assert own_rests == ([rows[x, f.OWN_REST]] if rows[x, f.OWN_REST] else [])
    return given_parts


def assert_sound(rebuilder: Rebuilder) -> None:
    rows, nums = rebuilder.forest.rows, rebuilder.forest.nums
    p = int(rows[f.HEADER, f.CHILD])
    room = 0.0
    placed = 0
    while p:
        line = rows[p, f.TAG]
        rests: set[int] = set()
        given_parts = node_is_sound(
            rows, int(rows[p, f.CHILD]), int(rows[line, f.LENGTH]), int(rows[line, f.WIDTH]), -1, rests
        )
        assert given_parts == rows[p, f.COUNT] > 0
        placed += given_parts
        listed = set()
        r = int(rows[p, f.REST_NEXT])
        while r:
            listed.add(r)
            room += f.room(nums, int(rows[r, f.LENGTH]), int(rows[r, f.WIDTH]))
            r = int(rows[r, f.REST_NEXT])
        assert listed == rests
        p = int(rows[p, f.NEXT])
    assert placed + rebuilder.left_out == sum(part.demand for part in rebuilder.model.parts)
    assert nums[f.ROOM] == pytest.approx(room)


def started(seed: int = 1, **manner: float) -> Rebuilder:
    rebuilder = Rebuilder(model_of(SIZES), seed)
    rebuilder.set_rules(Stage.PLACE, budget=MANY, manner=manner)
    rebuilder.load(())
    rebuilder.construct()
    return rebuilder


def test_construction_places_everything_it_can() -> None:
    rebuilder = started()
    assert rebuilder.left_out == 0
    assert rebuilder.answer().complete
    assert_sound(rebuilder)


def test_trees_stay_sound_through_ruin_and_recreate() -> None:
    rebuilder = started()
    money = rebuilder.answer().figures.money
    for stage, budget in ((Stage.PLACE, money - 1), (Stage.NET, money)):
        rebuilder.set_rules(stage, budget=budget, manner={"history": 30, "removed": 5})
        rebuilder.load(rebuilder.answer().layouts)
        rebuilder.lower_money()
        for _ in range(30):
            rebuilder.run(7)
            assert_sound(rebuilder)


def test_a_step_undone_leaves_no_trace() -> None:
    rebuilder = started()
    s = rebuilder.forest
    before, sums = s.rows.copy(), s.nums[: f.SUMS].copy()
    for _ in range(50):
        f.begin(s.rows, s.nums)
        kernel.ruin(s.rows, s.undo, s.nums, s.opened)
        kernel.recreate(s.rows, s.undo, s.nums, s.lies, s.order, s.keys)
        f.rollback(s.rows, s.undo, s.nums)
    before[f.REGISTERS] = s.rows[f.REGISTERS]
    live = slice(0, int(before[f.HEADER, f.TAG]))
    assert np.array_equal(before[live, : f.TOUCHED], s.rows[live, : f.TOUCHED])
    assert np.array_equal(sums, s.nums[: f.SUMS])


def test_the_same_seed_gives_the_same_layouts() -> None:
    def run(seed: int) -> object:
        rebuilder = started(seed)
        rebuilder.set_rules(Stage.NET, budget=MANY)
        rebuilder.load(rebuilder.answer().layouts)
        rebuilder.run(300)
        return rebuilder.best_answer()

    assert run(3) == run(3)


def test_layouts_planted_again_are_the_same_layouts() -> None:
    rebuilder = started()
    answer = rebuilder.answer()
    rebuilder.load(answer.layouts)
    assert_sound(rebuilder)
    again = rebuilder.answer()
    assert sorted(c.gives for c in again.layouts) == sorted(c.gives for c in answer.layouts)
    assert again.figures[:3] == answer.figures[:3]


def test_layouts_are_recorded_once() -> None:
    rebuilder = started()
    rebuilder.set_rules(Stage.NET, budget=MANY, filled=0.1)
    rebuilder.load(rebuilder.answer().layouts)
    rebuilder.run(200)
    found = [(c.stock, c.gives) for c in rebuilder.recorded()]
    assert found
    assert len(found) == len(set(found))
    assert rebuilder.recorded() == []


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(20, 990), st.integers(20, 590), st.integers(1, 4)), min_size=1, max_size=8
    ),
    st.integers(0, 5),
)
def test_any_parts_that_fit_are_placed(sizes: list[tuple[int, int, int]], kerf: int) -> None:
    rebuilder = Rebuilder(model_of(sizes, kerf), 1)
    rebuilder.set_rules(Stage.PLACE, budget=MANY)
    rebuilder.load(())
    rebuilder.construct()
    assert rebuilder.left_out == 0
    assert_sound(rebuilder)


def test_parts_alike_are_counted_together_and_told_apart() -> None:
    sheet = Stock(
        id="s", kind=Kind.FULL, material="ply", length=1000 * MM, width=600 * MM, count=None, cost=1
    )
    parts = (
        Part(id="a", length=300 * MM, width=200 * MM, count=2, grain=Grain.ANY),
        Part(id="b", length=200 * MM, width=300 * MM, count=1, grain=Grain.ANY),
    )
    (model,) = shares(Problem(stock=(sheet,), parts=parts))
    merged = merge(model)
    assert [p.demand for p in merged.model.parts] == [3]
    rebuilder = Rebuilder(merged.model, 1)
    rebuilder.set_rules(Stage.PLACE, budget=MANY)
    rebuilder.load(())
    rebuilder.construct()
    (pattern,) = merged.back(c.pattern for c in rebuilder.answer().layouts)
    assert pattern.parts() == {0: 2, 1: 1}
