"""The schema: numbered SQL steps, and the journal the database keeps of itself."""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import ModuleType

from stockyard.errors import Refused, StockyardError

# "yard" in ASCII: tells our files from other SQLite files.
APPLICATION_ID = 0x79617264
GROW_ONLY = ("deed", "entry", "tag", "document", "seal")
_UNJOURNALLED = (*GROW_ONLY, "open_deed", "deed_left_open")


@dataclass(frozen=True, slots=True)
class Step:
    """One schema step: its number, its name (`0001_record`) and its SQL."""

    number: int
    name: str
    sql: str


def _folder() -> Traversable:
    packed = files("stockyard") / "_db"
    return packed if packed.is_dir() else Path(__file__).parents[2] / "db"


def steps() -> tuple[Step, ...]:
    """Return all schema steps in order, from the installed package or the source tree.

    Raises:
        StockyardError: the installation lacks them.
    """
    folder = _folder()
    names = sorted(f.name for f in folder.iterdir() if f.name.endswith(".sql")) if folder.is_dir() else []
    if not names or not names[0].startswith("0001_"):
        raise StockyardError("the installation is incomplete (no schema steps): install stockyard again")
    return tuple(
        Step(int(name[:4]), name.removesuffix(".sql"), (folder / name).read_text(encoding="utf-8"))
        for name in names
    )


def latest() -> int:
    """Return the number of the newest schema step."""
    return steps()[-1].number


def import_sqlite_utils() -> ModuleType:
    """Import sqlite-utils without the data-frame libraries it would load just because they are there."""
    hidden = [name for name in ("pandas", "numpy") if name not in sys.modules]
    for name in hidden:
        sys.modules[name] = None  # type: ignore[assignment]
    try:
        import sqlite_utils
    finally:
        for name in hidden:
            del sys.modules[name]
    return sqlite_utils  # type: ignore[no-any-return]


