"""Files that are whole or not there: written beside their place under a name of their own, then renamed."""

from __future__ import annotations

import errno
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from stockyard.errors import BadInput

COMPANIONS = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside a database file: it plays them into whatever file has the name."""
DRAFT = ".stockyard-draft"
# A draft that nobody wrote to for so long has nobody behind it: its command was killed.
_LEFT_SECONDS = 3600


def write_whole(path: Path, data: bytes, mode: int | None = None) -> None:
    """Put `data` at `path`, written beside it, flushed to the disk and renamed into place.

    Whatever goes wrong, `path` holds either what it held before or all of `data`. It may be read and written
    as `mode` says, or as before, or as new files of this user.

    Raises:
        BadInput: no such folder, not a plain file, not writable, disk full.
    """
    if path.is_symlink():
        path = path.resolve()
    _look_plain(path)
    try:
        with draft_of(path) as draft:
            draft.write_bytes(data)
            draft.chmod(mode or mode_of(path) or usual_mode())
            sync(draft)
            draft.replace(path)
    except OSError as error:
        raise _cannot_write(path, error) from error
    sync_folder(path.parent)


def write_set(folder: Path, files: Sequence[tuple[str, bytes]]) -> None:
    """Put files that belong together into a folder: all of them, or it holds what it held before.

    They are written aside and flushed to the disk, then what they replace is set aside, then they get its
    place. One killed within that last step leaves files of before or files of now, never some of each.

    Raises:
        BadInput: no such folder, a name that holds no plain file, not writable, disk full.
    """
    if len(files) == 1:
        write_whole(folder / files[0][0], files[0][1])
        return
    path = folder
    try:
        with draft_of(folder / "files", folder=True) as draft:
            new, old = draft / "new", draft / "old"
            new.mkdir()
            old.mkdir()
            for name, data in files:
                path = folder / name
                _look_plain(path)
                (new / name).write_bytes(data)
                (new / name).chmod(mode_of(path) or usual_mode())
            path = folder
            sync(new)
            _swap(folder, new, old)
    except OSError as error:
        raise _cannot_write(path, error) from error
    sync_folder(folder)


def _swap(folder: Path, new: Path, old: Path) -> None:
    """Set what is to be replaced aside, in `old`, and put in its place what is in `new`; or put all back."""
    names = [path.name for path in new.iterdir()]
    try:
        for name in names:
            if os.path.lexists(folder / name):
                (folder / name).rename(old / name)
        for name in names:
            (new / name).rename(folder / name)
    except BaseException:
        for name in names:
            with suppress(OSError):
                if os.path.lexists(old / name):
                    (old / name).replace(folder / name)
                elif not (new / name).exists():
                    (folder / name).unlink()
        raise


def look_writable(path: Path) -> None:
    """Look that `write_whole` will be able to write `path`, before something is done that it shall tell of.

    Raises:
        BadInput: no such folder, not a plain file, not writable.
    """
    path = path.resolve()
    _look_plain(path)
    try:
        with draft_of(path), suppress(FileNotFoundError):
            path.lstat()  # a name may be too long where its draft's is not
    except OSError as error:
        raise _cannot_write(path, error) from None


def _look_plain(path: Path) -> None:
    with suppress(OSError):
        if not stat.S_ISREG(path.stat().st_mode):
            raise BadInput(f"cannot write {path}: it is not a plain file; give another name")


def _cannot_write(path: Path, error: OSError) -> BadInput:
    return BadInput(f"cannot write {path}: {(error.strerror or str(error)).lower()}")


def companions(path: Path) -> tuple[Path, ...]:
    """Return the companions of a database that are there."""
    beside = (path.with_name(path.name + end) for end in COMPANIONS)
    return tuple(p for p in beside if os.path.lexists(p))


def usual_mode() -> int:
    """Return the mode a new file gets from the user's own mask."""
    mask = os.umask(0o077)
    os.umask(mask)
    return 0o666 & ~mask


def mode_of(path: Path) -> int | None:
    """Return who may read and write a file; None where it is not there."""
    try:
        return path.stat().st_mode & 0o777
    except OSError:
        return None


@contextmanager
def draft_of(target: Path, *, folder: bool = False) -> Iterator[Path]:
    """Yield an empty file (or folder) beside `target`, its owner's alone; what is left of it is cleared.

    Drafts that killed commands left in that folder are cleared too.

    Raises:
        OSError: nothing can be written there.
    """
    _sweep(target.parent)
    # A long name leaves little room: the draft's own need not hold it.
    start, end = f".{target.name[:40]}.", DRAFT
    if folder:
        draft = Path(tempfile.mkdtemp(end, start, target.parent))
    else:
        handle, name = tempfile.mkstemp(end, start, target.parent)
        os.close(handle)
        draft = Path(name)
    try:
        yield draft
    finally:
        clear(draft)


def _sweep(folder: Path) -> None:
    """Clear the drafts of killed commands; where that cannot be done they stay, and do no harm."""
    with suppress(OSError):
        for left in folder.glob(f".*{DRAFT}*"):
            if time.time() - left.lstat().st_mtime > _LEFT_SECONDS:
                clear(left)


def clear(draft: Path) -> None:
    """Remove a draft; where nothing can be written there is none, and a better message is on its way."""
    with suppress(OSError):
        if draft.is_dir() and not draft.is_symlink():
            shutil.rmtree(draft, ignore_errors=True)
        else:
            for path in (draft, *companions(draft)):
                path.unlink(missing_ok=True)


def sync(path: Path) -> None:
    """Have the disk keep a file or a folder and what is in it, as far as the system can.

    Raises:
        OSError: the disk says that it could not.
    """
    if path.is_dir():
        for inner in path.iterdir():
            sync(inner)
    try:
        handle = os.open(path, os.O_RDONLY)
    except PermissionError:
        return  # Windows opens no folders.
    try:
        os.fsync(handle)
    except OSError as error:
        # Some file systems sync no folders.
        if not path.is_dir() or error.errno not in (errno.EINVAL, errno.EBADF, errno.ENOTSUP):
            raise
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Have the disk keep the names in a folder; one that cannot be synced is left to the system."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
