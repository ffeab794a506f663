"""What holds for every test: no clock judges it, and the planner is compiled once for all of them."""

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

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")


def pytest_sessionstart(session: pytest.Session) -> None:
    """Compile the kernels before the workers begin: each process would else do so for itself."""
    asked = [Path(word.partition("::")[0]).resolve() for word in session.config.args]
    plans = any((HERE / room).is_relative_to(path) for path in asked for room in PLANNERS)
    if plans and not hasattr(session.config, "workerinput") and not kept.is_ready():
        subprocess.run([sys.executable, "-m", "stockyard", "warm-up"], capture_output=True, check=True)
