"""Backups: whole copies made while the yard is in use, checked, and the oldest rotated out."""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from stockyard.errors import BadInput, Refused
from stockyard.yard import files, schema
from stockyard.yard.store import Yard, connect
from stockyard.yard.trouble import said_plainly

_STEP_PAGES = 2000
# In the backup folder: the names of the copies that may be rotated out, the oldest first.
_ROTATED = "rotated.txt"
# How their names say when they were made, and how many seconds later they were whole, at most.
_STAMP, _TAKES = "%Y%m%dT%H%M%SZ", 600


def folder(path: Path) -> Path:
    """Return where the backups of the yard at `path` lie unless told otherwise: beside it."""
    path = files.resolved(path)
    return path.with_name(path.name + ".backups")


def make(yard: Yard, target: Path | None = None, *, why: str = "") -> Path:
    """Copy the yard to `target`, or to a dated file in its backup folder; check the copy; return its path.

    Of the dated files only the newest `backups` of the settings are kept; no other file is ever removed.
    A copy can be read by whoever can read the yard.

    Raises:
        Refused: `target` exists, the disk is full, or the copy does not check.
    """
    if target is not None:
        _write(yard, files.resolved(target))
        return target
    stamp = re.sub(r"[^0-9TZ]", "", yard.clock())
    name = f"{yard.path.stem}-{stamp}" + (f"-{why}" if why else "")
    made = _write(yard, folder(yard.path) / f"{name}.db", numbered=True)
    _rotate(yard, made)
    return made


def _write(yard: Yard, target: Path, *, numbered: bool = False) -> Path:
    """Write and check one copy; `numbered` gives it another number where the name is taken."""
    mode = files.mode_of(yard.path) or files.usual_mode()
    if not numbered and os.path.lexists(target):
        raise Refused(f"{target} exists already: name another file")
    files.make_folder(target.parent, private=not mode & 0o077)
    try:
        with files.draft_of(target) as draft:
            _copy(yard.connection, draft)
            while True:
                free = files.unused(target.parent, target.stem) if numbered else target
                try:
                    files.place(draft, free, mode)
                    return free
                except Refused:
                    if not numbered:
                        raise
    except OSError as error:
        raise Refused(f"cannot write the backup {target}: {error.strerror}") from None


def _copy(source: sqlite3.Connection, draft: Path, *, look: bool = True) -> None:
    """Copy page by page through SQLite, then look at the copy as if it were a stranger's file."""
    with said_plainly(draft), closing(sqlite3.connect(draft, isolation_level=None)) as copy:
        source.backup(copy, pages=_STEP_PAGES)
        if not look:
            return
        copy.execute("PRAGMA journal_mode = DELETE")
        said = _integrity(copy)
        if said != "ok":
            raise Refused(f"the copy did not check ({said}): check the disk, or take another backup")


def _integrity(db: sqlite3.Connection) -> str:
    return str(db.execute("PRAGMA integrity_check(1)").fetchone()[0])


def _rotate(yard: Yard, made: Path) -> None:
    """Note the copy as rotation's own, and remove the oldest of those that are too many."""
    where = made.parent
    note = where / _ROTATED
    with suppress(OSError, BadInput), files.folder_held(where):
        ours = re.compile(re.escape(yard.path.stem) + r"-([0-9TZ]+)(-before-step-\d+)?(-\d+)?\.db")
        names = note.read_text(encoding="utf-8").splitlines() if note.is_file() else _former(where, ours)
        kept = [n for n in names if ours.fullmatch(n) and (where / n).is_file() and n != made.name]
        kept.append(made.name)
        surplus = len(kept) - yard.settings.backups
        for old in kept[: max(0, surplus)]:
            (where / old).unlink()
        text = "".join(f"{n}\n" for n in kept[max(0, surplus) :])
        files.write_whole(note, text.encode("utf-8"), files.mode_of(made) or 0o600)


def _former(where: Path, ours: re.Pattern[str]) -> list[str]:
    """Return the copies that a version without a note made in its rotation, the oldest first.

    Their names say when they were made, and so does the file system: of a file named by hand, or copied
    here, it says something else.
    """
    found = []
    for path in where.iterdir():
        if (name := ours.fullmatch(path.name)) and path.is_file() and not path.is_symlink():
            with suppress(ValueError):
                said = datetime.strptime(name[1], _STAMP).replace(tzinfo=UTC).timestamp()
                if abs(path.stat().st_mtime - said) <= _TAKES:
                    found.append((said, path.name))
    return [name for _, name in sorted(found)]


def backups(path: Path) -> tuple[Path, ...]:
    """Return the backups in the folder of the yard at `path`, the newest first.

    Raises:
        Refused: the folder may not be read.
    """
    path = files.resolved(path)
    try:
        copies = [(p.stat().st_mtime_ns, p.name, p) for p in folder(path).iterdir() if _is_copy(p, path)]
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise Refused(f"cannot read {folder(path)}: {error.strerror}") from None
    return tuple(p for _, _, p in sorted(copies, reverse=True))


