"""Database files put in place: drafts as `whole` makes them, never over what is there."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from stockyard.errors import Refused
from stockyard.whole import (
    COMPANIONS,
    DRAFT,
    clear,
    companions,
    draft_of,
    mode_of,
    sync,
    sync_folder,
    usual_mode,
    write_whole,
)  # fmt: skip

__all__ = [
    "COMPANIONS", "DRAFT", "clear", "companions", "draft_of", "folder_held", "make_folder", "mode_of",
    "place", "put_companions_aside", "resolved", "sync", "sync_folder", "unused", "usual_mode", "write_whole",
]  # fmt: skip

# What a file system answers that knows no hard links (FAT, some shares).
_NO_LINKS = (errno.EPERM, errno.EACCES, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK)


def resolved(path: Path) -> Path:
    """Return the file that `path` means, symbolic links followed: its companions lie beside that one."""
    return Path(os.path.realpath(path))


def make_folder(folder: Path, *, private: bool = False) -> None:
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
