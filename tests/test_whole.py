"""Files that belong together: where one fails all stay as before; a kill never leaves some of each."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from stockyard.errors import BadInput
from stockyard.whole import DRAFT, write_set

NAMES = ("sheet 1.dxf", "sheet 2.dxf", "sheet 3.dxf")
NEW = [(name, f"now {name}".encode()) for name in NAMES]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with two of three files from before, and one of another's."""
    for name in (*NAMES[:2], "notes.txt"):
        (tmp_path / name).write_bytes(b"before")
    return tmp_path


def held(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.endswith(DRAFT)}


def failing(monkeypatch: pytest.MonkeyPatch, at: int, how: type[BaseException]) -> None:
    """Have the rename of this number fail so; those after it do what they should."""
    real, made = Path.rename, iter(range(1, 100))

    def rename(self: Path, target: Path) -> Path:
        if next(made) == at:
            raise how("no more")
        return real(self, target)

    monkeypatch.setattr(Path, "rename", rename)


KILLED = """
import os, signal, sys
from pathlib import Path
from stockyard.whole import write_set

real, left = Path.rename, iter(range(int(sys.argv[1]) - 1))
def rename(self, target):
    if next(left, None) is None:
        os.kill(os.getpid(), signal.SIGKILL)
    return real(self, target)

Path.rename = rename
write_set(Path(sys.argv[2]), [(name, f"now {name}".encode()) for name in sys.argv[3:]])
"""


@pytest.mark.parametrize("at", range(1, 6))
@pytest.mark.parametrize("how", [OSError, KeyboardInterrupt])
def test_what_fails_leaves_the_files_of_before(
    folder: Path, monkeypatch: pytest.MonkeyPatch, at: int, how: type[BaseException]
) -> None:
    """Two files are set aside and three put in their place: whichever of these five renames fails."""
    before = held(folder)
    failing(monkeypatch, at, how)
    with pytest.raises(BadInput if how is OSError else how):
        write_set(folder, NEW)
    assert held(folder) == before and len(list(folder.iterdir())) == 3


@pytest.mark.skipif(sys.platform == "win32", reason="the system has no such signal")
@pytest.mark.parametrize("at", range(1, 7))
def test_what_is_killed_never_leaves_files_of_two_kinds(folder: Path, at: int) -> None:
    """The sixth rename does not come: all is written. What a kill left aside does not hinder the next."""
    words = [sys.executable, "-P", "-c", KILLED, str(at), str(folder), *NAMES]
    done = subprocess.run(words, env={"PYTHONPATH": os.pathsep.join(sys.path)}, check=False)
    assert done.returncode == (0 if at == 6 else -signal.SIGKILL)
    found = held(folder)
    assert found.pop("notes.txt") == b"before"
    assert set(found.values()) <= {b"before"} or found.items() <= dict(NEW).items()
    write_set(folder, NEW)
    assert held(folder) == dict(NEW) | {"notes.txt": b"before"}


def test_a_name_that_holds_no_file_spoils_nothing(folder: Path) -> None:
    (folder / NAMES[2]).mkdir()
    with pytest.raises(BadInput, match=r"sheet 3.dxf: it is not a plain file"):
        write_set(folder, NEW)
    assert (folder / NAMES[0]).read_bytes() == b"before"
    assert not list(folder.glob(f"*{DRAFT}"))
