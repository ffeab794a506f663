"""A yard made from the rows of its tables: beside its place, checked, and then given its name."""

from __future__ import annotations

import csv
import os
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from pathlib import Path

from stockyard.errors import BadInput, Refused
from stockyard.text import leaving
from stockyard.yard import files, schema
from stockyard.yard.backup import look_at_result
from stockyard.yard.check import check
from stockyard.yard.store import Yard, connect, utc_now
from stockyard.yard.trouble import said_plainly

Value = str | int | None
Table = tuple[list[str], Iterable[list[Value]]]
SEQUENCE = "sqlite_sequence"
# What comes of a file that is anything but an export.
STRANGE = (ValueError, TypeError, AttributeError, LookupError, ArithmeticError, RecursionError, csv.Error)
# What SQLite says of rows that do not fit; a full disk is another matter.
_UNFIT = (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError, sqlite3.DataError)
_MOST_TOLD = 3


def fresh(path: Path | None, step: int) -> sqlite3.Connection:
    """Return a connection to a new database with the schema up to `step` and no rows."""
    if not 1 <= step <= schema.latest():
        raise BadInput(f"the export is of schema step {step}, this stockyard knows 1 to {schema.latest()}")
    if path is None:
        db = sqlite3.connect(":memory:", isolation_level=None)
    else:
        db = connect(path, 1.0, writable=True, create=True)
    try:
        db.execute("BEGIN IMMEDIATE")
        schema.upgrade(db, lambda _: None, step)
        db.execute("COMMIT")
    except BaseException:
        db.close()
        raise
    return db


def build(path: Path, step: int, tables: dict[str, Table], mode: int) -> tuple[Path, ...]:
    """Make the yard beside its place, check it, and give it its name; return where stray logs were put."""
    path = files.resolved(path)
    if os.path.lexists(path):
        raise Refused(f"{path} exists already: name another")
    files.make_folder(path.parent)
    try:
        with files.draft_of(path) as draft:
            with said_plainly(path, new=True), closing(fresh(draft, step)) as db:
                _load(db, tables)
                yard = Yard(draft, db, utc_now, writable=True)
                found = check(yard) if step == schema.latest() else ()
                if found:
                    faults = told([d.what for d in found])
                    raise BadInput(f"what is to be imported is not true to itself: {faults}")
                db.execute("PRAGMA journal_mode = DELETE")
            strays = files.place(draft, path, mode)
    except OSError as error:
        raise Refused(f"cannot write {path}: {error.strerror}") from None
    look_at_result(path)
    return strays


def told(found: Sequence[str]) -> str:
    """Say the first faults found and how many there are."""
    more = len(found) - _MOST_TOLD
    first = "; ".join(found[:_MOST_TOLD])
    return first + (f"; and {more} more" if more > 0 else "")


def _load(db: sqlite3.Connection, tables: dict[str, Table]) -> None:
    """Put the rows in as they are: the rules are lifted meanwhile, `check` looks at the result."""
    db.execute("PRAGMA foreign_keys = OFF")
    db.execute("BEGIN IMMEDIATE")
    triggers = db.execute(
        "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' ORDER BY rowid"
    ).fetchall()
    for name, _ in triggers:
        db.execute(f'DROP TRIGGER "{name}"')
    known = (*schema.grow_only(db), *schema.journalled(db))
    unfit: list[str] = []
    try:
        for name in known:
            columns, rows = tables[name]
            allowed = {row[1] for row in db.execute(f'PRAGMA table_info("{name}")')}
            if sorted(columns) != sorted(allowed):
                raise BadInput(f"the table {name} of the export has other columns than the yard")
            unfit += _load_table(db, name, columns, rows)
        db.execute("DELETE FROM sqlite_sequence")
        db.executemany("INSERT INTO sqlite_sequence (name, seq) VALUES (?, ?)", tables[SEQUENCE][1])
    except KeyError as error:
        raise BadInput(f"the export does not make a yard: it has no table {error}") from None
    except (*STRANGE, *_UNFIT) as error:
        raise BadInput(f"the export does not make a yard: {leaving(str(error))}") from None
    if unfit:
        raise BadInput(told(unfit))
    for _, sql in triggers:
        db.execute(sql)
    db.execute("COMMIT")
    db.execute("PRAGMA foreign_keys = ON")


def _load_table(
    db: sqlite3.Connection, name: str, columns: list[str], rows: Iterable[list[Value]]
) -> Iterator[str]:
    """Put the rows of one table in; yield what is said of those that do not fit."""
    at = 0
    numbered = enumerate(rows, 1)

    def counted() -> Iterator[list[Value]]:
        nonlocal at
        for at, row in numbered:  # noqa: B007 - the number of the row that is being put in
            yield row

    marks = ", ".join("?" * len(columns))
    whole = False
    while not whole:
        try:
            db.executemany(f"INSERT INTO {name} ({', '.join(columns)}) VALUES ({marks})", counted())
            whole = True
        except (*STRANGE, *_UNFIT) as error:
            yield f"row {at} of the table {name} does not fit: {leaving(str(error))}"
