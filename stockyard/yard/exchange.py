"""Export and import: everything in a yard as JSON or CSV tables, and back into an equal yard."""

from __future__ import annotations

import csv
import json
import os
import re
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from stockyard.errors import BadInput, Refused
from stockyard.text import leaving
from stockyard.yard import files, schema, schema_page
from stockyard.yard.building import SEQUENCE, STRANGE, Table, Value, build, fresh, told
from stockyard.yard.check import defaults, entries
from stockyard.yard.fold import fold
from stockyard.yard.store import Yard
from stockyard.yard.trouble import said_plainly

CONTRACT = "stockyard/yard/1"
_LONGEST_WHOLE = 20
# What a spreadsheet takes for something else than text, also after blanks or in wide characters.
_TAKEN = re.compile(r"\s*[=+\-@'\d.,＝＋－＠]|[\t\r\n]")
_UNITS = {
    "lengths": "1/3200 mm", "areas": "(1/3200 mm)²", "money": "1/10000 of the shop's currency",
    "weights": "g", "times": "UTC",
}  # fmt: skip


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
        out.write(f'{{"contract": {json.dumps(CONTRACT)}, "step": {step}, ')
        out.write(f'"units": {json.dumps(_UNITS, ensure_ascii=False)}, "tables": {{')
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

    No cell of text can be taken for a formula, a number or a date by a spreadsheet: one that begins like
    a formula or with a figure gets an apostrophe before it, as does a text that begins with one; an empty
    text is an apostrophe, an empty cell is nothing at all. `columns.md` says what the columns are.

    Raises:
        Refused: the folder exists or cannot be written.
    """
    with _written(target, _mode(yard), folder=True) as draft, said_plainly(yard.path):
        (draft / "contract.txt").write_text(
            f"{CONTRACT} {schema.version(yard.connection)}\n", encoding="utf-8"
        )
        (draft / "columns.md").write_text(schema_page.page(), encoding="utf-8")
        for name, (columns, rows) in _tables(yard.connection):
            with (draft / f"{name}.csv").open("w", encoding="utf-8", newline="") as out:
                writer = csv.writer(out)
                writer.writerow(columns)
                writer.writerows([guard(v) for v in row] for row in rows)


def guard(value: Value) -> str:
    """Return a cell that no spreadsheet takes for a formula or a number and `unguard` reads back."""
    if value is None:
        return ""
    if isinstance(value, int):
        return str(value)
    return "'" + value if not value or _TAKEN.match(value) else value


def unguard(cell: str, *, whole: bool) -> Value:
    """Return what `guard` was given; `whole` says that the column holds whole numbers."""
    if not cell:
        return None
    if whole:
        if len(cell) > _LONGEST_WHOLE:
            raise ValueError("too long a number")
        return int(cell)
    return cell[1:] if cell.startswith("'") else cell


def import_yard(source: Path, path: Path) -> tuple[Path, ...]:
    """Make a yard at `path` from an export, JSON or CSV; it equals the yard exported.

    Returns where logs were put that lay there without a yard.

    Raises:
        BadInput: `source` is no export, or what it holds is not true to itself.
        Refused: `path` exists.
    """
    kept_out = _not_a_file(source)
    if kept_out:
        raise BadInput(f"{source} is not an export that can be read: {kept_out}")
    try:
        step, tables = _read_csv(source) if source.is_dir() else _read_json(source)
    except OSError as error:
        named = Path(error.filename).name if error.filename and source.is_dir() else source
        raise BadInput(f"{source} is not an export that can be read: {named}: {error.strerror}") from None
    except KeyError as error:
        raise BadInput(f"{source} is not an export of a yard: it has no {error}") from None
    except STRANGE as error:
        raise BadInput(f"{source} is not an export of a yard: {str(error)[:100]}") from None
    private = not (files.mode_of(source) or 0) & 0o077
    return build(path, step, tables, 0o600 if private else files.usual_mode())


def _not_a_file(source: Path) -> str:
    """Say what keeps a path from being an export: devices and pipes may never end."""
    try:
        mode = source.stat().st_mode
    except OSError as error:
        return str(error.strerror)
    return "" if stat.S_ISREG(mode) or stat.S_ISDIR(mode) else "it is neither a file nor a folder"


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
    build(path, schema.version(yard.connection), tables, _mode(yard))


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
        SEQUENCE,
        (["name", "seq"], (list(r) for r in db.execute("SELECT name, seq FROM sqlite_sequence ORDER BY 1"))),
    )


def _read_json(source: Path) -> tuple[int, dict[str, Table]]:
    with source.open(encoding="utf-8") as text:
        whole = json.load(text)
    if not isinstance(whole, dict):
        raise ValueError("it has no tables")
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
    wrong: list[str] = []
    for name, kinds in whole.items():
        file = f"{name}.csv"
        with (source / file).open(encoding="utf-8", newline="") as text:
            reader = csv.reader(text)
            columns = next(reader, [])
            is_whole = [kinds[c] for c in columns]
            rows = _cells(reader, is_whole, file, wrong)
        tables[name] = (columns, rows)
    if wrong:
        raise BadInput(told(wrong))
    return int(step), tables


def _cells(reader: Any, is_whole: list[bool], file: str, wrong: list[str]) -> list[list[Value]]:
    """Return the values of a table's rows; add to `wrong` what is said of a row that does not fit."""
    rows: list[list[Value]] = []
    for row in reader:
        if len(row) != len(is_whole):
            cells = f"{len(row)} cells, there are {len(is_whole)} columns"
            wrong.append(f"line {reader.line_num} of {file} has {cells}")
            continue
        try:
            rows.append([unguard(v, whole=w) for v, w in zip(row, is_whole, strict=True)])
        except ValueError:
            figures = [v for v, w in zip(row, is_whole, strict=True) if w and v]
            bad = next(v for v in figures if not re.fullmatch(r"-?[0-9]{1,19}", v))
            wrong.append(f"line {reader.line_num} of {file}: '{leaving(bad[:40])}' is no number")
    return rows


def _whole_columns(step: int) -> dict[str, dict[str, bool]]:
    """Return, for each table of that schema step, which columns hold whole numbers."""
    with closing(fresh(None, step)) as db:
        kinds: dict[str, dict[str, bool]] = {SEQUENCE: {"name": False, "seq": True}}
        for name in (*schema.grow_only(db), *schema.journalled(db)):
            kinds[name] = {row[1]: row[2] == "INTEGER" for row in db.execute(f'PRAGMA table_info("{name}")')}
    return kinds
