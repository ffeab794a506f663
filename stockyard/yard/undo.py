"""Undo: the opposite of a deed as a new deed; what depends on it is named and left alone."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from stockyard.errors import Refused
from stockyard.yard import schema
from stockyard.yard.labels import mark_printed
from stockyard.yard.ledger import DeedLine, deed_by_id
from stockyard.yard.store import Yard

_LASTING = ("new yard", "schema step", "import")
# What SQLite names when a row that comes back meets one made since: how to find that one, and what to say.
_IN_THE_WAY = {
    "stocktake.place_id": (
        "SELECT id FROM stocktake WHERE place_id = :place_id AND ended_at IS NULL",
        "another count of that place is open: finish it, or undo its start",
    ),
    "material_by_name": (
        "SELECT id FROM material WHERE lower(name) = lower(:name)"
        " AND lower(thickness_name) = lower(:thickness_name)",
        "there is another material of that name and thickness now: rename that one",
    ),
    "job_by_name": (
        "SELECT id FROM job WHERE lower(name) = lower(:name) AND state <> 'dropped'",
        "there is another job of that name now: remove that one",
    ),
    "plan.job_id": (
        "SELECT id FROM plan WHERE job_id = :job_id AND state IN ('standing', 'broken')",
        "the job has another plan now: release that one",
    ),
    "place.code": (
        "SELECT id FROM place WHERE code = :code",
        "there is another place of that code now: undo that one",
    ),
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


class _Trial(Exception):
    """Ends a trial: nothing of it stays."""


def last_deed(yard: Yard) -> DeedLine:
    """Return the newest deed that stands and can be undone.

    A deed that was done again counts as done then. One that something undone out of order is in the way of
    is passed over, so that undoing can always go on.

    Raises:
        Refused: there is none; where some stand, why the newest cannot be undone.
    """
    first: Refused | None = None
    for line in _standing(yard):
        try:
            with yard.deed("undo") as deed:
                target, words = _target(yard, line)
                deed.begin(words, undoes=target)
                _reverse(yard, target)
                # The database looks at the sums of a deed when it closes.
                yard.connection.execute("DELETE FROM open_deed")
                raise _Trial
        except _Trial:
            return line
        except Refused as error:
            first = first or error
    raise first or Refused("there is nothing to undo")


def _standing(yard: Yard) -> Iterator[DeedLine]:
    """Yield the deeds that stand and do not last, the one done (or done again) last first."""
    undone = _undone(yard)
    for deed_id in range(yard.one("SELECT coalesce(max(id), 0) FROM deed"), 0, -1):
        if deed_id not in undone.by:
            line = deed_by_id(yard, _root(yard, deed_id))
            if line.what not in _LASTING and undone.counts(line.id):
                yield line


def undo(yard: Yard, deed_id: int | None = None) -> DeedLine:
    """Undo one deed (the last that stands by default) by its opposite; return the deed made.

    Undoing an undo does the first deed again.

    Raises:
        Refused: it is undone already, cannot be undone, later deeds depend on it (they are named), or
            something made since has its name or its place.
    """
    line = last_deed(yard) if deed_id is None else deed_by_id(yard, deed_id)
    printed = _only_printed(yard, line)
    if not printed:
        return _undo(yard, line)
    tags = {e["thing_key"] for b in printed for e in _entries(yard, b.id)}
    for b in reversed(printed):
        _undo(yard, b)
    made = _undo(yard, line)
    mark_printed(yard, [t for t in sorted(tags) if yard.row("SELECT 1 FROM piece WHERE tag = ?", (t,))])
    return made


def _only_printed(yard: Yard, line: DeedLine) -> list[DeedLine]:
    """Return the printings of labels in the way of undoing a deed, where nothing else is.

    A label put to print changes no piece: it is undone first, and done again for pieces that stay.
    """
    undone = _undone(yard)
    if line.what in _LASTING or not undone.counts(line.id):
        return []
    found = _blockers(yard, undone.tip(line.id), undone)
    return found if all(b.what == "labels" for b in found) else []


def _undo(yard: Yard, line: DeedLine) -> DeedLine:
    try:
        with yard.deed("undo") as deed:
            target, words = _target(yard, line)
            deed.begin(words, undoes=target)
            _reverse(yard, target)
    except Refused as error:
        if f"deed {line.id} (" in str(error):
            raise
        raise Refused(f"deed {line.id} ({line.says}) cannot be undone: {error}") from None
    return deed_by_id(yard, deed.id)


def _target(yard: Yard, line: DeedLine) -> tuple[int, str]:
    """Return the deed to reverse so that `line` is undone, and what that is in words.

    Raises:
        Refused: it is undone already, cannot be undone, or later deeds depend on it.
    """
    if line.what in _LASTING:
        raise Refused(f"deed {line.id} ({line.says}) cannot be undone")
    undone = _undone(yard)
    target = undone.tip(line.id)
    if not undone.counts(line.id):
        raise Refused(f"deed {line.id} ({line.says}) is undone already, by deed {target}")
    blockers = _blockers(yard, target, undone)
    if blockers:
        named = "; ".join(_named(b) for b in blockers[:5]) + ("; ..." if len(blockers) > 5 else "")
        raise Refused(f"deed {line.id} ({line.says}) cannot be undone while these stand: {named}")
    first = deed_by_id(yard, _root(yard, target))
    words = f"undid {first.id}" if undone.counts(first.id) else f"did {first.id} again"
    return target, f"{words}: {first.says}"


def _named(line: DeedLine) -> str:
    return f"{line.id} ({line.says})"


def _why_not(yard: Yard, error: sqlite3.IntegrityError, entry: sqlite3.Row) -> str | None:
    """Say what a row that should come back met, and which deed did that; None where it is something else."""
    if "FOREIGN KEY" in str(error):
        row = json.loads(entry["was"] or "{}")
        for link in yard.rows(f'PRAGMA foreign_key_list("{entry["thing"]}")'):
            parent, key = link["table"], row.get(link["from"])
            column = schema.columns(yard.connection, parent).key
            if key is None or yard.row(f"SELECT 1 FROM {parent} WHERE {column} = ?", (key,)):
                continue
            return f"something it needs was itself undone: do that again first{_by(yard, parent, key)}"
    if "is retired" in str(error):
        return "the place it lay at is retired: take that back into use first"
    for named, (find, why) in _IN_THE_WAY.items():
        if named in str(error):
            table, key = entry["thing"], entry["thing_key"]
            column = schema.columns(yard.connection, table).key
            now = yard.row(f"SELECT * FROM {table} WHERE {column} = ?", (key,))
            fields = (dict(now) if now else {}) | json.loads(entry["was"] or "{}")
            found = yard.row(find, fields)
            return why + (_by(yard, table, found[0]) if found else "")
    return None


def _by(yard: Yard, thing: str, key: object) -> str:
    """Name the deed that touched a row last."""
    last = yard.one("SELECT max(deed_id) FROM entry WHERE thing = ? AND thing_key = ?", (thing, str(key)))
    return f" (deed {_named(deed_by_id(yard, last))})" if last else ""


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
        try:
            changed = _back(yard, e)
        except sqlite3.IntegrityError as error:
            why = _why_not(yard, error, e)
            if why is None:
                raise
            raise Refused(why) from None
        if changed != 1:
            thing = f"{e['thing']} {e['thing_key']}"
            last = _by(yard, e["thing"], e["thing_key"])
            raise Refused(f"{thing} is not as deed {target} left it: undo what came after it first{last}")


def _back(yard: Yard, e: sqlite3.Row) -> int:
    """Change one row back; return how many were found as the entry left them."""
    key = schema.columns(yard.connection, e["thing"]).key
    now = json.loads(e["now"] or "{}")
    as_left = " AND ".join([f"{key} = ?", *(f"{name} IS ?" for name in now)])
    place = (e["thing_key"], *now.values())
    if e["was"] is None:
        return yard.write(f"DELETE FROM {e['thing']} WHERE {as_left}", place)
    if e["now"] is None:
        return int(yard.insert(e["thing"], **json.loads(e["was"])) > 0)
    was = json.loads(e["was"])
    fields = ", ".join(f"{name} = ?" for name in was)
    return yard.write(f"UPDATE {e['thing']} SET {fields} WHERE {as_left}", (*was.values(), *place))
