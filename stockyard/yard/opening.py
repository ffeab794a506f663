"""Opening a yard, making a new one, and bringing an old file up to date."""

from __future__ import annotations

import os
import stat
from contextlib import closing
from pathlib import Path

from stockyard.errors import BadInput, Refused
from stockyard.settings import Settings
from stockyard.yard import files, schema
from stockyard.yard.backup import make as make_backup
from stockyard.yard.shop import store_settings
from stockyard.yard.store import (
    BUSY_SECONDS,
    SCHEMA_STEP,
    STATION,
    Clock,
    Yard,
    connect,
    utc_now,
)
from stockyard.yard.trouble import said_plainly


def open_yard(
    path: Path, *, clock: Clock = utc_now, busy_seconds: float = BUSY_SECONDS, station: str = STATION
) -> Yard:
    """Open the yard at `path`, running schema steps it lacks after a backup.

    `station` is who does the deeds. An open yard belongs to the thread that opened it.

    Raises:
        BadInput: there is no file, or it is not a yard.
        Refused: it is locked for longer than `busy_seconds`, damaged, or from a newer version.
    """
    path = files.resolved(path)
    _look_for(path)
    writable = os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)
    with said_plainly(path):
        connection = connect(path, busy_seconds, writable=writable)
        try:
            number = schema.version(connection)
            if not number:
                raise BadInput(f"{path} is not a yard", "not a yard", {"path": path})
            yard = Yard(
                path, connection, clock, writable=writable, busy_seconds=busy_seconds, station=station
            )
            if number < schema.latest():
                _bring_up_to_date(yard, number)
        except BaseException:
            connection.close()
            raise
    return yard


def new_yard(path: Path, settings: Settings, *, clock: Clock = utc_now, last_step: int | None = None) -> Yard:
    """Make a yard at `path` and open it. `last_step` stops at an earlier schema step, for tests.

    Raises:
        Refused: something is there already, or the folder cannot be written.
    """
    path = files.resolved(path)
    if os.path.lexists(path):
        raise Refused(f"{path} exists already: name another file")
    files.make_folder(path.parent)
    try:
        # Made beside and linked into place: a process killed here leaves no half-made yard.
        with files.draft_of(path) as draft:
            with (
                said_plainly(path),
                closing(connect(draft, BUSY_SECONDS, writable=True, create=True)) as connection,
            ):
                yard = Yard(draft, connection, clock, writable=True)
                connection.execute("BEGIN IMMEDIATE")
                schema.upgrade(connection, lambda _: None, last_step)
                connection.execute("COMMIT")
                with yard.deed("new yard") as deed:
                    deed.begin("made the yard")
                    store_settings(yard, settings)
                connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            strays = files.place(draft, path, files.usual_mode())
    except OSError as error:
        raise Refused(f"cannot make a yard at {path}: {error.strerror}") from None
    with said_plainly(path):
        made = Yard(path, connect(path, BUSY_SECONDS, writable=True), clock, writable=True)
        made.strays = strays
        return made


def _look_for(path: Path) -> None:
    """Look that there is a file, and tell a folder one may not enter from one that holds none.

    Raises:
        BadInput: there is none.
        Refused: it may not be looked for.
    """
    try:
        if stat.S_ISREG(path.stat().st_mode):
            return
    except (FileNotFoundError, NotADirectoryError):
        pass
    except OSError as error:
        raise Refused(f"cannot look for a yard at {path}: {error.strerror}") from None
    left = files.companions(path)
    if left and not os.path.lexists(path):
        raise BadInput(
            f"there is no yard at {path}, but {left[0].name}, a part of one: was it moved without that?"
        )
    raise BadInput(f"there is no yard at {path}", "no yard", {"path": path})


def _bring_up_to_date(yard: Yard, number: int) -> None:
    """Back the yard up, then run the schema steps it lacks, in one transaction."""
    if not yard.writable:
        raise Refused(
            f"{yard.path} is from an older version and can only be read: it cannot be brought up to date"
        )
    make_backup(yard, why=f"before-step-{number + 1}")
    connection = yard.connection
    connection.execute("BEGIN IMMEDIATE")
    try:
        # Another process may have done it while this one waited.
        if schema.version(connection) < schema.latest():
            schema.upgrade(connection, lambda says: yard.start_deed(SCHEMA_STEP, says))
            yard.close_deed()
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
    finally:
        yard.forget_deed()
