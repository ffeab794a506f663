"""One open yard: its connection, its clock, and the deed by which anything in it is changed."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import fields
from datetime import UTC, datetime
from functools import wraps
from pathlib import Path
from random import uniform
from time import monotonic, sleep
from types import TracebackType
from typing import Any, Concatenate, ParamSpec, Self, TypeVar

from stockyard.errors import BadInput, Refused
from stockyard.measure import Unit
from stockyard.settings import Settings
from stockyard.text import entering
from stockyard.yard import files, schema, seal
from stockyard.yard.trouble import said_plainly

P = ParamSpec("P")
T = TypeVar("T")
Clock = Callable[[], str]
BUSY_SECONDS = 10.0
STATION = "desk"
"""Who does a deed where nobody says otherwise."""
SCHEMA_STEP = "schema step"


def utc_now() -> str:
    """Return the time in UTC as ISO 8601 to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class Yard:
    """One shop's yard file, open. Use it as a context manager, or `close()` it."""

    def __init__(
        self,
        path: Path,
        connection: sqlite3.Connection,
        clock: Clock,
        *,
        writable: bool,
        busy_seconds: float = BUSY_SECONDS,
        station: str = STATION,
    ) -> None:
        self.path = path
        self.busy_seconds = busy_seconds
        self.connection = connection
        self.clock = clock
        self.writable = writable
        self.station = read_station(station)
        self.strays: tuple[Path, ...] = ()
        """Where logs without a yard, found where this one was made, were put."""
        self.done: list[tuple[int, str]] = []
        """The deeds done while it was open, for who must name them when nobody could be told otherwise."""
        self._deed: int | None = None
        self._says = ""
        self._undoes: int | None = None
        self._settings: Settings | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: type[BaseException] | BaseException | TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    @property
    def settings(self) -> Settings:
        """The shop's settings, as they are now: kept only while a deed or a reading lasts."""
        if self._settings is not None:
            return self._settings
        found = settings_of({r["name"]: r["value"] for r in self.rows("SELECT name, value FROM setting")})
        if self.connection.in_transaction and self._deed is None:
            # A deed that is open may be about to change them; before it begins they stand still.
            self._settings = found
        return found

    @property
    def unit(self) -> Unit:
        """The shop's unit of bare numbers."""
        return self.settings.unit

    def rows(self, sql: str, values: Sequence[object] | dict[str, object] = ()) -> list[sqlite3.Row]:
        """Return all rows of a query."""
        with said_plainly(self.path):
            return self.connection.execute(sql, values).fetchall()

    def row(self, sql: str, values: Sequence[object] | dict[str, object] = ()) -> sqlite3.Row | None:
        """Return the first row of a query, or None."""
        with said_plainly(self.path):
            found: sqlite3.Row | None = self.connection.execute(sql, values).fetchone()
            return found

    def one(self, sql: str, values: Sequence[object] | dict[str, object] = ()) -> Any:
        """Return the first figure of the first row, which must exist."""
        row = self.row(sql, values)
        assert row is not None, sql
        return row[0]

    def write(self, sql: str, values: Sequence[object] | dict[str, object] = ()) -> int:
        """Change rows within the open deed; return how many."""
        assert self._deed is not None, "a change needs a deed"
        return self.connection.execute(sql, self._entering(values)).rowcount

    def insert(self, table: str, **values: object) -> int:
        """Make one row within the open deed; return its id."""
        assert self._deed is not None, "a change needs a deed"
        given = self._entering(tuple(values.values()), whole=table == "document")
        return self.connection.execute(_insert(table, list(values)), given).lastrowid or 0

    def insert_many(self, table: str, columns: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
        """Make many rows within the open deed."""
        self.write_many(_insert(table, columns), rows)

    def write_many(self, sql: str, values: Sequence[Sequence[object]]) -> None:
        """Run one change for many rows within the open deed."""
        assert self._deed is not None, "a change needs a deed"
        self.connection.executemany(sql, [self._entering(row) for row in values])

    def _entering(self, values: Any, *, whole: bool = False) -> Any:
        """Return the values of a row with their texts as the record keeps them.

        What comes back by an undo comes back as it was; a `whole` document is kept as it was given.

        Raises:
            BadInput: a text holds what does not print.
        """
        if whole or self._undoes is not None:
            return values
        if isinstance(values, dict):
            return {k: entering(v) if isinstance(v, str) else v for k, v in values.items()}
        return tuple(entering(v) if isinstance(v, str) else v for v in values)

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Let every read inside see one state of the yard, whatever others write meanwhile.

        Inside a deed or another reading it changes nothing. No deed may begin inside it.

        Raises:
            Refused: the file is busy or damaged.
        """
        if self.connection.in_transaction:
            yield
            return
        with said_plainly(self.path):
            self.connection.execute("BEGIN")
            try:
                # SQLite takes the state of the first read, not of BEGIN.
                self.connection.execute("SELECT 1 FROM setting LIMIT 1").fetchone()
                yield
            finally:
                self._settings = None
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")

    def refuse_read_only(self) -> None:
        """Look that the yard may be changed.

        Raises:
            Refused: it can only be read.
        """
        if not self.writable:
            raise Refused(f"{self.path} can only be read: get the right to write it, or name another yard")

    @contextmanager
    def deed(self, what: str) -> Iterator[Deed]:
        """Make one change of the yard: everything inside is done, or nothing.

        `what` is the kind of deed in a word or two. Call `begin(says)` on the deed before the first
        change; reads before it already see the yard as it will be changed.

        Raises:
            Refused: a rule of the yard forbids it, the yard is busy, read-only, or the disk is full.
        """
        self.refuse_read_only()
        assert not self.connection.in_transaction, "a deed begins outside deeds and readings"
        with said_plainly(self.path):
            self._begin()
            try:
                yield Deed(self, what)
                self.close_deed()
                self.connection.execute("COMMIT")
                if self._deed is not None:
                    self.done.append((self._deed, self._says))
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise
            finally:
                self.forget_deed()

    def _begin(self) -> None:
        """Wait for the right to write, at uneven steps so that nobody is passed over again and again.

        SQLite's own waiting grows to steps so long that many busy writers can starve one for seconds.
        """
        until = monotonic() + self.busy_seconds
        self.connection.execute("PRAGMA busy_timeout = 2")
        try:
            while True:
                try:
                    self.connection.execute("BEGIN IMMEDIATE")
                    return
                except sqlite3.OperationalError as error:
                    if error.sqlite_errorname != "SQLITE_BUSY" or monotonic() > until:
                        raise
                sleep(uniform(0.001, 0.015))
        finally:
            self.connection.execute(f"PRAGMA busy_timeout = {round(self.busy_seconds * 1000)}")

    def close_deed(self) -> None:
        """Seal the deed and close it, if one was begun; the database looks at its sums."""
        if self._deed is not None:
            seal.seal_deed(self.connection, self._deed)
            self.connection.execute("DELETE FROM open_deed")

    def forget_deed(self) -> None:
        """Know of no open deed any more: the transaction it was part of is over."""
        self._deed = None
        self._settings = None

    def start_deed(self, what: str, says: str, undoes: int | None = None) -> int:
        """Write the deed's line in the ledger and open it; `Deed.begin` is what rooms call."""
        assert self._deed is None, "a deed begins once"
        self._settings, self._says, self._undoes = None, says, undoes
        line: dict[str, object] = {"at": self.clock(), "what": what, "says": says, "undoes": undoes}
        if what != SCHEMA_STEP:
            # While an older file is brought up to date it may not have the column yet.
            line["station"] = self.station
        cursor = self.connection.execute(_insert("deed", list(line)), tuple(line.values()))
        self._deed = cursor.lastrowid
        self.connection.execute("INSERT INTO open_deed (deed_id) VALUES (?)", (self._deed,))
        assert self._deed is not None
        return self._deed


class Deed:
    """One change while it is being made."""

    def __init__(self, yard: Yard, what: str) -> None:
        self._yard = yard
        self.what = what
        self.id = 0

    def begin(self, says: str, undoes: int | None = None) -> None:
        """Write the deed's line: what it does in a sentence, and the deed it undoes, if any."""
        self.id = self._yard.start_deed(self.what, says, undoes)


def on_one_state(read: Callable[Concatenate[Yard, P], T]) -> Callable[Concatenate[Yard, P], T]:
    """Let a read of several things see one state of the yard: see `Yard.reading`."""

    @wraps(read)
    def reading(yard: Yard, /, *args: P.args, **kwargs: P.kwargs) -> T:
        with yard.reading():
            return read(yard, *args, **kwargs)

    return reading


def read_station(text: str) -> str:
    """Return the name of a station as the ledger keeps it.

    Raises:
        BadInput: nothing, more than 60 characters, or signs that cannot be printed.
    """
    name = " ".join(text.split())
    if not 1 <= len(name) <= 60 or not name.isprintable():
        raise BadInput("a station needs a name of up to 60 characters")
    return name


def settings_of(kept: dict[str, str]) -> Settings:
    """Return the settings from the texts the yard keeps; those it lacks have their default."""
    default = Settings()
    kept = _machine_by_machine(kept) | kept
    values: dict[str, Any] = {}
    for field in fields(Settings):
        if field.name in kept:
            values[field.name] = type(getattr(default, field.name))(kept[field.name])
    return Settings(**values)


# Which two machines share what older yards keep as one figure, and which share of it is the second one's.
_SHARED = {
    "rough_length": ("saw_length", "planer_length", 2), "rough_width": ("saw_width", "jointer_width", 2),
    "rough_face": ("planer_face", "jointer_face", 3),
}  # fmt: skip


def _machine_by_machine(kept: dict[str, str]) -> dict[str, str]:
    """Return what older yards keep as one figure as that of two machines."""
    shared: dict[str, str] = {}
    for name, (first, second, share) in _SHARED.items():
        if name in kept:
            whole = int(kept[name])
            shared |= {first: str(whole - whole // share), second: str(whole // share)}
    return shared


def connect(path: Path, busy_seconds: float, *, writable: bool, create: bool = False) -> sqlite3.Connection:
    """Open the file with foreign keys on and, when it is ours and may be written, a write-ahead log."""
    mode = "rwc" if create else "rw" if writable else "ro"
    path = files.resolved(path)
    uri = path.as_uri() + f"?mode={mode}"
    if not writable and not files.companions(path):
        # Without the right to make the -shm file only an unchanging file can be read.
        uri += "&immutable=1"
    connection = sqlite3.connect(uri, uri=True, timeout=busy_seconds, isolation_level=None)
    connection.row_factory = sqlite3.Row
    try:
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA recursive_triggers = ON")
        if writable:
            schema_rows = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
            if create or (schema_rows and _is_ours(connection)):
                connection.execute("PRAGMA journal_mode = WAL")
    except BaseException:
        connection.close()
        raise
    return connection


def _is_ours(connection: sqlite3.Connection) -> bool:
    return bool(connection.execute("PRAGMA application_id").fetchone()[0] == schema.APPLICATION_ID)


def _insert(table: str, columns: Sequence[str]) -> str:
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"
