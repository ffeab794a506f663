"""Commands made to fail, or killed, at their system calls: some points always, every one when slow."""

from __future__ import annotations

import shutil
from collections import Counter
from pathlib import Path

import pytest

from tests.breaking.looking import COMMANDS, faults, prepare
from tests.breaking.points import points

pytestmark = pytest.mark.skipif(shutil.which("strace") is None, reason="needs strace")


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shop that every run begins with."""
    folder = tmp_path_factory.mktemp("template")
    prepare(folder)
    return folder


def look(template: Path, command: str, stride: int, most: int) -> None:
    ends: Counter[str] = Counter()
    every = list(points(template, command))
    assert len(every) > 20
    for point in every[stride // 2 :: stride][:most]:
        assert faults(template, point, ends) == [], point
    assert ends["killed"] + ends["exit 1"] + ends["exit 2"] > 0


def test_a_restore_broken_off_leaves_a_yard(template: Path) -> None:
    look(template, "restore", 17, 6)


@pytest.mark.slow
@pytest.mark.parametrize("command", COMMANDS)
def test_every_point_of_every_command(template: Path, command: str) -> None:
    look(template, command, 1, 10_000)
