"""Undo: the opposite of a deed as a new deed; what depends on it is named and left alone."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from stockyard.errors import Refused
from stockyard.yard import schema
from stockyard.yard.ledger import DeedLine, deed_by_id
from stockyard.yard.store import Yard

_LASTING = ("new yard", "schema step", "import")
# What SQLite names when a row that comes back meets one made since, and what that means.
_IN_THE_WAY = {
    "stocktake.place_id": "another count of that place is open: finish it, or undo its start",
    "material_by_name": "there is another material of that name and thickness now: rename that one",
    "job_by_name": "there is another job of that name now: remove that one",
    "plan.job_id": "the job has another plan now: release that one",
    "place.code": "there is another place of that code now: undo that one",
    "FOREIGN KEY": "something it needs was itself undone: do that again first",
}


@dataclass(frozen=True, slots=True)
class _Undone:
    """Which deed undid which: a deed counts unless a deed that counts undid it."""

    by: dict[int, int]

    def tip(self, deed: int) -> int:
        """Return the last deed in the chain of undoing and doing again."""
        while deed in self.by:
            deed = self.by[deed]
        return deed

    def counts(self, deed: int) -> bool:
        """Whether the deed stands: undone an even number of times."""
        length = 0
        while deed in self.by:
            deed = self.by[deed]
            length += 1
        return length % 2 == 0


def _undone(yard: Yard) -> _Undone:
    return _Undone(
        {r["undoes"]: r["id"] for r in yard.rows("SELECT undoes, id FROM deed WHERE undoes IS NOT NULL")}
    )


def last_deed(yard: Yard) -> DeedLine:
    """Return the newest deed that stands and can be undone.

    Raises:
        Refused: there is none.
    """
    undone = _undone(yard)
    row = yard.row("SELECT max(id) FROM deed")
    deed_id = row[0] if row else 0
    while deed_id:
        line = deed_by_id(yard, deed_id)
        if line.undoes is None and line.what not in _LASTING and undone.counts(deed_id):
            return line
        deed_id -= 1
    raise Refused("there is nothing to undo")


def undo(yard: Yard, deed_id: int | None = None) -> DeedLine:
    """Undo one deed (the last that stands by default) by its opposite; return the deed made.

    Undoing an undo does the first deed again.

    Raises:
        Refused: it is undone already, cannot be undone, later deeds depend on it (they are named), or
            something made since has its name or its place.
    """
    with yard.deed("undo") as deed:
        line = last_deed(yard) if deed_id is None else deed_by_id(yard, deed_id)
        if line.what in _LASTING:
            raise Refused(f"deed {line.id} ({line.says}) cannot be undone")
        undone = _undone(yard)
        target = undone.tip(line.id)
        if not undone.counts(line.id):
            raise Refused(f"deed {line.id} ({line.says}) is undone already, by deed {target}")
        blockers = _blockers(yard, target, undone)
        if blockers:
            named = "; ".join(f"{b.id} ({b.says})" for b in blockers[:5]) + (
                "; ..." if len(blockers) > 5 else ""
            )
            raise Refused(f"deed {line.id} ({line.says}) cannot be undone while these stand: {named}")
        first = deed_by_id(yard, _root(yard, target))
        words = f"undid {first.id}" if undone.counts(first.id) else f"did {first.id} again"
        deed.begin(f"{words}: {first.says}", undoes=target)
        with _told_what_is_in_the_way(line):
            _reverse(yard, target)
    return deed_by_id(yard, deed.id)


@contextmanager
def _told_what_is_in_the_way(line: DeedLine) -> Iterator[None]:
    try:
        yield
    except sqlite3.IntegrityError as error:
        why = next((why for named, why in _IN_THE_WAY.items() if named in str(error)), None)
        if why is None:
            raise
        raise Refused(f"deed {line.id} ({line.says}) cannot be undone: {why}") from None


def _entries(yard: Yard, deed_id: int) -> list[sqlite3.Row]:
    return yard.rows("SELECT * FROM entry WHERE deed_id = ? ORDER BY id", (deed_id,))


def _blockers(yard: Yard, target: int, undone: _Undone) -> list[DeedLine]:
    """Return the standing deeds after `target` that changed the same fields or point at rows it made."""
    found: set[int] = set()
    entries = _entries(yard, target)
    own = {(e["thing"], e["thing_key"]) for e in entries if e["was"] is None}
    for e in entries:
        later = yard.rows(
            "SELECT id, deed_id, was, now FROM entry WHERE thing = ? AND thing_key = ? AND deed_id > ?",
            (e["thing"], e["thing_key"], target),
        )
        found.update(x["deed_id"] for x in later if _same_fields(e, x))
        if e["was"] is None:
            found.update(_pointing(yard, e["thing"], e["thing_key"], own))
    roots = {_root(yard, d) for d in found} - {_root(yard, target)}
    return [deed_by_id(yard, d) for d in sorted(roots) if undone.counts(d)]


def _same_fields(a: sqlite3.Row, b: sqlite3.Row) -> bool:
    """Whether two entries of one row touch a field in common; making and unmaking touch all."""
    if None in (a["was"], a["now"], b["was"], b["now"]):
        return True
    return bool(json.loads(a["now"]).keys() & json.loads(b["now"]).keys())


def _root(yard: Yard, deed_id: int) -> int:
    """Return the deed at the start of a chain of undoing."""
    while (line := deed_by_id(yard, deed_id)).undoes is not None:
        deed_id = line.undoes
    return deed_id


def _pointing(yard: Yard, thing: str, key: str, own: set[tuple[str, str]]) -> Iterable[int]:
    """Yield the deeds that made rows which point at this row, but for rows made together with it."""
    for table in schema.journalled(yard.connection):
        key_column = schema.columns(yard.connection, table).key
        for link in yard.rows(f'PRAGMA foreign_key_list("{table}")'):
            if link["table"] != thing:
                continue
            rows = yard.rows(f"SELECT {key_column} FROM {table} WHERE {link['from']} = ? LIMIT 50", (key,))
            for (pointing,) in rows:
                if (table, str(pointing)) not in own:
                    yield yard.one(
                        "SELECT max(deed_id) FROM entry WHERE thing = ? AND thing_key = ?"
                        f" AND (was IS NULL OR now ->> '$.{link['from']}' IS NOT NULL)",
                        (table, str(pointing)),
                    )


def _reverse(yard: Yard, target: int) -> None:
    """Change each row back, the last change first; the journal writes the opposite entries itself.

    Raises:
        Refused: a row is not as the deed left it.
    """
    for e in reversed(_entries(yard, target)):
        key = schema.columns(yard.connection, e["thing"]).key
        now = json.loads(e["now"] or "{}")
        as_left = " AND ".join([f"{key} = ?", *(f"{name} IS ?" for name in now)])
        place = (e["thing_key"], *now.values())
        if e["was"] is None:
            changed = yard.write(f"DELETE FROM {e['thing']} WHERE {as_left}", place)
        elif e["now"] is None:
            changed = int(yard.insert(e["thing"], **json.loads(e["was"])) > 0)
        else:
            was = json.loads(e["was"])
            fields = ", ".join(f"{name} = ?" for name in was)
            changed = yard.write(f"UPDATE {e['thing']} SET {fields} WHERE {as_left}", (*was.values(), *place))
        if changed != 1:
            thing = f"{e['thing']} {e['thing_key']}"
            raise Refused(f"{thing} is not as deed {target} left it: undo what came after it first")
