"""Small faults put into the code one at a time: how many of them do the tests of their room find?

    python -m tests.bench.reached REACHED tests/yard ...     # once a folder of tests
    python -m tests.bench.mutants REACHED OUT [--sample 300] [--seed 1] [--part 1/1] [--rooms ...]

A fault changes one operator, number, condition or result of a function. The same seed draws the same
faults. Each is put into a copy of the tree, where those quick tests of its room are run that reach its line,
up to the first that fails. A fault that ends in a time-out counts as found; one that no test reaches is not.
Results are added to the file OUT, a line each, and the copies lie beside it; a run goes on where the one
before it stopped, and several may go on side by side, each with its part. A survivor is either a gap in the
tests or a change that changes nothing.
"""

from __future__ import annotations

import argparse
import ast
import compileall
import copy
import importlib
import os
import resource
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from random import Random
from signal import SIGKILL
from time import monotonic, sleep

import pytest

from tests.bench.reached import Reached, load

ROOT = Path(__file__).parent.parent.parent
# Tests of one fault: as many as took this long together, and how many times that of a processor's time they
# may take; the clock ends only what waits for ever.
MOST, PATIENCE, WAITS = 30.0, 10, 400.0
# What takes long to import and is none of ours.
HEAVY = (
    "hypothesis", "typer.testing", "reportlab.pdfgen.canvas", "openpyxl", "pypdf", "pdfplumber", "pypdfium2",
    "PIL.Image", "zxingcpp", "numba", "ortools.sat.python.cp_model", "sqlite_utils", "segno", "ezdxf",
)  # fmt: skip

