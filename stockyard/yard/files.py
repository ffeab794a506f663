"""Files put in place: written beside it under a name of their own, synced, and never over what is there."""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from stockyard.errors import Refused

COMPANIONS = ("-wal", "-shm", "-journal")
"""What SQLite keeps beside a database file: it plays them into whatever file has the name."""
DRAFT = ".stockyard-draft"
# A draft that nobody wrote to for so long has nobody behind it: its command was killed.
_LEFT_SECONDS = 3600
# What a file system answers that knows no hard links (FAT, some shares).
_NO_LINKS = (errno.EPERM, errno.EACCES, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK)


def resolved(path: Path) -> Path:
    """Return the file that `path` means, symbolic links followed: its companions lie beside that one."""
    return Path(os.path.realpath(path))


def companions(path: Path) -> tuple[Path, ...]:
    """Return the companions of a database that are there."""
    beside = (path.with_name(path.name + end) for end in COMPANIONS)
    return tuple(p for p in beside if os.path.lexists(p))


def make_folder(folder: Path, private: bool = False) -> None:
    """Make a folder and those above it; a private one is its owner's alone.

    Raises:
        Refused: it cannot be made.
    """
    try:
        if private and not folder.exists():
            folder.parent.mkdir(parents=True, exist_ok=True)
            folder.mkdir(mode=0o700, exist_ok=True)
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Refused(f"cannot make the folder {folder}: {error.strerror}") from None


def unused(parent: Path, stem: str, end: str = ".db") -> Path:
    """Return a path `parent/stem.end`, numbered where that is taken, with no companions of its own."""
    target, n = parent / f"{stem}{end}", 1
    while os.path.lexists(target) or companions(target):
        n += 1
        target = parent / f"{stem}-{n}{end}"
    return target


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


@contextmanager
def folder_held(folder: Path) -> Iterator[None]:
    """Keep other stockyards from putting files into place in a folder meanwhile, where the system can."""
    try:
        import fcntl
    except ImportError:  # Windows: a rename there never replaces.
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        # A share may not lock folders: then the hard link alone looks that nothing is replaced.
        with suppress(OSError):
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def place(draft: Path, target: Path, mode: int) -> tuple[Path, ...]:
    """Give a whole draft its name, if nothing has that name; return where stray companions were put.

    `mode` says who may read and write it; a folder and the files in it get the same.

    Raises:
        Refused: something is there already.
        OSError: the disk failed; nothing is there.
    """
    if draft.is_dir():
        for inner in draft.iterdir():
            inner.chmod(mode)
        # Who may read a folder may enter it.
        mode |= (mode & 0o444) >> 2
    draft.chmod(mode)
    sync(draft)
    with folder_held(target.parent):
        if os.path.lexists(target):
            raise Refused(f"{target} exists already: name another")
        aside = put_companions_aside(target)
        if draft.is_dir():
            draft.rename(target)
        else:
            _link(draft, target)
        sync_folder(target.parent)
    return aside


def _link(draft: Path, target: Path) -> None:
    """Name the draft `target` and refuse what came into being meanwhile, as a rename would not."""
    try:
        os.link(draft, target)
    except FileExistsError:
        raise Refused(f"{target} exists already: name another") from None
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        draft.rename(target)


def put_companions_aside(target: Path) -> tuple[Path, ...]:
    """Rename what SQLite would play into a file named `target`; return the new names.

    The memory of a log (`-shm`) holds nothing of its own and is removed. Call it while the folder is held.
    """
    put = []
    for path in companions(target):
        if path.name.endswith("-shm"):
            path.unlink()
            continue
        aside, n = path.with_name(path.name + ".aside"), 1
        while os.path.lexists(aside):
            n += 1
            aside = path.with_name(f"{path.name}.aside-{n}")
        path.rename(aside)
        put.append(aside)
    return tuple(put)


def sync_folder(folder: Path) -> None:
    """Have the disk keep the names in a folder; one that cannot be synced is left to the system."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
