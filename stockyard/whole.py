"""A file that is either whole or not there."""

from __future__ import annotations

import os
import secrets
import stat
import tempfile
from contextlib import suppress
from pathlib import Path

from stockyard.errors import BadInput


def write_whole(path: Path, data: bytes) -> None:
    """Put `data` at `path`, written beside it, flushed to the disk and renamed into place.

    Whatever goes wrong, `path` holds either what it held before or all of `data`.

    Raises:
        BadInput: no such folder, not a plain file, not writable, disk full.
    """
    if path.is_symlink():
        path = path.resolve()
    with suppress(OSError):
        if not stat.S_ISREG(path.stat().st_mode):
            raise BadInput(f"cannot write {path}: it is not a plain file; give another name")
    beside = path.with_name(f".{path.name[:80]}.{secrets.token_hex(4)}.part")
    try:
        with beside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        raise BadInput(f"cannot write {path}: {(error.strerror or str(error)).lower()}") from error
    finally:
        # Gone already when the rename went well.
        with suppress(OSError):
            beside.unlink()
    _flush_folder(path.parent)


def look_writable(path: Path) -> None:
    """Look that `write_whole` will be able to write `path`, before something is done that it shall tell of.

    Raises:
        BadInput: no such folder, not a plain file, not writable.
    """
    with suppress(OSError):
        if path.exists() and not stat.S_ISREG(path.stat().st_mode):
            raise BadInput(f"cannot write {path}: it is not a plain file; give another name")
    folder = path.resolve().parent
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name[:80]}.", suffix=".part", dir=folder)
        os.close(handle)
        Path(name).unlink()
        # A name may be too long where its draft's is not.
        with suppress(FileNotFoundError):
            path.lstat()
    except OSError as error:
        raise BadInput(f"cannot write {path}: {(error.strerror or str(error)).lower()}") from None


def _flush_folder(folder: Path) -> None:
    """Make the rename itself last through a power cut, where the system allows it."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
