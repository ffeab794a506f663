"""The chain of seals: each deed is sealed with a hash over itself and the seal before it.

Whoever changes, adds or takes away anything of a past deed would have to make every later seal anew; so
the seal of the last deed, noted elsewhere, vouches for all that came before it.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

FIRST = "0" * 64
"""What stands for the seal before the first deed."""
_BATCH = 5000


@dataclass(frozen=True, slots=True)
class LastSeal:
    """The newest seal, and the last deed that was sealed only when the yard was brought up to date."""

    deed: int
    digest: str
    late_to: int | None


Row = Sequence[object]
Filled = Callable[[Row], dict[str, object]]


def sealed(before: str, deed: dict[str, object], entries: list[dict[str, object]], *, late: bool) -> str:
    """Return the seal of a deed: SHA-256 of the UTF-8 of lines, the seal before it, the deed, its entries.

    The deed is written as `json.dumps` writes its fields in the order of the columns, without those that are
    empty or have their column's default: so a column that a later schema step adds changes no old seal.
    Its entries are written likewise, as one list in order of their ids. A late seal has a last line "late".
    """
    lines = [before, json.dumps(deed), json.dumps(entries), *(["late"] if late else [])]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def has_seals(db: sqlite3.Connection) -> bool:
    """Whether this file has come to the schema step that brought seals."""
    return db.execute("SELECT 1 FROM sqlite_schema WHERE name = 'seal'").fetchone() is not None


def seal_deed(db: sqlite3.Connection, deed_id: int) -> None:
    """Seal the deed that is being closed; where it is the first to be sealed, seal those before it late."""
    if not has_seals(db):
        return
    last = last_seal(db)
    before = last.digest if last else FIRST
    made = []
    for number, deed, entries in _deeds(db, deed_id - 1 if last else 0):
        late = number != deed_id
        before = sealed(before, deed, entries, late=late)
        made.append((number, before, int(late)))
    db.executemany("INSERT INTO seal (deed_id, digest, late) VALUES (?, ?, ?)", made)


def last_seal(db: sqlite3.Connection) -> LastSeal | None:
    """Return the newest seal; None where there is none."""
    row = db.execute("SELECT deed_id, digest FROM seal ORDER BY deed_id DESC LIMIT 1").fetchone()
    (late,) = db.execute("SELECT max(deed_id) FROM seal WHERE late = 1").fetchone()
    return LastSeal(row[0], row[1], late) if row else None


def broken(db: sqlite3.Connection) -> Iterator[str]:
    """Yield, in words, each deed that is not as it was when it was sealed, and each without a seal."""
    kept = {number: (digest, late) for number, digest, late in db.execute("SELECT * FROM seal")}
    before = FIRST
    for number, deed, entries in _deeds(db, 0):
        digest, late = kept.pop(number, ("", 0))
        if not digest:
            yield f"entry {number} has no seal: it was not done by this program, or its seal was taken off"
        elif sealed(before, deed, entries, late=bool(late)) != digest:
            yield f"entry {number}, or its seal or the one before it, is not as it was when it was sealed"
        before = digest or before
    for number in kept:
        yield f"there is a seal of an entry {number}, which is not there"


def _deeds(
    db: sqlite3.Connection, after: int
) -> Iterator[tuple[int, dict[str, object], list[dict[str, object]]]]:
    """Yield (number, fields, fields of its entries) of the deeds after one."""
    filled = _filled(db, "deed")
    groups = groupby(_entries(db, after), _deed_of)
    found, group = next(groups, (None, iter(())))
    for row in db.execute("SELECT * FROM deed WHERE id > ? ORDER BY id", (after,)).fetchall():
        entries: list[dict[str, object]] = []
        while isinstance(found, int) and found <= row[0]:
            entries += group
            found, group = next(groups, (None, iter(())))
        yield row[0], filled(row), entries


def _deed_of(entry: dict[str, object]) -> object:
    """Return the deed of an entry; a damaged one may have none."""
    return entry.get("deed_id")


def _entries(db: sqlite3.Connection, after: int) -> Iterator[dict[str, object]]:
    """Yield the fields of the entries of all deeds after one: of few by the index, of all in one sweep."""
    filled = _filled(db, "entry")
    if after:
        rows = db.execute(
            "SELECT * FROM entry INDEXED BY entry_of_deed WHERE deed_id > ? ORDER BY deed_id, id", (after,)
        )
    else:
        rows = db.execute("SELECT * FROM entry ORDER BY id")
    while batch := rows.fetchmany(_BATCH):
        yield from map(filled, batch)


def _filled(db: sqlite3.Connection, table: str) -> Filled:
    """Return what makes a dictionary of a row, without what is empty or has its column's default."""
    columns = db.execute(f'PRAGMA table_info("{table}")').fetchall()
    names = [c[1] for c in columns]
    worth = [db.execute(f"SELECT {c[4]}").fetchone()[0] if c[4] is not None else None for c in columns]
    usual = list(zip(names, worth, strict=True))

    def fill(row: Row) -> dict[str, object]:
        return {
            name: v for (name, default), v in zip(usual, row, strict=True) if v is not None and v != default
        }

    return fill
