"""Small faults to put into the code: one operator, number, condition or result of a function is changed.

    python -m tests.bench.faults PATH INDEX PYTEST-ARGUMENT ...

runs tests with one fault in a module from its import on. The same seed draws the same faults.
"""

from __future__ import annotations

import ast
import copy
import gc
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.machinery import SourceFileLoader
from pathlib import Path
from random import Random
from types import CodeType, FunctionType

import pytest

ROOT = Path(__file__).parent.parent.parent

ROOMS: dict[str, tuple[str, str]] = {
    # room: (sources, tests)
    "yard": ("yard/*.py", "tests/yard tests/desk tests/cli tests/page"),
    "cutlist": ("cutlist/*.py", "tests/cutlist tests/cli/test_paste.py"),
    "verify": (
        "planning/verify.py planning/verify_fit.py planning/verify_sawing.py worth.py",
        "tests/test_worth.py tests/planning/test_verify.py tests/planning/test_files.py",
    ),
    "handling": (
        "handling.py measure.py settings.py settings_text.py",
        "tests/test_handling.py tests/test_measure.py tests/yard/test_settings.py",
    ),
    "advice": ("advice/*.py", "tests/advice tests/desk tests/cli tests/page"),
    "printing": (
        "printing/card_text.py printing/pull_text.py printing/step_rows.py printing/saw_safety.py"
        " printing/pull_lines.py printing/part_labels.py printing/tapes.py printing/sheets.py",
        "tests/printing",
    ),
    "desk": ("desk/*.py", "tests/desk tests/cli tests/page"),
}

COMPARES: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.FloorDiv: ast.Mult, ast.Div: ast.Mult,
    ast.Mod: ast.FloorDiv,
}  # fmt: skip
CALLS = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor"}


@dataclass(frozen=True, slots=True)
class Fault:
    """One change: the file, the lines of its statement, which of its nodes, and what was and is there."""

    room: str
    path: Path
    line: int
    statement: tuple[int, int]
    index: int
    was: str
    now: str

    @property
    def name(self) -> str:
        """What it is called in the results."""
        return f"{self.room} {self.path}:{self.line} #{self.index} {self.was[:70]!r} -> {self.now[:70]!r}"


def changed(node: ast.AST) -> ast.AST | None:
    """Return `node` with one small fault, None where this kind of node gets none."""
    new = copy.copy(node)
    match new:
        case ast.Compare(ops=[op]) if type(op) in COMPARES:
            new.ops = [COMPARES[type(op)]()]
        case ast.BinOp(op=op) if type(op) in OPERATORS and not _is_text(new):
            new.op = OPERATORS[type(op)]()
        case ast.BoolOp(op=ast.And()):
            new.op = ast.Or()
        case ast.BoolOp(op=ast.Or()):
            new.op = ast.And()
        case ast.UnaryOp(op=ast.Not()):
            return new.operand
        case ast.Constant(value=bool() as value):
            new.value = not value
        case ast.Constant(value=int() as value):
            new.value = value + 1
        case ast.Call(func=ast.Name(id=name)) if name in CALLS:
            new.func = ast.Name(CALLS[name], ast.Load())
        case ast.Return(value=value) if value is not None and not isinstance(value, ast.Constant):
            new.value = ast.Constant(None)
        case ast.Expr(value=ast.Call()):
            return ast.Pass()
        case _:
            return None
    return new


def _is_text(node: ast.BinOp) -> bool:
    """Whether an operation looks like one on texts or types: those only end in an error."""
    texts = (ast.JoinedStr, ast.List, ast.Tuple)
    sides = (node.left, node.right)
    return any(
        isinstance(s, texts) or (isinstance(s, ast.Constant) and isinstance(s.value, str)) for s in sides
    )


