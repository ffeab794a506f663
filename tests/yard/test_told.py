"""What a person is told when a record that is to be built does not hold."""

from __future__ import annotations

import pytest

from stockyard.yard.building import told


@pytest.mark.parametrize(
    ("found", "said"),
    [(1, "a0"), (3, "a0; a1; a2"), (4, "a0; a1; a2; and 1 more"), (9, "a0; a1; a2; and 6 more")],
)
def test_the_first_three_faults_are_named_and_the_others_counted(found: int, said: str) -> None:
    assert told([f"a{n}" for n in range(found)]) == said
