"""The faults that the mutation run puts in are real, small and the same for the same seed."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import CodeType

from tests.bench import faults, reached

TEXT = '''def least(a: int, b: int = 3) -> int:
    """Return the smaller one, at least 1."""
    if a < b and not b == 7:
        raise ValueError("1 + 1")
    return min(a + 2, b)
'''


def test_every_kind_of_fault_is_put_where_it_says(tmp_path: Path) -> None:
    found = faults.candidates(ast.parse(TEXT))
    pairs = {(ast.unparse(node), ast.unparse(new)) for node, _ in found if (new := faults.changed(node))}
    assert pairs == {
        ("a < b and (not b == 7)", "a < b or not b == 7"),
        ("a < b", "a <= b"),
        ("not b == 7", "b == 7"),
        ("b == 7", "b != 7"),
        ("7", "8"),
        ("return min(a + 2, b)", "return None"),
        ("min(a + 2, b)", "max(a + 2, b)"),
        ("a + 2", "a - 2"),
        ("2", "3"),
    }, "what is raised stays as it is"
    module = tmp_path / "least.py"
    module.write_text(TEXT, encoding="utf-8")
    every = [_tried(faults.spoiled(module, index)) for index in range(len(found))]
    assert _tried(compile(TEXT, str(module), "exec")) not in every, "each changes what the function does"
    assert len(set(every)) == len(every) - 1, "'not' left out and '!=' for '==' are one and the same here"


def _tried(code: CodeType) -> tuple[object, ...]:
    """Run the function of TEXT with arguments that tell its faults apart."""
    made: dict[str, Callable[[int, int], object]] = {}
    exec(code, made)
    results: list[object] = []
    for a, b in ((5, 9), (9, 5), (5, 5), (2, 7)):
        try:
            results.append(made["least"](a, b))
        except ValueError as error:
            results.append(str(error))
    return tuple(results)


def test_the_same_seed_draws_the_same_faults() -> None:
    assert faults.draw(40, 5, "handling") == faults.draw(40, 5, "handling")
    assert faults.draw(40, 5, "handling") != faults.draw(40, 6, "handling")


def test_a_fault_knows_the_lines_of_its_statement() -> None:
    """A condition goes to the end of its head, a call over two lines over both of them."""
    text = TEXT.replace("min(a + 2, b)", "min(\n        a + 2, b)")
    found = {ast.unparse(node): lines for node, lines in faults.candidates(ast.parse(text))}
    assert found["a < b"] == (3, 3) and found["a + 2"] == (5, 6)


def test_tests_are_chosen_by_line_and_room_the_quickest_first() -> None:
    lines = {"a.py": {1: frozenset({"tests/x::slow", "tests/x::quick", "tests/y::other"}), 2: frozenset()}}
    seconds = {"tests/x::slow": 9.0, "tests/x::quick": 1.0, "tests/y::other": 0.5}
    known, none = reached.Reached(lines, seconds, Counter(seconds.keys())), Counter[str]()
    assert known.tests(Path("a.py"), [1], ["tests/x"], 5, Counter({"tests/x::slow": 1})) == ["tests/x::slow"]
    assert known.tests(Path("a.py"), [1, 2], ["tests/x"], 60, none) == ["tests/x::quick", "tests/x::slow"]
    assert known.tests(Path("a.py"), [1, 2], ["tests/x"], 5, none) == ["tests/x::quick"]
    assert known.tests(Path("a.py"), [2], ["tests/x"], 60, none) == []
