"""Killed at any moment, the yard is exactly as it was before the command, or after it."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.yard import cutting
from stockyard.yard.check import check
from tests.yard.shop import make_shop, plan_for, whole
from tests.yard.worker import in_child, killed_after, work


def kill_runs(path: Path, runs: int, seed: int) -> tuple[int, int]:
    """Kill random work again and again on one yard; return how often, and the deeds done."""
    make_shop(path).yard.close()
    r = random.Random(seed)
    killed = 0
    for n in range(runs):
        killed += killed_after(partial(work, path, seed * 1_000_003 + n, 10_000), r.uniform(0.002, 0.2))
        with yard.open(path) as y:
            assert check(y) == (), f"run {n}"
            deeds = y.one("SELECT max(id) FROM deed")
    return killed, deeds


def test_work_killed_at_random_moments(tmp_path: Path) -> None:
    killed, deeds = kill_runs(tmp_path / "yard.db", 8, 1)
    assert killed == 8
    assert deeds > 8


@pytest.mark.slow
def test_work_killed_five_hundred_times(tmp_path: Path) -> None:
    for lot in range(10):
        killed, _ = kill_runs(tmp_path / f"{lot}.db", 50, lot)
        assert killed == 50


@pytest.fixture
def planned(tmp_path: Path) -> tuple[Path, str]:
    """A yard in which a sheet is planned, closed with its log folded in, and the sheet's tag."""
    shop = make_shop(tmp_path / "before.db")
    plan_for(shop, shop.sheets[0])
    shop.yard.close()
    return tmp_path / "before.db", shop.sheets[0].tag


def cut_until(path: Path, tag: str, statement: int) -> None:
    """Cut the piece, and be killed just before that statement of the deed runs."""
    seen = 0

    def look(_: str) -> None:
        nonlocal seen
        seen += 1
        if seen == statement:
            os.kill(os.getpid(), signal.SIGKILL)

    with yard.open(path) as y:
        y.connection.set_trace_callback(look)
        cutting.confirm_cut(y, tag)


def contents(path: Path) -> object:
    with yard.open(path) as y:
        assert check(y) == ()
        return {t: [row for row in rows if t != "deed"] for t, rows in whole(y).items()}


@pytest.mark.parametrize("stride", [11, pytest.param(1, marks=pytest.mark.slow)])
def test_the_cut_killed_at_its_statements(planned: tuple[Path, str], tmp_path: Path, stride: int) -> None:
    """At every statement (stride 1), those of the triggers counted too."""
    before_path, tag = planned
    before = contents(before_path)
    outcomes = []
    for statement in range(1, 2000, stride):
        path = tmp_path / "killed.db"
        shutil.copy(before_path, path)
        child = in_child(partial(cut_until, path, tag, statement))
        child.join()
        with closing(sqlite3.connect(path)) as db:
            deeds = db.execute("SELECT count(*) FROM deed WHERE what = 'cut'").fetchone()[0]
        assert deeds or contents(path) == before, statement
        outcomes.append(child.exitcode == -signal.SIGKILL)
        for end in ("", "-wal", "-shm"):
            path.with_name(path.name + end).unlink(missing_ok=True)
        if not outcomes[-1]:
            break
    assert len(outcomes) * stride > 60
    assert not outcomes[-1]


CUT = """
import os, sys
from pathlib import Path
from stockyard import yard
from stockyard.yard import cutting
with yard.open(Path(sys.argv[1]), clock=lambda: "2026-04-01T00:00:00Z") as y:
    os.environ["STOP_AT_WRITE"] = sys.argv[3]
    cutting.confirm_cut(y, sys.argv[2])
    y.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
"""


@pytest.fixture(scope="module")
def layer(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file layer that stops at a write, compiled."""
    library = tmp_path_factory.mktemp("layer") / "stop_at_write.so"
    source = Path(__file__).with_name("stop_at_write.c")
    if sys.platform != "linux" or shutil.which("gcc") is None:
        pytest.skip("needs Linux and gcc")
    subprocess.run(["gcc", "-shared", "-fPIC", "-O1", "-o", library, source, "-ldl"], check=True)
    return library


def cut_through_layer(layer: Path, before: Path, tag: str, folder: Path, at: int, half: bool) -> bool:
    """Cut with a file layer that stops at write `at`; check what is left; return whether it stopped."""
    path = folder / "killed.db"
    shutil.copy(before, path)
    env = os.environ | {"LD_PRELOAD": str(layer), "PYTHONPATH": os.pathsep.join(sys.path)}
    if not half:
        env["STOP_WHOLE"] = "1"
    done = subprocess.run([sys.executable, "-c", CUT, str(path), tag, str(at)], env=env, check=False, cwd="/")
    assert done.returncode in (0, -signal.SIGKILL)
    with yard.open(path) as y:
        assert check(y) == ()
        is_cut = y.one("SELECT state FROM piece WHERE tag = ?", (tag,)) == "cut"
        assert is_cut == bool(y.one("SELECT count(*) FROM deed WHERE what = 'cut'"))
        assert is_cut or done.returncode
    for end in ("", "-wal", "-shm"):
        path.with_name(path.name + end).unlink(missing_ok=True)
    return done.returncode != 0


@pytest.mark.parametrize("at", [1, 3, 10])
def test_the_cut_stopped_in_the_middle_of_a_write(
    layer: Path, planned: tuple[Path, str], tmp_path: Path, at: int
) -> None:
    assert cut_through_layer(layer, *planned, tmp_path, at, half=True)


@pytest.mark.slow
def test_the_cut_stopped_at_every_write(layer: Path, planned: tuple[Path, str], tmp_path: Path) -> None:
    for half in (True, False):
        at = 1
        while cut_through_layer(layer, *planned, tmp_path, at, half):
            at += 1
        assert at > 20