def candidates(tree: ast.Module) -> list[tuple[ast.AST, tuple[int, int]]]:
    """Return the nodes inside functions that a fault may be put into, in the order of the text, each with the
    first and last line of its statement.
    """
    found: dict[int, tuple[ast.AST, tuple[int, int]]] = {}
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            for statement in function.body:
                for node, lines in _below(statement, (0, 0)):
                    if changed(node) is not None:
                        found[id(node)] = node, lines
    return sorted(found.values(), key=lambda n: (n[0].lineno, n[0].col_offset, type(n[0]).__name__))  # type: ignore[attr-defined]


def _below(node: ast.AST, lines: tuple[int, int]) -> Iterator[tuple[ast.AST, tuple[int, int]]]:
    """Yield what is below `node`, but no annotation, no raised text and no text that is only read."""
    if isinstance(node, ast.stmt):
        body = getattr(node, "body", None)
        last = body[0].lineno - 1 if body else node.end_lineno or node.lineno
        lines = node.lineno, max(node.lineno, last)
    yield node, lines
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "exc", "args_defaults"):
            continue
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not isinstance(child, ast.JoinedStr):
                yield from _below(child, lines)


def draw(sample: int, seed: int, only: str | None = None) -> list[Fault]:
    """Return `sample` faults, spread over the rooms by how many each could have."""
    every: list[Fault] = []
    for room, (sources, _) in ROOMS.items():
        if only in (None, room):
            for pattern in sources.split():
                for path in sorted((ROOT / "stockyard").glob(pattern)):
                    every += _faults(room, path)
    return Random(seed).sample(every, min(sample, len(every)))


def _faults(room: str, path: Path) -> Iterator[Fault]:
    short = path.relative_to(ROOT)
    for index, (node, lines) in enumerate(candidates(ast.parse(path.read_text(encoding="utf-8")))):
        new = changed(node)
        assert new is not None
        yield Fault(room, short, node.lineno, lines, index, ast.unparse(node), ast.unparse(new))  # type: ignore[attr-defined]


class _Put(ast.NodeTransformer):
    def __init__(self, target: ast.AST, new: ast.AST) -> None:
        self.target, self.new = target, new

    def visit(self, node: ast.AST) -> ast.AST:
        return ast.copy_location(self.new, node) if node is self.target else super().generic_visit(node)


def spoiled(path: Path, index: int) -> CodeType:
    """Return a module compiled with the fault of that index in it; all lines stay where they are."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    node, _ = candidates(tree)[index]
    new = changed(node)
    assert new is not None
    _Put(node, new).visit(tree)
    return compile(ast.fix_missing_locations(tree), str(path), "exec")


def codes(code: CodeType) -> Iterator[CodeType]:
    """Yield a compiled module or function and all functions in it."""
    yield code
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            yield from codes(inner)


def functions() -> dict[str, list[FunctionType]]:
    """Return all functions that this process has now, by the file they were written in."""
    found: defaultdict[str, list[FunctionType]] = defaultdict(list)
    for function in gc.get_objects():
        if isinstance(function, FunctionType):
            found[function.__code__.co_filename].append(function)
    return dict(found)


def put(path: Path, index: int, among: dict[str, list[FunctionType]]) -> None:
    """Put a fault into the functions of a module that this process has imported.

    Raises:
        ValueError: it cannot be done behind the import: nothing would change, or a closure does not fit.
    """
    new = {(c.co_qualname, c.co_firstlineno): c for c in codes(spoiled(path, index))}
    done = False
    for function in among.get(str(path), ()):
        code = new[function.__code__.co_qualname, function.__code__.co_firstlineno]
        if code != function.__code__:
            function.__code__, done = code, True
    if not done:
        raise ValueError(f"no function of {path} holds the fault")


def main() -> None:
    """Run pytest with a fault in a module as it is imported."""
    path, index, asked = Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3:]
    whole = SourceFileLoader.get_code

    def get_code(self: SourceFileLoader, fullname: str) -> CodeType | None:
        return spoiled(path, index) if Path(self.path) == path else whole(self, fullname)

    SourceFileLoader.get_code = get_code  # type: ignore[assignment,method-assign]
    sys.exit(pytest.main(asked))


if __name__ == "__main__":
    main()
