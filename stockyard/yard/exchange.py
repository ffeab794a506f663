"""Export and import: everything in a yard as JSON or CSV tables, and back into an equal yard."""

from __future__ import annotations

import csv
import json
import os
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from stockyard.errors import BadInput, Refused
from stockyard.yard import files, schema
from stockyard.yard.backup import look_at_result
from stockyard.yard.check import check, defaults, entries
from stockyard.yard.fold import fold
from stockyard.yard.store import Yard, connect, said_plainly, utc_now

CONTRACT = "stockyard/yard/1"
_SEQUENCE = "sqlite_sequence"
_GUARDED = ("=", "+", "-", "@", "\t", "\r", "\n", "'")
# What comes of a file that is anything but an export.
_STRANGE = (ValueError, TypeError, AttributeError, LookupError, ArithmeticError, RecursionError, csv.Error)
# What SQLite says of rows that do not fit; a full disk is another matter.
_UNFIT = (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError, sqlite3.DataError)
Value = str | int | None
Table = tuple[list[str], Iterable[list[Value]]]


def export_json(yard: Yard, target: Path) -> None:
    """Write everything to one JSON file, a row a line.

    Raises:
        Refused: the file exists or cannot be written.
    """
    with (
        _written(target, _mode(yard)) as draft,
        said_plainly(yard.path),
        draft.open("w", encoding="utf-8") as out,
    ):
        step = schema.version(yard.connection)
        out.write(f'{{"contract": {json.dumps(CONTRACT)}, "step": {step}, "tables": {{')
        for n, (name, (columns, rows)) in enumerate(_tables(yard.connection)):
            out.write(
                ("," if n else "") + f'\n{json.dumps(name)}: {{"columns": {json.dumps(columns)}, "rows": ['
            )
            for i, row in enumerate(rows):
                out.write(("," if i else "") + "\n" + json.dumps(row, ensure_ascii=False))
            out.write("]}")
        out.write("\n}}\n")


def export_csv(yard: Yard, target: Path) -> None:
    """Write a folder with one CSV file a table.

    No cell of text can be taken for a formula by a spreadsheet: one that begins like a formula gets an
    apostrophe before it, as does a text that begins with one; an empty text is an apostrophe, an
    empty cell is nothing at all.

    Raises:
        Refused: the folder exists or cannot be written.
    """
    with _written(target, _mode(yard), folder=True) as draft, said_plainly(yard.path):
        (draft / "contract.txt").write_text(
            f"{CONTRACT} {schema.version(yard.connection)}\n", encoding="utf-8"
        )
        for name, (columns, rows) in _tables(yard.connection):
            with (draft / f"{name}.csv").open("w", encoding="utf-8", newline="") as out:
                writer = csv.writer(out)
                writer.writerow(columns)
                writer.writerows([guard(v) for v in row] for row in rows)


def guard(value: Value) -> str:
    """Return a cell that no spreadsheet takes for a formula and `unguard` reads back."""
    if value is None:
        return ""
    if isinstance(value, int):
        return str(value)
    return "'" + value if not value or value.startswith(_GUARDED) else value


def unguard(cell: str, whole: bool) -> Value:
    """Return what `guard` was given; `whole` says that the column holds whole numbers."""
    if not cell:
        return None
    if whole:
        return int(cell)
    return cell[1:] if cell.startswith("'") else cell


def import_yard(source: Path, path: Path) -> tuple[Path, ...]:
    """Make a yard at `path` from an export, JSON or CSV; it equals the yard exported.

    Returns where logs were put that lay there without a yard.

    Raises:
        BadInput: `source` is no export, or what it holds is not true to itself.
        Refused: `path` exists.
    """
    try:
        step, tables = _read_csv(source) if source.is_dir() else _read_json(source)
    except OSError as error:
        raise BadInput(f"{source} is not an export that can be read: {error.strerror}") from None
    except KeyError as error:
        raise BadInput(f"{source} is not an export of a yard: it has no {error}") from None
    except _STRANGE as error:
        raise BadInput(f"{source} is not an export of a yard: {str(error)[:100]}") from None
    private = not (files.mode_of(source) or 0) & 0o077
    return _build(path, step, tables, 0o600 if private else files.usual_mode())


def rebuild(yard: Yard, path: Path) -> None:
    """Make a new yard at `path` in which every row is what the ledger of `yard` adds up to.

    Raises:
        Refused: the ledger itself is broken, or `path` exists.
    """
    tables = dict(_tables(yard.connection))
    with said_plainly(yard.path):
        try:
            folded = fold(entries(yard.connection), defaults(yard.connection))
        except (ValueError, TypeError) as error:
            raise Refused(
                f"the ledger cannot be read to its end ({error}): restore a backup instead"
            ) from None
    if folded.broken:
        raise Refused(f"the ledger does not follow ({folded.broken[0]}): restore a backup instead")
    for name in schema.journalled(yard.connection):
        cols = schema.columns(yard.connection, name)
        rows = folded.state.get(name, {}).values()
        full = [[row.get(c, cols.defaults[c]) for c in cols.names] for row in rows]
        tables[name] = (list(cols.names), full)  # type: ignore[assignment]
    _build(path, schema.version(yard.connection), tables, _mode(yard))


@contextmanager
def _written(target: Path, mode: int, *, folder: bool = False) -> Iterator[Path]:
    """Yield an empty draft beside `target`; it gets its name when all is well, and replaces nothing.

    Raises:
        Refused: `target` exists, or cannot be written.
    """
    target = files.resolved(target)
    if os.path.lexists(target):
        raise Refused(f"{target} exists already: name another")
    files.make_folder(target.parent)
    try:
        with files.draft_of(target, folder=folder) as draft:
            yield draft
            files.place(draft, target, mode)
    except OSError as error:
        raise Refused(f"cannot write {target}: {error.strerror}") from None


