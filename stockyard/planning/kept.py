"""Where compiled code is kept, and whether it may be loaded: whole, our own, made of this source.

Loading compiled code runs it, so a folder that others can write is not used at all, and a file that is not
as it was sealed is thrown away. Nothing here imports numba.
"""

from __future__ import annotations

import json
import os
import shutil
import stat
import sys
from contextlib import suppress
from functools import cache
from hashlib import sha256
from pathlib import Path
from time import time

# The modules that kernels and the constants compiled into them are written in.
ROOMS, MODULES = (
    ("recreate", "tables", "placing", "boards"),
    ("compiled.py", "model.py", "packed.py", "problem.py"),
)
# Set to anything, it makes the kernels run as plain Python.
INTERPRET = "STOCKYARD_INTERPRET"
SEAL = "sealed.json"
# Days after which compiled code of other sources, not used since, is thrown away.
STALE = 60
DAY = 86_400
# Seconds after which what was not sealed is taken for left behind by a process that has died.
LEFT = 90


def user_folder() -> Path:
    """Return where this program keeps what it can make again: STOCKYARD_CACHE, or the user's cache folder."""
    named = os.environ.get("STOCKYARD_CACHE")
    if named:
        return Path(named)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home()) / "stockyard" / "cache"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "stockyard"
    base = Path(os.environ.get("XDG_CACHE_HOME", ""))
    return (base if base.is_absolute() else Path.home() / ".cache") / "stockyard"


@cache
def fingerprint() -> str:
    """Return a name for the source of the kernels and where it lies."""
    here = Path(__file__).resolve().parent
    all_of = sha256(os.fsencode(here))
    files = [f for room in ROOMS for f in sorted((here / room).glob("*.py"))]
    for file in [*files, *(here / name for name in MODULES)]:
        all_of.update(f"{file.name}:{file.stat().st_size}:".encode() + file.read_bytes())
    return all_of.hexdigest()[:16]


def folder() -> Path:
    """Return the folder of compiled code made of this source, which may not be there."""
    return user_folder() / f"kernels-{fingerprint()}"


def opened() -> Path | None:
    """Return the folder to keep compiled code in, made if need be and emptied of what may not be loaded.

    None when there is none that only we can write, or another process is filling it.
    """
    place = folder()
    try:
        if not _is_own(place):
            place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            place.mkdir(exist_ok=True, mode=0o700)
            _drop_stale(place)
        if not (_is_own(place) and _is_own(place.parent)):
            return None
        if is_sealed(place) or not _written(place):
            return place
        if time() - _written(place) < LEFT:  # somebody is at it
            return None
        _empty(place)
    except (OSError, RuntimeError):  # it can not be written, or there is no home
        return None
    return place


def is_ready() -> bool:
    """Whether compiled code of this source is there and may be loaded."""
    with suppress(OSError, RuntimeError):
        place = folder()
        return _is_own(place) and _is_own(place.parent) and is_sealed(place)
    return False


def is_busy() -> bool:
    """Whether another process seems to be filling the folder, or was just begun for that."""
    with suppress(OSError, RuntimeError):
        begun = _begun()
        last = max(_written(folder()), begun.stat().st_mtime if _is_own(begun) else 0.0)
        return time() - last < LEFT and not is_ready()
    return False


def begin() -> bool:
    """Say that a process is about to fill the folder; False when another is, or where it can not be said."""
    with suppress(OSError, RuntimeError):
        if is_busy():
            return False
        begun = _begun()
        begun.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        begun.unlink(missing_ok=True)
        begun.touch(mode=0o600, exist_ok=False)
        return True
    return False


def _begun() -> Path:
    return folder().with_suffix(".begun")


def seal(place: Path) -> None:
    """Write down what the folder holds now, if that is not what was sealed."""
    if not _written(place) or is_sealed(place):
        return
    text = json.dumps(_contents(place), indent=0)
    draft = place / f"{SEAL}.{os.getpid()}"
    draft.write_text(text, encoding="utf-8")
    draft.replace(place / SEAL)


def is_sealed(place: Path) -> bool:
    """Whether the folder holds what was sealed, to the byte, and it all belongs to us."""
    try:
        sealed = json.loads((place / SEAL).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    files = [place, *place.rglob("*")]
    return bool(sealed) and all(_is_own(f) for f in files) and sealed == _contents(place)


def _written(place: Path) -> float:
    """Return when compiled code was last written, 0 if there is none."""
    return max((f.stat().st_mtime for f in place.rglob("*.nb?")), default=0.0)


def _contents(place: Path) -> dict[str, str]:
    """Return each file of compiled code with a digest of it."""
    files = (f for f in sorted(place.rglob("*.nb?")) if f.is_file())
    return {f.relative_to(place).as_posix(): sha256(f.read_bytes()).hexdigest() for f in files}


def _is_own(path: Path) -> bool:
    """Whether a file or folder is there, no link, ours, and not to be written by others."""
    try:
        found = path.lstat()
    except FileNotFoundError:
        return False
    if sys.platform == "win32":  # a user's folder belongs to the user there
        return not stat.S_ISLNK(found.st_mode)
    ours = found.st_uid == os.geteuid() and not found.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
    return ours and (stat.S_ISDIR(found.st_mode) or stat.S_ISREG(found.st_mode))


def _empty(place: Path) -> None:
    for inside in place.iterdir():
        if inside.is_dir() and not inside.is_symlink():
            shutil.rmtree(inside)
        else:
            inside.unlink()


def _drop_stale(place: Path) -> None:
    """Throw away compiled code of other sources that has not been made or used for long."""
    for other in place.parent.glob("kernels-*"):
        if other != place and _is_own(other) and time() - other.stat().st_mtime > STALE * DAY:
            shutil.rmtree(other, ignore_errors=True)
