"""Compiled code that is older than the sources it was made from is not used again."""

from __future__ import annotations

import os
import pkgutil
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

from stockyard import planning
from stockyard.planning.compiled import COMPILED, drop_stale
from stockyard.planning.hunting.solve import solve
from stockyard.planning.hunting.warm_up import compile_all
from stockyard.planning.limits import Limits
from tests.planning.jobs import DATA, bars, published, rack


def test_only_what_is_older_than_the_sources_goes(tmp_path: Path) -> None:
    cache = tmp_path / "room" / "__pycache__"
    cache.mkdir(parents=True)
    times = {"one.py": 100, "two.py": 200}
    kept = {"one.x.1.nbc": 150, "one.x.nbi": 250, "one.pyc": 50}
    for name, when in times.items():
        (tmp_path / name).touch()
        os.utime(tmp_path / name, (when, when))
    for name, when in kept.items():
        (cache / name).touch()
        os.utime(cache / name, (when, when))
    drop_stale(tmp_path)
    assert sorted(f.name for f in cache.iterdir()) == ["one.pyc", "one.x.nbi"]


def test_a_folder_without_a_cache_is_left_alone(tmp_path: Path) -> None:
    drop_stale(tmp_path)
    assert not list(tmp_path.iterdir())


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
