"""What holds for every test: no clock and no luck judges it, and what is dear is made once for all."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import typer.testing
from hypothesis import settings

from stockyard.planning import kept
from stockyard.yard import schema

HERE = Path(__file__).parent
CONNECT = sqlite3.connect
PLANNERS = ("planning", "desk", "page", "cli")
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


@pytest.fixture(autouse=True, scope="session")
def made_once() -> None:
    """Make the empty yard and the tree of commands once a process: a second copy is the same.

    Nor is a disk waited for (`on_disk` does): the power fails in those processes that tests begin.
    """
    sqlite3.connect = _unsynced(CONNECT)
    schema.upgrade = _copied(schema.upgrade)
    typer.testing._get_command = cache(typer.main.get_command)


@pytest.fixture
def on_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wait for the disk as the program does: for tests of what it does when the disk fails."""
    monkeypatch.setattr(sqlite3, "connect", CONNECT)


def _unsynced(connect: Callable[..., sqlite3.Connection]) -> Callable[..., sqlite3.Connection]:
    """Return what connects as `connect` does, but leaves it to the system when a file is on the disk."""

    def connected(*words: Any, **ways: Any) -> sqlite3.Connection:
        made = connect(*words, **ways)
        with suppress(sqlite3.Error):  # no database: who asked will be told
            made.execute("PRAGMA synchronous = OFF")
        return made

    return connected


def _copied(upgrade: Callable[..., None]) -> Callable[..., None]:
    """Return what copies the steps of the schema into an empty file, and does all else as `upgrade`."""

    @cache
    def pattern(_: tuple[schema.Step, ...], last: int | None) -> sqlite3.Connection:
        made = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
        made.execute("BEGIN")
        upgrade(made, lambda _: None, last)
        made.execute("COMMIT")
        return made

    def copied(
        connection: sqlite3.Connection, open_deed: Callable[[str], object], last: int | None = None
    ) -> None:
        if schema.version(connection) or not connection.in_transaction:
            return upgrade(connection, open_deed, last)
        connection.execute("ROLLBACK")
        pattern(schema.steps(), last).backup(connection)
        connection.execute("BEGIN IMMEDIATE")
        return None

    return copied
