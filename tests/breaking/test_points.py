"""Commands made to fail, or killed, at their system calls: some points always, every one when slow."""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.breaking.looking import COMMANDS, Point, faults, prepare
from tests.breaking.points import points

pytestmark = pytest.mark.skipif(shutil.which("strace") is None, reason="needs strace")


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The shop that every run begins with."""
    folder = tmp_path_factory.mktemp("template")
    prepare(folder)
    return folder


def look(template: Path, chosen: Sequence[Point]) -> Counter[str]:
    """Try points of one command; return how its runs ended."""
    ends: Counter[str] = Counter()
    for point in chosen:
        assert faults(template, point, ends) == [], point
    return ends


def test_a_restore_broken_off_leaves_a_yard(template: Path) -> None:
    every = list(points(template, "restore"))
    # The old yard gets its name aside by one rename, the new one its own by another.
    renames = [p for p in every if p.call == "rename"]
    assert look(template, [p for p in renames if p.error == "kill"]) == {"killed": 2}
    assert look(template, [p for p in renames if p.error == "EIO"]) == {"exit 1": 2}


@pytest.mark.slow
@pytest.mark.parametrize("command", COMMANDS)
def test_every_point_of_every_command(template: Path, command: str) -> None:
    every = list(points(template, command))
    ends = look(template, every)
    assert len(every) > 20
    # Nearly all of those to be killed are; a thread or a child may make a call now and not then.
    assert ends["killed"] > 0.8 * sum(p.error == "kill" for p in every)
