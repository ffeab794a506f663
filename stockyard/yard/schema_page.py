"""The page about the schema, made from a new database: `python -m stockyard.yard.schema_page`."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from stockyard.yard import schema

PAGE = Path(__file__).parents[2] / "db" / "README.md"
_HEAD = """# The yard's tables

This page is made from the database by `python -m stockyard.yard.schema_page`; a test keeps it current.

A yard is one SQLite file. Lengths are ticks (1/3200 mm: 1 in = 81280, 1 mm = 3200), areas ticks², money
ten-thousandths of the shop's currency, weights grams, times UTC. Open it with any SQLite program and start
with the views. Look as much as you like; a change made by hand is refused, since every change belongs to a
deed of the ledger.

How the ledger works: a command opens a deed (`deed`, `open_deed`), changes rows, and closes it. For each
changed row the database writes an `entry` with the fields as they were and as they are now, through
triggers made from the columns of each table (`journal_...`). When the deed closes, the database looks at
the sums of every piece it touched. So the state is what the entries add up to, an undo is the opposite
entries, and `stockyard yard check` proves both.

How the seals work: a deed that closes is sealed (`seal`) with a SHA-256 of three lines, joined by line feeds,
in UTF-8: the seal of the deed before (64 zeros for the first); the fields of the deed as a JSON object; its
entries, by id, as a JSON list of such objects. Fields stand in the order of the columns; those that are empty
or have the column's default are left out. The JSON (RFC 8259) has a space after each `:` and `,` and writes
what is not ASCII as `\\uXXXX`. A late seal has a fourth line, `late`: its deed is older than the seals, which
were put on when the yard was brought up to date, and it vouches only from then on. Whoever changes anything
of the past must make all later seals anew: the last seal, which `stockyard yard check` prints, vouches for
the whole past where it was noted outside the file.
"""


def page() -> str:
    """Return the page as Markdown."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        db.execute("BEGIN")
        schema.upgrade(db, lambda _: None)
        db.execute("COMMIT")
        sections = [
            _HEAD,
            "## Views\n",
            *_views(db),
            "## Tables\n",
            *_tables(db),
            "## What is refused\n",
            *_rules(db),
        ]
    return "\n".join(sections)


def _objects(db: sqlite3.Connection, kind: str) -> list[tuple[str, str, str]]:
    rows = db.execute("SELECT name, tbl_name, sql FROM sqlite_schema WHERE type = ? ORDER BY rowid", (kind,))
    return [(n, t, sql or "") for n, t, sql in rows if not n.startswith(("sqlite", "_sqlite"))]


def _views(db: sqlite3.Connection) -> Iterator[str]:
    for name, _, sql in _objects(db, "view"):
        columns = ", ".join(f"`{row[1]}`" for row in db.execute(f'PRAGMA table_info("{name}")'))
        yield f"- **{name}**: {_about(sql)} Columns: {columns}."
    yield ""


def _about(sql: str) -> str:
    """Return the comment that opens a table or view: the lines before its first column."""
    found = re.search(r"(?:AS|\()\n((?:\s*--[^\n]*\n)+)", sql)
    return " ".join(re.findall(r"--\s*(.*)", found[1])) if found else ""


def _tables(db: sqlite3.Connection) -> Iterator[str]:
    indexes = _objects(db, "index")
    for name, _, sql in _objects(db, "table"):
        kept = "" if name in schema.journalled(db) else " Not journalled."
        yield f"### {name}\n\n{_about(sql)}{kept}\n"
        yield "| column | type | may be empty | default | points at | about |"
        yield "|---|---|---|---|---|---|"
        links = {row[3]: f"{row[2]}" for row in db.execute(f'PRAGMA foreign_key_list("{name}")')}
        notes = dict(re.findall(r"--\s*(\w+): (.*)", sql))
        for _, column, kind, filled, default, key, hidden in db.execute(f'PRAGMA table_xinfo("{name}")'):
            empty = "" if filled or key else "yes"
            mark = " (key)" if key else " (computed)" if hidden else ""
            row = (
                f"{column}{mark}",
                kind,
                empty,
                default or "",
                links.get(column, ""),
                notes.get(column, ""),
            )
            yield "| " + " | ".join(row) + " |"
        looked_up = [
            re.sub(r"\s+", " ", sql.partition(" ON ")[2]) for _, t, sql in indexes if t == name and sql
        ]
        yield ("\nIndexes: " + "; ".join(f"`{i}`" for i in looked_up) + ".\n") if looked_up else ""


def _rules(db: sqlite3.Connection) -> Iterator[str]:
    yield "Besides the checks, unique keys and foreign keys of the tables:\n"
    for name, table, sql in _objects(db, "trigger"):
        said = re.search(r"RAISE\(ABORT, '((?:[^']|'')*)'\)", sql)
        if said and not name.startswith("journal_"):
            yield f"- {table}: {said[1].replace(chr(39) * 2, chr(39))}."
    yield "- every journalled table: a change without an open deed; replacing a row; another key for a row."
    yield ""


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE}")