ROOMS: dict[str, tuple[str, str]] = {
    # room: (sources, tests)
    "yard": ("yard/*.py", "tests/yard tests/desk tests/cli"),
    "cutlist": ("cutlist/*.py", "tests/cutlist tests/cli/test_paste.py"),
    "verify": (
        "planning/verify.py worth.py",
        "tests/test_worth.py tests/planning/test_verify.py tests/planning/test_files.py",
    ),
    "handling": (
        "handling.py measure.py settings.py",
        "tests/test_handling.py tests/test_measure.py tests/yard/test_settings.py",
    ),
    "advice": ("advice/*.py", "tests/advice tests/desk"),
    "printing": (
        "printing/card_text.py printing/pull_text.py printing/step_rows.py printing/saw_safety.py"
        " printing/pull_lines.py printing/part_labels.py printing/tapes.py printing/sheets.py",
        "tests/printing",
    ),
    "desk": ("desk/*.py", "tests/desk tests/cli"),
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


def spoiled(text: str, index: int) -> str:
    """Return a module's text with the fault of that index in it."""
    tree = ast.parse(text)
    node, _ = candidates(tree)[index]
    new = changed(node)
    assert new is not None
    return ast.unparse(ast.fix_missing_locations(_Put(node, new).visit(tree)))


def is_found(fault: Fault, tree: Path, reached: Reached) -> bool:
    """Whether a test of the room fails, or does not end, with the fault in the copy at `tree`."""
    first, last = fault.statement
    tests = reached.tests(fault.path, range(first, last + 1), ROOMS[fault.room][1].split(), MOST)
    if not tests:
        return False
    path = tree / fault.path
    text, was = path.read_text(encoding="utf-8"), path.stat()
    path.write_text(spoiled(text, fault.index), encoding="utf-8")
    try:
        code = _tested(tree, tests, PATIENCE * (3 + sum(reached.seconds[t] for t in tests)))
    finally:
        path.write_text(text, encoding="utf-8")
        os.utime(path, ns=(was.st_atime_ns, was.st_mtime_ns))  # its compiled form is right again
    if code == pytest.ExitCode.USAGE_ERROR:
        raise RuntimeError(f"the tests cannot be run, recorded in another tree perhaps: {tests[:3]}")
    return code != pytest.ExitCode.OK


def sound(faults: list[Fault], reached: Reached, tree: Path) -> None:
    """See that the tests of some faults pass while no fault is there, else each would count as found."""
    for fault in faults[:: max(1, len(faults) // 5)]:
        lines = range(fault.statement[0], fault.statement[1] + 1)
        tests = reached.tests(fault.path, lines, ROOMS[fault.room][1].split(), 5.0)
        if tests and _tested(tree, tests, PATIENCE * 10.0) != pytest.ExitCode.OK:
            raise RuntimeError(f"these fail without a fault: {tests[:3]}")


def _tested(tree: Path, tests: list[str], seconds: float) -> int | None:
    """Run tests in a copy of this process, which has what is slow to import; return how they ended."""
    child = os.fork()
    if not child:
        os.setsid()
        resource.setrlimit(resource.RLIMIT_CPU, (round(seconds), round(seconds)))
        nowhere = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nowhere, stream)
        os.chdir(tree)
        sys.path.insert(0, str(tree))
        for name in [n for n in sys.modules if n.partition(".")[0] in ("tests", "stockyard")]:
            del sys.modules[name]
        os.environ["PYTHONPATH"] = str(tree)
        # What is imported before is not made anew for pytest, and it warns of that.
        calm = ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
        os._exit(pytest.main(["-x", "-q", "-n", "0", "-p", "no:cacheprovider", *calm, *tests]))
    until = monotonic() + WAITS
    try:
        while monotonic() < until:
            ended, status = os.waitpid(child, os.WNOHANG)
            if ended:
                return os.waitstatus_to_exitcode(status)
            sleep(0.02)
        return None
    finally:
        with suppress(ProcessLookupError):
            os.killpg(child, SIGKILL)


def copied(tree: Path) -> None:
    """Make a copy of the tree to put faults into, compiled so far as that goes, or bring it up to date."""
    unwanted = shutil.ignore_patterns(".git", ".venv", "*_cache", "__pycache__")
    shutil.copytree(ROOT, tree, ignore=unwanted, dirs_exist_ok=True)
    compileall.compile_dir(tree / "stockyard", quiet=1)
    at = os.environ | {"PYTHONPATH": str(tree)}
    ready = "import sys; from stockyard.planning import kept; sys.exit(kept.is_ready())"
    if not subprocess.run([sys.executable, "-c", ready], cwd=tree, env=at).returncode:
        subprocess.run([sys.executable, "-m", "stockyard", "warm-up"], cwd=tree, env=at, check=True)
    for name in HEAVY:
        with suppress(ImportError):
            importlib.import_module(name)


def run(faults: list[Fault], reached: Reached, out: Path, tree: Path, until: float) -> None:
    """Try every fault that is not yet in `out`; add each result as it comes."""
    known = dict(results(out))
    copied(tree)
    sound(faults, reached, tree)
    for fault in faults:
        if fault.name in known or monotonic() > until:
            continue
        found = is_found(fault, tree, reached)
        with out.open("a", encoding="utf-8") as file:
            file.write(f"{'found   ' if found else 'SURVIVES'} {fault.name}\n")


def results(out: Path) -> Iterator[tuple[str, bool]]:
    """Yield the names of the faults tried so far, and whether each was found."""
    for line in out.read_text(encoding="utf-8").splitlines() if out.exists() else ():
        mark, _, name = line.partition(" ")
        yield name.strip(), mark == "found"


def main() -> None:
    """Draw faults, try them, and print how many were found, room by room."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("reached", type=Path)
    asked.add_argument("out", type=Path)
    asked.add_argument("--sample", type=int, default=300)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--part", default="1/1")
    asked.add_argument("--rooms", nargs="*", choices=list(ROOMS), default=list(ROOMS))
    asked.add_argument("--seconds", type=float, default=480.0)
    given = asked.parse_args()
    until = monotonic() + given.seconds
    faults = [f for f in draw(given.sample, given.seed) if f.room in given.rooms]
    part, parts = map(int, given.part.split("/"))
    tree = given.out.absolute().with_suffix(f".tree{part}")
    run(faults[part - 1 :: parts], load(given.reached), given.out, tree, until)
    known = dict(results(given.out))
    tried = [f for f in faults if f.name in known]
    for fault in tried:
        if not known[fault.name]:
            print("SURVIVES", fault.name)
    total, found = Counter(f.room for f in tried), Counter(f.room for f in tried if known[f.name])
    for room, number in total.items():
        print(f"{room:10} {found[room]:4} of {number:4} found")
    left = len(faults) - len(tried)
    print(f"{'all':10} {sum(found.values()):4} of {len(tried):4} found, {left} not tried yet")


if __name__ == "__main__":
    main()
