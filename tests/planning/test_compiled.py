"""Compiled code that is older than the sources it was made from is not used again."""

from __future__ import annotations

import ast
import pkgutil
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

from stockyard import planning
from stockyard.planning import kept
from stockyard.planning.compiled import COMPILED
from stockyard.planning.hunting.solve import solve
from stockyard.planning.hunting.warm_up import compile_all
from stockyard.planning.limits import Limits
from tests.planning.jobs import DATA, bars, published, rack
from tests.test_house import imports_of


@pytest.mark.skipif(not COMPILED, reason="there is nothing to compile")
def test_the_name_of_kept_code_covers_all_that_kernels_are_made_of() -> None:
    """A kernel's own module and those it takes constants from are part of the fingerprint."""
    here = Path(planning.__file__).parent
    for name in {name.rpartition(".")[0] for name, _ in kernels()}:
        names = imports_of(ast.parse(Path(str(import_module(name).__file__)).read_text()))
        for used in {name, *names}:
            path = here.joinpath(*used.split(".")[2:]).with_suffix(".py")
            if used.startswith("stockyard.planning.") and path.exists() and path.parent.name in kept.ROOMS:
                continue
            constants = used in names and path.exists() and used.startswith("stockyard.planning.")
            plain = {"tidy.py", "tree.py", "columns.py", "covering.py", "path.py"}  # called, never compiled
            assert not constants or path.name in {*kept.MODULES, *plain}, (name, used)


def kernels() -> Iterator[tuple[str, int]]:
    """Yield each kernel with the number of ways it is compiled for."""
    for module in pkgutil.walk_packages(planning.__path__, f"{planning.__name__}."):
        for name, value in vars(import_module(module.name)).items():
            if hasattr(value, "nopython_signatures"):
                yield f"{module.name}.{name}", len(value.nopython_signatures)


def compiled_late() -> list[str]:
    """Return the kernels that a plan of sheets, of boards and of a rack has to compile after all."""
    compile_all()
    ready = dict(kernels())
    assert len(ready) > 20
    boards = [c for c in published("bin_packing.json") if c["name"].startswith(("Hard28", "Falkenauer"))]
    models = [rack(1, 30), *(bars(c["length"], c["items"]) for c in boards[:2])]
    for model in models:
        solve(model.problem, limits=Limits(seconds=4))
    return [name for name, ways in kernels() if ways > ready[name]]


@pytest.mark.slow
@pytest.mark.skipif(not COMPILED, reason="there is nothing to compile")
def test_nothing_is_compiled_while_a_plan_is_sought() -> None:
    """An array that lies otherwise in memory would be enough; in a process of its own."""
    code = f"from {__name__} import compiled_late; print(compiled_late())"
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=DATA.parent.parent, capture_output=True, text=True, check=True
    )
    assert ran.stdout.strip() == "[]"
