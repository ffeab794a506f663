"""The faults that the mutation run puts in are real, small and the same for the same seed."""

from __future__ import annotations

import ast
from pathlib import Path

from tests.bench import mutants, reached

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


def test_a_fault_knows_the_lines_of_its_statement() -> None:
    """A condition goes to the end of its head, a call over two lines over both of them."""
    text = TEXT.replace("min(a + 2, b)", "min(\n        a + 2, b)")
    found = {ast.unparse(node): lines for node, lines in mutants.candidates(ast.parse(text))}
    assert found["a < b"] == (3, 3) and found["a + 2"] == (5, 6)


def test_tests_are_chosen_by_line_and_room_the_quickest_first() -> None:
    lines = {"a.py": {1: frozenset({"tests/x::slow", "tests/x::quick", "tests/y::other"}), 2: frozenset()}}
    known = reached.Reached(lines, {"tests/x::slow": 9.0, "tests/x::quick": 1.0, "tests/y::other": 0.5})
    assert known.tests(Path("a.py"), [1, 2], ["tests/x"], 60) == ["tests/x::quick", "tests/x::slow"]
    assert known.tests(Path("a.py"), [1, 2], ["tests/x"], 5) == ["tests/x::quick"]
    assert known.tests(Path("a.py"), [2], ["tests/x"], 60) == []
