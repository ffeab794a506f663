"""What holds for every test: no clock and no luck judges it, and the planner is compiled once for all."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import settings

from stockyard.planning import kept

HERE = Path(__file__).parent
PLANNERS = ("planning", "desk")
"""Folders of tests that plan again and again."""

# One tree, one answer: the same examples in every run. New ones: `pytest --hypothesis-profile searching`.
settings.register_profile("repeatable", deadline=None, derandomize=True)
settings.register_profile("searching", deadline=None)
settings.load_profile("repeatable")


def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile the kernels before the workers begin: each process would else do so for itself."""
    asked = [Path(word.partition("::")[0]).resolve() for word in session.config.args]
    plans = any((HERE / room).is_relative_to(path) for path in asked for room in PLANNERS)
    if plans and not hasattr(session.config, "workerinput") and not kept.is_ready():
        subprocess.run([sys.executable, "-m", "stockyard", "warm-up"], capture_output=True, check=True)
