"""Check: is the file sound, does the ledger add up to the state, do the rules of the yard hold?"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import islice
from pathlib import Path

from stockyard.tags import tag_number
from stockyard.yard import schema, seal
from stockyard.yard.fold import Entry, Row, fold
from stockyard.yard.store import BUSY_SECONDS, Yard, connect
from stockyard.yard.trouble import said_plainly


class Mend(StrEnum):
    """What mends a difference; how that is done is the door's to say."""

    RESTORE = "restore"
    """Go back to the newest backup that checks."""
    REBUILD = "rebuild"
    """Make a new yard from the ledger, if the ledger is right; else restore."""
    NEW_TAG = "new tag"
    DROP = "drop"
    """Take out the object of the schema that `Difference.about` names, with an SQLite program."""
    CLOSE_DEED = "close deed"
    """Empty the table open_deed, with an SQLite program."""
    PLAN_AGAIN = "plan again"


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not as it must be, what mends it, and what must be named to do so."""

    what: str
    mend: Mend
    about: str = ""


# What the tables of the ledger are called on a screen.
_LEDGER = {"deed": "the ledger's entries", "entry": "the lines of its entries"}
_CACHE_KIB = 200_000
_BATCH = 5000


def check(yard: Yard) -> tuple[Difference, ...]:
    """Return every difference found; none means that the record is true to itself.

    Looks at the file (SQLite's own integrity and foreign keys), the schema, the ledger's order
    and seals, each undo against what it undid, every row against the fold of the ledger, tags, texts,
    promises, and the areas and costs of everything cut.
    """
    with said_plainly(yard.path), ThreadPoolExecutor(1) as beside:
        # SQLite looks at the file on one core while Python adds up the ledger on another.
        file = beside.submit(_file, yard.path)
        found: list[Difference] = []
        yard.connection.execute("BEGIN")
        try:
            for look in (
                _schema,
                _keys,
                _ledger,
                _seals,
                _undos,
                _rows,
                _tags,
                _documents,
                _balance,
                _promises,
                _flaws,
                _deeds,
            ):
                found.extend(look(yard.connection))
        except (sqlite3.DatabaseError, ValueError, TypeError, AttributeError, LookupError) as error:
            found.append(Difference(f"the record cannot be read to its end: {error}", Mend.RESTORE))
        finally:
            yard.connection.execute("ROLLBACK")
        return (*file.result(), *found)


def _file(path: Path) -> list[Difference]:
    with closing(connect(path, BUSY_SECONDS, writable=False)) as db:
        db.execute(f"PRAGMA cache_size = -{_CACHE_KIB}")
        said = [row[0] for row in db.execute("PRAGMA integrity_check(20)").fetchall()]
    return [
        Difference(f"the file fails SQLite's integrity check: {s}", Mend.RESTORE) for s in said if s != "ok"
    ]


def _schema(db: sqlite3.Connection) -> Iterator[Difference]:
    """Compare tables, indexes, triggers and views with a yard made new."""
    wanted = _expected(schema.steps())
    got = _objects(db)
    for name in sorted(wanted.keys() - got.keys()):
        yield Difference(f"the schema lacks the {name}", Mend.RESTORE)
    for name in sorted(got.keys() - wanted.keys()):
        yield Difference(f"the schema has a {name} that is not ours", Mend.DROP, name)
    for name in sorted(n for n in wanted.keys() & got.keys() if wanted[n] != got[n]):
        yield Difference(f"the {name} is not as it was made", Mend.RESTORE)


@cache
def _expected(_: tuple[schema.Step, ...]) -> dict[str, str]:
    """Return the objects of a new database made by these steps."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as fresh:
        fresh.execute("BEGIN")
        schema.upgrade(fresh, lambda _: None)
        fresh.execute("COMMIT")
        return _objects(fresh)


def _objects(db: sqlite3.Connection) -> dict[str, str]:
    rows = db.execute("SELECT type, name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite%'")
    return {f"{kind} {name}": sql or "" for kind, name, sql in rows if not name.startswith("_sqlite")}


def _keys(db: sqlite3.Connection) -> Iterator[Difference]:
    for table, rowid, parent, _ in db.execute("PRAGMA foreign_key_check").fetchall():
        of, at = (_LEDGER.get(name, name) for name in (table, parent))
        yield Difference(f"row {rowid} of {of} points at a row of {at} that is not there", Mend.REBUILD)


def _ledger(db: sqlite3.Connection) -> Iterator[Difference]:
    """Look for gaps: ids are given without holes."""
    for table, held in _LEDGER.items():
        count, top = db.execute(f"SELECT count(*), coalesce(max(id), 0) FROM {table}").fetchone()
        (given,) = db.execute(
            "SELECT coalesce(max(seq), 0) FROM sqlite_sequence WHERE name = ?", (table,)
        ).fetchone()
        if count != top or given != top:
            yield Difference(f"{held} are lost: {count} of {max(top, given)} are there", Mend.RESTORE)
    for table, given in db.execute("SELECT name, seq FROM sqlite_sequence").fetchall():
        (top,) = db.execute(
            "SELECT max(CAST(thing_key AS INTEGER)) FROM entry WHERE thing = ?", (table,)
        ).fetchone()
        if table not in _LEDGER and given != top:
            yield Difference(
                f"the last number given to a {table} is {given}, the ledger has {top}", Mend.RESTORE
            )


def _seals(db: sqlite3.Connection) -> Iterator[Difference]:
    for what in islice(seal.broken(db), 20):
        yield Difference(what, Mend.RESTORE)


def _undos(db: sqlite3.Connection) -> Iterator[Difference]:
    """Each undo holds exactly the opposite entries, in the opposite order."""
    sql = "SELECT thing, thing_key, was, now FROM entry WHERE deed_id = ? ORDER BY id"
    for undo, undone in db.execute("SELECT id, undoes FROM deed WHERE undoes IS NOT NULL").fetchall():
        first = [(t, k, _parsed(w), _parsed(n)) for t, k, w, n in db.execute(sql, (undone,)).fetchall()]
        back = [(t, k, _parsed(n), _parsed(w)) for t, k, w, n in db.execute(sql, (undo,)).fetchall()]
        if first != back[::-1]:
            yield Difference(
                f"entry {undo} is not the opposite of entry {undone}, which it undoes", Mend.RESTORE
            )


def _parsed(text: str | None) -> object:
    return None if text is None else json.loads(text)


def entries(db: sqlite3.Connection) -> Iterator[Entry]:
    """Yield all entries in order."""
    found = db.execute("SELECT id, deed_id, thing, thing_key, was, now FROM entry ORDER BY id")
    while batch := found.fetchmany(_BATCH):
        # One text of many rows is read several times faster than many texts.
        was = json.loads(f"[{','.join(row[4] or 'null' for row in batch)}]")
        now = json.loads(f"[{','.join(row[5] or 'null' for row in batch)}]")
        for row, before, after in zip(batch, was, now, strict=True):
            yield Entry(row[0], row[1], row[2], row[3], before, after)


def defaults(db: sqlite3.Connection) -> dict[str, Row]:
    """Return, for each journalled table, what a field is worth in rows older than itself."""
    return {name: schema.columns(db, name).defaults for name in schema.journalled(db)}


def _rows(db: sqlite3.Connection) -> Iterator[Difference]:
    """Compare every journalled row with the fold of the ledger."""
    folded = fold(entries(db), defaults(db))
    for fault in folded.broken[:20]:
        yield Difference(f"the ledger does not follow: {fault}", Mend.RESTORE)
    undos = {row[0] for row in db.execute("SELECT id FROM deed WHERE undoes IS NOT NULL")}
    for first, parent, entry in folded.again:
        if entry.deed_id not in undos and (parent is None or parent != first):
            yield Difference(f"tag {entry.key} was used for two pieces", Mend.NEW_TAG)
    for table in schema.journalled(db):
        yield from _compare(db, table, folded.state.pop(table, {}))
    for table in folded.state:
        yield Difference(f"the ledger speaks of {table}, which is no table of this yard", Mend.RESTORE)


def _compare(db: sqlite3.Connection, table: str, expected: dict[str, Row]) -> Iterator[Difference]:
    cols = schema.columns(db, table)
    at = cols.names.index(cols.key) if cols.key in cols.names else 0
    for values in db.execute(f"SELECT {', '.join(cols.names)} FROM {table}"):
        key = str(values[at])
        row = expected.pop(key, None)
        if row is None:
            yield Difference(f"{table} {key} is there, but the ledger knows nothing of it", Mend.REBUILD)
            continue
        for name, value in zip(cols.names, values, strict=True):
            should = row.get(name, cols.defaults[name])
            if should != value:
                what = f"{table} {key} has {name} {_short(value)}, the ledger adds up to {_short(should)}"
                yield Difference(what, Mend.REBUILD)
    for key in expected:
        yield Difference(f"{table} {key} is missing, the ledger has it", Mend.REBUILD)


def _short(value: object) -> str:
    return "nothing" if value is None else str(value)[:40]


def _tags(db: sqlite3.Connection) -> Iterator[Difference]:
    """Tags are given out in order, each as its number says."""
    for n, code in db.execute("SELECT number, code FROM tag ORDER BY number"):
        if tag_number(n) != code:
            yield Difference(f"tag number {n} is {code}, it should be {tag_number(n)}", Mend.RESTORE)
    count, top = db.execute("SELECT count(*), coalesce(max(number) + 1, 0) FROM tag").fetchone()
    if count != top:
        yield Difference(f"{top - count} tags given out are lost from the list of tags", Mend.RESTORE)


def _documents(db: sqlite3.Connection) -> Iterator[Difference]:
    for digest, body in db.execute("SELECT digest, body FROM document"):
        if hashlib.sha256(body.encode("utf-8")).hexdigest() != digest:
            yield Difference(f"the text {digest[:12]}... was changed after it was kept", Mend.RESTORE)


def _balance(db: sqlite3.Connection) -> Iterator[Difference]:
    rows = db.execute("SELECT tag, area, scrap + in_parts + in_offcuts, cost, cost_given FROM cut_balance")
    for tag, area, given, cost, cost_given in rows:
        if area != given:
            yield Difference(f"{tag} gave {given} ticks² of its {area}", Mend.REBUILD)
        if cost != cost_given:
            yield Difference(f"{tag} cost {cost}, its parts and offcuts carry {cost_given}", Mend.REBUILD)
    rows = db.execute(
        "SELECT p.tag FROM piece p LEFT JOIN cutting c ON c.tag = p.tag"
        " WHERE (p.state = 'cut') <> (c.tag IS NOT NULL)"
    )
    for (tag,) in rows:
        yield Difference(f"{tag} is cut without a cutting, or not cut with one", Mend.REBUILD)
    rows = db.execute(
        "SELECT o.tag, p.tag FROM piece o JOIN piece p ON p.tag = o.parent WHERE p.state <> 'cut'"
    )
    for tag, parent in rows:
        yield Difference(f"{tag} was cut from {parent}, which is not cut", Mend.REBUILD)


def _promises(db: sqlite3.Connection) -> Iterator[Difference]:
    rows = db.execute(
        "SELECT p.tag FROM piece p WHERE p.state IN ('promised', 'pulled') AND NOT EXISTS ("
        "SELECT 1 FROM layout l JOIN plan n ON n.id = l.plan_id WHERE l.tag = p.tag AND n.id = p.plan_id"
        " AND n.state IN ('standing', 'broken'))"
    )
    for (tag,) in rows:
        yield Difference(f"{tag} is promised by no plan that stands", Mend.REBUILD)
    rows = db.execute(
        "SELECT l.tag, n.id FROM plan n JOIN layout l ON l.plan_id = n.id JOIN piece p ON p.tag = l.tag"
        " WHERE n.state = 'standing' AND p.plan_id IS NOT n.id"
    )
    for tag, plan in rows:
        yield Difference(f"plan {plan} stands but does not hold its piece {tag}", Mend.REBUILD)
    around = db.execute(
        "WITH RECURSIVE up(start, id, n) AS (SELECT id, inside_id, 1 FROM place WHERE inside_id IS NOT NULL"
        " UNION ALL SELECT up.start, p.inside_id, n + 1 FROM up JOIN place p ON p.id = up.id"
        " WHERE p.inside_id IS NOT NULL AND n < 1000) SELECT DISTINCT start FROM up WHERE start = id"
    )
    for (place,) in around:
        yield Difference(f"place {place} is inside itself", Mend.REBUILD)


def _flaws(db: sqlite3.Connection) -> Iterator[Difference]:
    for tag, length, width, text in db.execute(
        "SELECT tag, length, width, flaws FROM piece WHERE flaws <> '[]'"
    ):
        for x, y, dx, dy in json.loads(text):
            if min(x, y) < 0 or min(dx, dy) < 1 or x + dx > length or y + dy > width:
                yield Difference(f"{tag} has a flaw that reaches out of it", Mend.REBUILD)


def _deeds(db: sqlite3.Connection) -> Iterator[Difference]:
    for (deed,) in db.execute("SELECT deed_id FROM open_deed"):
        yield Difference(f"entry {deed} was left open", Mend.CLOSE_DEED)
    rows = db.execute(
        "SELECT id FROM deed WHERE what <> 'schema step'"
        " AND NOT EXISTS (SELECT 1 FROM entry WHERE deed_id = deed.id) LIMIT 20"
    )
    for (deed,) in rows:
        yield Difference(f"entry {deed} has nothing in it", Mend.RESTORE)
