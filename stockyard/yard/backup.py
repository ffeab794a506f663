"""Backups: whole copies made while the yard is in use, checked, and the oldest rotated out."""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from stockyard.errors import BadInput, Refused
from stockyard.yard import schema
from stockyard.yard.store import Yard, said_plainly

_STEP_PAGES = 2000


def folder(path: Path) -> Path:
    """Return where the backups of the yard at `path` lie unless told otherwise: beside it."""
    return path.with_name(path.name + ".backups")


def make(yard: Yard, target: Path | None = None, *, why: str = "") -> Path:
    """Copy the yard to `target`, or to a dated file in its backup folder; check the copy; return its path.

    In the backup folder only the newest `backups` of the settings are kept.

    Raises:
        Refused: `target` exists, the disk is full, or the copy does not check.
    """
    dated = target is None
    if target is None:
        stamp = re.sub(r"[^0-9TZ]", "", yard.clock())
        name = f"{yard.path.stem}-{stamp}" + (f"-{why}" if why else "")
        target = _unused(folder(yard.path), name)
    elif target.exists():
        raise Refused(f"{target} exists already: name another file")
    draft = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _copy(yard.connection, draft)
        draft.replace(target)
    except OSError as error:
        raise Refused(f"cannot write the backup {target}: {error.strerror}") from None
    finally:
        _clear(draft)
    if dated:
        _rotate(yard, keep=target)
    return target


def _unused(parent: Path, name: str) -> Path:
    target, n = parent / f"{name}.db", 1
    while target.exists():
        n += 1
        target = parent / f"{name}-{n}.db"
    return target


def _copy(source: sqlite3.Connection, draft: Path) -> None:
    """Copy page by page through SQLite, then look at the copy as if it were a stranger's file."""
    draft.unlink(missing_ok=True)
    with said_plainly(draft), closing(sqlite3.connect(draft, isolation_level=None)) as copy:
        source.backup(copy, pages=_STEP_PAGES)
        copy.execute("PRAGMA journal_mode = DELETE")
        said = [row[0] for row in copy.execute("PRAGMA integrity_check(1)")]
        if said != ["ok"]:
            raise Refused(f"the backup did not check ({said[0]}): check the disk and do it again")


def _rotate(yard: Yard, keep: Path) -> None:
    copies = sorted(
        folder(yard.path).glob(f"{yard.path.stem}-*.db"), key=lambda p: (p.stat().st_mtime_ns, p.name)
    )
    for old in [p for p in copies if p != keep][: max(0, len(copies) - yard.settings.backups)]:
        old.unlink()


def backups(path: Path) -> tuple[Path, ...]:
    """Return the backups in the folder of the yard at `path`, the newest first."""
    copies = folder(path).glob(f"{path.stem}-*.db")
    return tuple(sorted(copies, key=lambda p: (p.stat().st_mtime_ns, p.name), reverse=True))


def look_for(source: Path) -> None:
    """Look that there is a file to restore from.

    Raises:
        BadInput: there is none.
    """
    if not source.is_file():
        raise BadInput(f"there is no backup at {source}: 'stockyard yard backups' lists those there are")


def restore(source: Path, path: Path) -> Path | None:
    """Put the backup `source` in the place of the yard at `path`; return where the old one was put aside.

    Raises:
        BadInput: `source` is not a sound yard.
        Refused: the yard is in use.
    """
    look_for(source)
    draft = path.with_name(f".{path.name}.{os.getpid()}.restored")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with said_plainly(source), closing(_read_only(source)) as backup:
            if not schema.version(backup):
                raise BadInput(f"{source} is not a yard")
            _copy(backup, draft)
        aside = _put_aside(path)
        draft.replace(path)
    except OSError as error:
        raise Refused(f"cannot restore to {path}: {error.strerror}") from None
    finally:
        _clear(draft)
    return aside


def _clear(draft: Path) -> None:
    """Remove a draft; where nothing can be written there is none, and a better message is on its way."""
    with suppress(OSError):
        draft.unlink(missing_ok=True)


def _read_only(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path.absolute().as_uri() + "?mode=ro", uri=True)


def _put_aside(path: Path) -> Path | None:
    """Rename the yard at `path`, after its write-ahead log was folded in and nobody else holds it."""
    if not path.exists():
        return None
    if path.is_dir():
        raise Refused(f"{path} is a folder: say the file of the yard")
    with closing(sqlite3.connect(path, isolation_level=None, timeout=2)) as old:
        try:
            # Leaving WAL needs the file alone, and folds the log in.
            old.execute("PRAGMA journal_mode = DELETE")
        except sqlite3.OperationalError as error:
            if "locked" in str(error) or "busy" in str(error):
                raise Refused(f"{path} is in use: close the other program first") from None
            raise
        except sqlite3.DatabaseError:
            # A damaged file is what a restore is for: it is put aside as it is.
            pass
    aside = _unused(path.parent, f"{path.stem}-before-restore")
    path.replace(aside)
    for end in ("-wal", "-shm"):
        log = path.with_name(path.name + end)
        if log.exists():
            log.replace(aside.with_name(aside.name + end))
    return aside