def _mode(yard: Yard) -> int:
    """Return who may read what is written of a yard: whoever may read the yard."""
    return files.mode_of(yard.path) or 0o600


def _tables(db: sqlite3.Connection) -> Iterator[tuple[str, Table]]:
    """Yield (name, (columns, rows)) for all tables, those that only grow first."""
    for name in (*schema.grow_only(db), *schema.journalled(db)):
        columns = [row[1] for row in db.execute(f'PRAGMA table_info("{name}")')]
        rows = db.execute(f"SELECT {', '.join(columns)} FROM {name} ORDER BY rowid")
        yield name, (columns, (list(row) for row in rows))
    yield (
        _SEQUENCE,
        (["name", "seq"], (list(r) for r in db.execute("SELECT name, seq FROM sqlite_sequence ORDER BY 1"))),
    )


def _read_json(source: Path) -> tuple[int, dict[str, Table]]:
    with source.open(encoding="utf-8") as text:
        whole = json.load(text)
    if whole["contract"] != CONTRACT:
        raise ValueError(f"its contract is {whole['contract']}")
    return int(whole["step"]), {name: (list(t["columns"]), t["rows"]) for name, t in whole["tables"].items()}


def _read_csv(source: Path) -> tuple[int, dict[str, Table]]:
    contract, _, step = (source / "contract.txt").read_text(encoding="utf-8").strip().partition(" ")
    if contract != CONTRACT:
        raise ValueError(f"its contract is {contract}")
    whole = _whole_columns(int(step))
    csv.field_size_limit(1 << 30)
    tables: dict[str, Table] = {}
    for name, kinds in whole.items():
        with (source / f"{name}.csv").open(encoding="utf-8", newline="") as text:
            reader = csv.reader(text)
            columns = next(reader, [])
            is_whole = [kinds[c] for c in columns]
            rows = [[unguard(v, w) for v, w in zip(row, is_whole, strict=True)] for row in reader]
        tables[name] = (columns, rows)
    return int(step), tables


def _whole_columns(step: int) -> dict[str, dict[str, bool]]:
    """Return, for each table of that schema step, which columns hold whole numbers."""
    with closing(_fresh(None, step)) as db:
        kinds: dict[str, dict[str, bool]] = {_SEQUENCE: {"name": False, "seq": True}}
        for name in (*schema.grow_only(db), *schema.journalled(db)):
            kinds[name] = {row[1]: row[2] == "INTEGER" for row in db.execute(f'PRAGMA table_info("{name}")')}
    return kinds


def _fresh(path: Path | None, step: int) -> sqlite3.Connection:
    """Return a connection to a new database with the schema up to `step` and no rows."""
    if not 1 <= step <= schema.latest():
        raise BadInput(f"the export is of schema step {step}, this stockyard knows 1 to {schema.latest()}")
    if path is None:
        db = sqlite3.connect(":memory:", isolation_level=None)
    else:
        db = connect(path, 1.0, writable=True, create=True)
    db.execute("BEGIN IMMEDIATE")
    schema.upgrade(db, lambda _: None, step)
    db.execute("COMMIT")
    return db


def _build(path: Path, step: int, tables: dict[str, Table], mode: int) -> tuple[Path, ...]:
    """Make the yard beside its place, check it, and give it its name; return where stray logs were put."""
    path = files.resolved(path)
    if os.path.lexists(path):
        raise Refused(f"{path} exists already: name another")
    files.make_folder(path.parent)
    try:
        with files.draft_of(path) as draft:
            with said_plainly(path), closing(_fresh(draft, step)) as db:
                _load(db, tables)
                yard = Yard(draft, db, utc_now, writable=True)
                found = check(yard) if step == schema.latest() else ()
                if found:
                    raise BadInput(f"what is to be imported is not true to itself: {found[0].what}")
                db.execute("PRAGMA journal_mode = DELETE")
            strays = files.place(draft, path, mode)
    except OSError as error:
        raise Refused(f"cannot write {path}: {error.strerror}") from None
    look_at_result(path)
    return strays


def _load(db: sqlite3.Connection, tables: dict[str, Table]) -> None:
    """Put the rows in as they are: the rules are lifted meanwhile, `check` looks at the result."""
    db.execute("PRAGMA foreign_keys = OFF")
    db.execute("BEGIN IMMEDIATE")
    triggers = db.execute(
        "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger' ORDER BY rowid"
    ).fetchall()
    for name, _ in triggers:
        db.execute(f'DROP TRIGGER "{name}"')
    known = {*schema.grow_only(db), *schema.journalled(db)}
    try:
        for name in known:
            columns, rows = tables[name]
            allowed = {row[1] for row in db.execute(f'PRAGMA table_info("{name}")')}
            if sorted(columns) != sorted(allowed):
                raise BadInput(f"the table {name} of the export has other columns than the yard")
            marks = ", ".join("?" * len(columns))
            db.executemany(f"INSERT INTO {name} ({', '.join(columns)}) VALUES ({marks})", rows)
        db.execute("DELETE FROM sqlite_sequence")
        db.executemany("INSERT INTO sqlite_sequence (name, seq) VALUES (?, ?)", tables[_SEQUENCE][1])
    except (*_STRANGE, *_UNFIT) as error:
        db.execute("ROLLBACK")
        raise BadInput(f"the export does not make a yard: {error}") from None
    for _, sql in triggers:
        db.execute(sql)
    db.execute("COMMIT")
    db.execute("PRAGMA foreign_keys = ON")
