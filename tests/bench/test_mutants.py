"""The faults that the mutation run puts in are real, small and the same for the same seed."""

from __future__ import annotations

import ast

from tests.bench import mutants

TEXT = '''def least(a: int, b: int = 3) -> int:
    """Return the smaller one, at least 1."""
    if a < b and not b == 7:
        raise ValueError("1 + 1")
    return min(a + 2, b)
'''


def test_every_kind_of_fault_is_put_where_it_says() -> None:
    nodes = mutants.candidates(ast.parse(TEXT))
    bodies = {mutants.spoiled(TEXT, i) for i in range(len(nodes))}
    for part in (
        "a <= b",
        "a < b or",
        "b != 7",
        "b == 8",
        "min(a - 2, b)",
        "a + 3",
        "max(a + 2",
        "return None",
    ):
        assert any(part in body for body in bodies), part
    assert len(bodies) == len(nodes) and all("raise ValueError('1 + 1')" in body for body in bodies)


def test_the_same_seed_draws_the_same_faults() -> None:
    assert mutants.draw(40, 5, "handling") == mutants.draw(40, 5, "handling")
    assert mutants.draw(40, 5, "handling") != mutants.draw(40, 6, "handling")