def _is_copy(found: Path, path: Path) -> bool:
    return found.name.startswith(f"{path.stem}-") and found.suffix == ".db" and found.is_file()


def look_for(source: Path) -> None:
    """Look that there is a file to restore from.

    Raises:
        BadInput: there is none.
    """
    if not os.path.isfile(source):  # noqa: PTH113 - it says no, not why, of a folder one may not enter
        raise BadInput(f"there is no backup at {source}", "no backup", {"path": source})


@dataclass(frozen=True, slots=True)
class Restored:
    """Where the yard that was there is now, and any log that lay there without one."""

    old: Path | None
    strays: tuple[Path, ...]


def restore(source: Path, path: Path) -> Restored:
    """Put the backup `source` in the place of the yard at `path`, which is copied aside first.

    The yard's name goes from the old file to the new in one rename: whoever looks finds one or the other.

    Raises:
        BadInput: `source` is not a sound yard.
        Refused: the yard is in use, or something cannot be written; the yard is as it was.
    """
    look_for(source)
    path = files.resolved(path)
    if path.is_dir():
        raise Refused(f"{path} is a folder: say the file of the yard")
    files.make_folder(path.parent)
    try:
        mode = files.mode_of(path) or files.mode_of(source) or files.usual_mode()
        with files.draft_of(path) as draft:
            with said_plainly(source), closing(connect(source, 2.0, writable=False)) as backup:
                if not schema.version(backup):
                    raise BadInput(f"{source} is not a yard")
                _copy(backup, draft)
            draft.chmod(mode)
            _keep_owner(path, draft)
            files.sync(draft)
            with said_plainly(path):
                done = _put_in_place(draft, path)
    except OSError as error:
        raise Refused(f"cannot restore to {path}: {error.strerror}; the yard is as it was") from None
    look_at_result(path)
    return done


def _keep_owner(path: Path, draft: Path) -> None:
    """Give the new file the owner of the old one, where that can be done."""
    with suppress(OSError, AttributeError):
        was = path.stat()
        os.chown(draft, was.st_uid, was.st_gid)


def _put_in_place(draft: Path, path: Path) -> Restored:
    """Copy the old yard aside and rename the new one over it, while nobody else can open it."""
    with _alone(path) as old, files.folder_held(path.parent):
        aside = _copy_aside(old, path) if os.path.lexists(path) else None
        try:
            if old is not None:
                # Folded in above: what is left of them holds nothing.
                for spent in files.companions(path):
                    spent.unlink()
            strays = files.put_companions_aside(path)
            draft.replace(path)
        except BaseException:
            if aside is not None:
                files.clear(aside)
            raise
        files.sync_folder(path.parent)
    return Restored(aside, strays)


@contextmanager
def _alone(path: Path) -> Iterator[sqlite3.Connection | None]:
    """Hold the yard at `path` for oneself, its log folded in; None where there is none that SQLite reads.

    Raises:
        Refused: another program holds it.
    """
    if not os.path.lexists(path):
        yield None
        return
    with closing(sqlite3.connect(path, isolation_level=None, timeout=2)) as old:
        try:
            # The lock is held from the first look on, so nobody can begin a new log meanwhile.
            old.execute("PRAGMA locking_mode = EXCLUSIVE")
            old.execute("PRAGMA journal_mode = DELETE")
            old.execute("BEGIN EXCLUSIVE")
            held: sqlite3.Connection | None = old
        except sqlite3.DatabaseError as error:
            name = getattr(error, "sqlite_errorname", "")
            if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_PROTOCOL")):
                raise Refused(f"{path} is in use: close the other program first") from None
            # A damaged file is what a restore is for: it is put aside as it is.
            if not name.startswith(("SQLITE_NOTADB", "SQLITE_CORRUPT", "SQLITE_CANTOPEN", "SQLITE_READONLY")):
                raise
            held = None
        yield held


def _copy_aside(old: sqlite3.Connection | None, path: Path) -> Path:
    """Copy the old yard, whatever state it is in, to a name of its own; return that."""
    aside = files.unused(path.parent, f"{path.stem}-before-restore")
    with files.draft_of(aside) as draft:
        try:
            if old is not None:
                # A transaction of one's own would be in the way of the copy; the lock stays.
                old.execute("COMMIT")
                _copy(old, draft, look=False)
        except Refused:
            old = None
        if old is None:
            draft.write_bytes(path.read_bytes())
        files.sync(draft)
        draft.chmod(files.mode_of(path) or 0o600)
        _keep_owner(path, draft)
        draft.replace(aside)
    return aside


def look_at_result(path: Path) -> None:
    """Open a yard that was put in place, as the next command will.

    Raises:
        Refused: it is not whole.
    """
    with said_plainly(path), closing(connect(path, 2.0, writable=os.access(path, os.W_OK))) as db:
        said = _integrity(db)
        if said != "ok" or not schema.version(db):
            raise Refused(f"{path} was put in place but does not check ({said}): look at the disk")
