"""A list pasted again: what differs from the parts that are stored."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from stockyard.cutlist.diff import diff, told
from stockyard.measure import TICKS_PER_MM, Unit
from stockyard.yard.model import JobPart

MM = TICKS_PER_MM
SIDE = JobPart(name="side", count=2, length=600 * MM, width=300 * MM, materials=("MDF 18 mm",))
SHELF = JobPart(name="shelf", count=4, length=564 * MM, width=280 * MM, materials=("MDF 18 mm",))
BACK = JobPart(name="back", count=1, length=600 * MM, width=564 * MM, materials=None)
parts = st.builds(
    JobPart,
    name=st.sampled_from(("side", "shelf", "Shelf", "back")),
    count=st.integers(1, 3),
    length=st.sampled_from((300, 400)),
    width=st.sampled_from((100, 200)),
)
lists = st.lists(parts, max_size=8)


def test_the_order_of_parts_makes_no_difference() -> None:
    assert not diff((SIDE, SHELF, BACK), (BACK, SIDE, SHELF))


def test_a_count_and_a_size_that_changed() -> None:
    found = diff((SIDE, SHELF, BACK), (SIDE, replace(SHELF, count=3, width=270 * MM), BACK))
    assert list(told(found, Unit.MM)) == ["changed: shelf: count 4 -> 3, width 280 -> 270"]
    (change,) = found.changed
    assert (change.at, change.fields) == (1, ("count", "width"))


def test_parts_that_are_new_gone_or_renamed() -> None:
    lid = replace(BACK, name="lid", length=10 * MM)
    found = diff((SIDE, SHELF), (replace(SIDE, name="end"), lid))
    assert list(told(found, Unit.MM)) == [
        "changed: side: name side -> end",
        "new: 1 lid 10 x 564, any material",
        "no longer there: 4 shelf 564 x 280, MDF 18 mm",
    ]


def test_of_parts_with_one_name_those_that_differ_least_belong_together() -> None:
    long, short = replace(SHELF, length=900 * MM), replace(SHELF, length=300 * MM)
    found = diff((long, short), (replace(short, count=5), long))
    assert [(c.at, c.fields) for c in found.changed] == [(1, ("count",))]


@given(lists, lists)
def test_the_old_list_with_its_difference_is_the_new_one(old: list[JobPart], new: list[JobPart]) -> None:
    found = diff(old, new)
    after = dict(enumerate(old))
    for at, part in found.removed:
        assert after.pop(at) == part
    for change in found.changed:
        assert after[change.at] == change.old and change.fields
        after[change.at] = change.new
    key = repr
    assert sorted((*after.values(), *found.added), key=key) == sorted(new, key=key)
    assert bool(found) == (sorted(old, key=key) != sorted(new, key=key))