def version(connection: sqlite3.Connection) -> int:
    """Return the number of the last schema step of this file; 0 for an empty file.

    Raises:
        Refused: another program's database, or one made by a newer stockyard.
    """
    (number,) = connection.execute("PRAGMA user_version").fetchone()
    (mark,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    if mark != APPLICATION_ID and (mark or number or tables):
        raise Refused("this file is an SQLite database of something else, not a yard: name another file")
    if number > latest():
        raise Refused(
            f"this yard was written by a newer stockyard (schema step {number}, this one knows {latest()}): "
            "install the newer version; nothing was changed"
        )
    return int(number)


def upgrade(
    connection: sqlite3.Connection, open_deed: Callable[[str], object], last: int | None = None
) -> None:
    """Run the steps that are missing, up to `last`, inside the transaction that is open.

    `open_deed(says)` opens a deed, so that a step which changes rows is in the ledger too; it is
    called for a file that has the tables for it. The journal is made anew after each step, so a step
    that adds columns and one that fills them are two steps.
    """
    sqlite_utils = import_sqlite_utils()
    database = sqlite_utils.Database(connection, execute_plugins=False)
    migrations = sqlite_utils.Migrations("stockyard")
    wanted = [s for s in steps() if last is None or s.number <= last]
    for step in wanted:

        def run(db: object, sql: str = step.sql) -> None:
            db.executescript(sql)  # type: ignore[attr-defined]
            make_journal(connection)

        migrations(name=step.name)(run)
    start = version(connection)
    if start:
        open_deed(f"schema step {start} to {wanted[-1].number}")
    migrations.apply(database)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {wanted[-1].number}")


def grow_only(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Return the names of the tables that only grow and are not journalled; an older file may lack some."""
    rows = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")
    there = {name for (name,) in rows}
    return tuple(name for name in GROW_ONLY if name in there)


def journalled(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Return the names of the tables whose every change is written to the ledger."""
    rows = connection.execute(
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%' "
        "AND name NOT LIKE '\\_sqlite%' ESCAPE '\\' ORDER BY rowid"
    )
    return tuple(name for (name,) in rows if name not in _UNJOURNALLED)


@dataclass(frozen=True, slots=True)
class Columns:
    """The stored columns of one journalled table: its key, all of them, and their defaults."""

    key: str
    names: tuple[str, ...]
    defaults: dict[str, object]


def columns(connection: sqlite3.Connection, table: str) -> Columns:
    """Return what `table` stores; generated columns are left out."""
    rows = connection.execute(f'PRAGMA table_info("{table}")').fetchall()
    key = next((row[1] for row in rows if row[5]), "rowid")
    defaults = {
        row[1]: connection.execute(f"SELECT {row[4]}").fetchone()[0] if row[4] is not None else None
        for row in rows
    }
    return Columns(key, tuple(row[1] for row in rows), defaults)


def make_journal(connection: sqlite3.Connection) -> None:
    """Make the triggers by which the database writes each change of a journalled row to the ledger.

    Those that are as they should be stay: a step changes few tables.
    """
    there = dict(
        connection.execute(
            "SELECT sql, name FROM sqlite_schema WHERE type = 'trigger' AND name GLOB 'journal_*'"
        ).fetchall()
    )
    tables = journalled(connection)
    wanted = [text for table in tables for text in _journal(table, columns(connection, table))]
    for text in there.keys() - set(wanted):
        connection.execute(f'DROP TRIGGER "{there[text]}"')
    for text in wanted:
        if text not in there:
            connection.execute(text)


def _journal(table: str, cols: Columns) -> Iterator[str]:
    """Yield the guards (no change without an open deed) and the three triggers that write entries."""
    for verb in ("INSERT", "UPDATE", "DELETE"):
        yield (
            f"CREATE TRIGGER journal_{table}_needs_deed_to_{verb.lower()} BEFORE {verb} ON {table}\n"
            "WHEN NOT EXISTS (SELECT 1 FROM open_deed)\n"
            "BEGIN SELECT RAISE(ABORT, 'the yard is changed through its ledger only: no deed is open'); END"
        )
    yield (
        f"CREATE TRIGGER journal_{table}_never_replaces BEFORE INSERT ON {table}\n"
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {cols.key} = NEW.{cols.key})\n"
        f"BEGIN SELECT RAISE(ABORT, 'that row of {table} is there already: change it instead'); END"
    )
    yield (
        f"CREATE TRIGGER journal_{table}_keeps_key BEFORE UPDATE OF {cols.key} ON {table}\n"
        f"WHEN OLD.{cols.key} IS NOT NEW.{cols.key}\n"
        f"BEGIN SELECT RAISE(ABORT, 'the key of a {table} cannot be changed'); END"
    )
    insert = (
        "INSERT INTO entry (deed_id, thing, thing_key, was, now)\n  SELECT (SELECT deed_id FROM open_deed)"
    )
    # json_patch leaves out what is NULL, so entries stay short.
    row = ", ".join(f"'{c}', {{0}}.{c}" for c in cols.names)
    old, new = (f"json_patch('{{}}', json_object({row.format(side)}))" for side in ("OLD", "NEW"))
    yield (
        f"CREATE TRIGGER journal_{table}_insert AFTER INSERT ON {table} BEGIN\n"
        f"  {insert}, '{table}', NEW.{cols.key}, NULL, {new};\nEND"
    )
    yield (
        f"CREATE TRIGGER journal_{table}_delete AFTER DELETE ON {table} BEGIN\n"
        f"  {insert}, '{table}', OLD.{cols.key}, {old}, NULL;\nEND"
    )
    changed = " OR ".join(f"OLD.{c} IS NOT NEW.{c}" for c in cols.names)
    pairs = "\n    UNION ALL ".join(
        f"SELECT '{c}' AS field, OLD.{c} AS was, NEW.{c} AS now" for c in cols.names
    )
    yield (
        f"CREATE TRIGGER journal_{table}_update AFTER UPDATE ON {table} WHEN {changed} BEGIN\n"
        f"  {insert}, '{table}', OLD.{cols.key}, json_group_object(field, was),\n"
        f"  json_group_object(field, now)\n"
        f"  FROM ({pairs}) WHERE was IS NOT now;\nEND"
    )
