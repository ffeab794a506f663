"""Compiled code that is older than the sources it was made from is not used again."""

from __future__ import annotations

import os
from pathlib import Path

from stockyard.planning.compiled import drop_stale


def test_only_what_is_older_than_the_sources_goes(tmp_path: Path) -> None:
    cache = tmp_path / "__pycache__"
    cache.mkdir()
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
