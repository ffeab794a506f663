"""What a person is told of a record that does not hold, and of the life of a piece."""

from __future__ import annotations

import pytest

from stockyard.yard import ledger
from stockyard.yard.building import told
from tests.yard.shop import MM, Shop


@pytest.mark.parametrize(
    ("found", "said"),
    [(1, "a0"), (3, "a0; a1; a2"), (4, "a0; a1; a2; and 1 more"), (9, "a0; a1; a2; and 6 more")],
)
def test_the_first_three_faults_are_named_and_the_others_counted(found: int, said: str) -> None:
    assert told([f"a{n}" for n in range(found)]) == said


@pytest.mark.parametrize(
    ("now", "says"),
    [
        ({"state": "gone", "gone_because": "rotten"}, ["gone: rotten"]),
        ({"state": "promised", "plan_id": 99}, ["promised to a job"]),
        ({"state": "racked"}, ["free again"]), ({"state": "bench"}, ["laid on the bench"]),
        ({"state": "promised"}, ["promised again"]), ({"state": "cut"}, ["cut"]),
        ({"state": "racked", "place_id": 3}, ["put at R2"]), ({"place_id": 9}, ["put at ?"]),
        ({"length": 600 * MM}, ["measured again: length 600"]),
        ({"width": 300 * MM}, ["measured again: width 300"]),
        ({"length": 600 * MM, "width": 300 * MM}, ["measured again: length 600, width 300"]),
        ({"labelled": 1}, ["label printed"]), ({"labelled": 0}, ["label not printed"]),
        ({"width": MM, "labelled": 0}, ["measured again: width 1", "label not printed"]),
        ({"note": "x", "cost": 3}, ["note, cost"]),
    ],
)  # fmt: skip
def test_each_change_of_a_piece_is_told_in_words(shop: Shop, now: dict[str, object], says: list[str]) -> None:
    assert ledger._change(shop.yard, now, {3: "R2"}) == says
