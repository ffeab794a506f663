"""How numbers of copies are written, however many there are."""

from __future__ import annotations

import pytest

from stockyard import wording


@pytest.mark.parametrize(
    ("numbers", "written"),
    [
        ([], ""),
        (["4"], "4"),
        (["3", "1", "2", "7"], "1–3, 7"),
        ([str(n) for n in range(1, 991)], "1–990"),
        (["1", "2a"], "1, 2a"),
    ],
)
def test_copies_are_written_in_runs(numbers: list[str], written: str) -> None:
    assert wording.listed(numbers) == written
