"""Undo: the opposite of a deed as a new deed; what depends on it is named and left alone."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from stockyard.errors import Refused
from stockyard.yard import schema
from stockyard.yard.labels import mark_printed
from stockyard.yard.ledger import DeedLine, deed_by_id
from stockyard.yard.store import Yard
from stockyard.yard.trouble import BUSY

LASTING = ("new yard", "schema step", "import")
# What was put on paper: it changes no piece and no plan, and is in the way of nothing.
PRINTED = ("labels", "papers")
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
class Undone:
    """Which deed undid which: a deed counts unless a deed that counts undid it."""

    by: dict[int, int]
    of: dict[int, int]

    def tip(self, deed: int) -> int:
        """Return the last deed in the chain of undoing and doing again."""
        while deed in self.by:
            deed = self.by[deed]
        return deed

    def root(self, deed: int) -> int:
        """Return the deed at the start of that chain."""
        while deed in self.of:
            deed = self.of[deed]
        return deed

    def counts(self, deed: int) -> bool:
        """Whether the deed stands: undone an even number of times."""
        length = 0
        while deed in self.by:
            deed = self.by[deed]
            length += 1
        return length % 2 == 0


def undone_by(yard: Yard) -> Undone:
    """Return which deed undid which."""
    pairs = yard.rows("SELECT undoes, id FROM deed WHERE undoes IS NOT NULL")
    return Undone({row["undoes"]: row["id"] for row in pairs}, {row["id"]: row["undoes"] for row in pairs})


class _Trial(Exception):
    """Ends a trial: nothing of it stays."""


def last_deed(yard: Yard) -> DeedLine:
    """Return the newest deed that stands and can be undone.

    A deed that was done again counts as done then. One that something undone out of order is in the way of
    is passed over, so that undoing can always go on; so is a printing of cut cards.

    Raises:
        Refused: there is none; where some stand, why the newest cannot be undone.
    """
    return _first(yard, trial=True)[0]


def undo(yard: Yard, deed_id: int | None = None) -> DeedLine:
    """Undo one deed (the last that stands by default) by its opposite; return the deed made.

    Undoing an undo does the first deed again.

    Raises:
        Refused: it is undone already, cannot be undone, later deeds depend on it (they are named), or
            something made since has its name or its place.
    """
    if deed_id is None:
        return deed_by_id(yard, _first(yard, trial=False)[1])
    line = deed_by_id(yard, deed_id)
    printed = _only_printed(yard, line)
    tags = {e["thing_key"] for b in printed for e in _entries(yard, b.id)}
    for b in reversed(printed):
        _take_back(yard, b, trial=False)
    made = _take_back(yard, line, trial=False)
    if tags:
        mark_printed(yard, [t for t in sorted(tags) if yard.row("SELECT 1 FROM piece WHERE tag = ?", (t,))])
    return deed_by_id(yard, made)


def _only_printed(yard: Yard, line: DeedLine) -> list[DeedLine]:
    """Return the printings in the way of undoing a deed, where nothing else is.

    A label put to print changes no piece: it is undone first, and done again for pieces that stay. So are cut
    cards, whose plan is undone then. One printing is never undone for another.
    """
    undone = undone_by(yard)
    if line.what in LASTING or not undone.counts(line.id):
        return []
    if deed_by_id(yard, undone.root(line.id)).what in PRINTED:
        return []
    found = [deed_by_id(yard, deed) for deed in _blockers(yard, undone.tip(line.id), undone)]
    return found if all(b.what in PRINTED for b in found) else []


def _first(yard: Yard, *, trial: bool) -> tuple[DeedLine, int]:
    """Take back the newest deed that can be; return it, and what `_take_back` says."""
    refused: Refused | None = None
    for line in _standing(yard):
        try:
            if _only_printed(yard, line):
                return line, 0 if trial else undo(yard, line.id).id
            return line, _take_back(yard, line, trial=trial)
        except Refused as error:
            if error.code == BUSY:
                raise
            refused = refused or error
    raise refused or Refused("there is nothing to undo")


def _take_back(yard: Yard, line: DeedLine, *, trial: bool) -> int:
    """Do the opposite of a deed and return the deed made; a trial looks that it can be done, and is 0.

    Raises:
        Refused: it cannot; the deed is named.
    """
    try:
        with yard.deed("undo") as deed:
            target, words = _target(yard, line)
            deed.begin(words, undoes=target)
            _reverse(yard, target)
            if trial:
                # The database looks at the sums of a deed when it closes.
                yard.connection.execute("DELETE FROM open_deed")
                raise _Trial
    except _Trial:
        return 0
    except Refused as error:
        if error.code == BUSY or f"entry {line.id} (" in str(error):
            raise
        raise Refused(f"entry {line.id} ({line.says}) cannot be undone: {error}") from None
    return deed.id


def _standing(yard: Yard) -> Iterator[DeedLine]:
    """Yield the deeds that stand and do not last, the one done (or done again) last first."""
    undone = undone_by(yard)
    for deed_id in range(yard.one("SELECT coalesce(max(id), 0) FROM deed"), 0, -1):
        root = undone.root(deed_id)
        if deed_id not in undone.by and undone.counts(root):
            line = deed_by_id(yard, root)
            if line.what not in (*LASTING, "papers"):
                yield line


def _target(yard: Yard, line: DeedLine) -> tuple[int, str]:
    """Return the deed to reverse so that `line` is undone, and what that is in words.

    Raises:
        Refused: it is undone already, cannot be undone, or later deeds depend on it.
    """
    if line.what in LASTING:
        raise Refused(f"entry {line.id} ({line.says}) cannot be undone")
    undone = undone_by(yard)
    target = undone.tip(line.id)
    if not undone.counts(line.id):
        raise Refused(f"entry {line.id} ({line.says}) is undone already, by entry {target}")
    blockers = [deed_by_id(yard, deed) for deed in _blockers(yard, target, undone)]
    if blockers:
        named = "; ".join(_named(b) for b in blockers[:5]) + ("; ..." if len(blockers) > 5 else "")
        raise Refused(f"entry {line.id} ({line.says}) cannot be undone while these stand: {named}")
    first = deed_by_id(yard, undone.root(target))
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
    return f" (entry {_named(deed_by_id(yard, last))})" if last else ""


def _entries(yard: Yard, deed_id: int) -> list[sqlite3.Row]:
    return yard.rows("SELECT * FROM entry WHERE deed_id = ? ORDER BY id", (deed_id,))


def _blockers(yard: Yard, target: int, undone: Undone) -> list[int]:
    """Return the standing deeds after `target` that changed the same fields or point at rows it made."""
    later = yard.rows(
        "SELECT e.was, e.now, x.was, x.now, x.deed_id FROM entry e JOIN entry x"
        " ON x.thing = e.thing AND x.thing_key = e.thing_key AND x.deed_id > e.deed_id WHERE e.deed_id = ?",
        (target,),
    )
    found = {x["deed_id"] for x in later if same_fields(*x[:4])}
    roots = {undone.root(d) for d in found | _pointing(yard, target, undone)} - {undone.root(target)}
    return sorted(d for d in roots if undone.counts(d))


def same_fields(was: str | None, now: str | None, later_was: str | None, later_now: str | None) -> bool:
    """Whether two entries of one row touch a field in common; making and unmaking touch all."""
    if was is None or now is None or later_was is None or later_now is None:
        return True
    return bool(json.loads(now).keys() & json.loads(later_now).keys())


def _pointing(yard: Yard, target: int, undone: Undone) -> set[int]:
    """Return the standing deeds that last pointed at rows that `target` made, but for those it made together.

    Where an undone deed pointed elsewhere meanwhile, it is the deed before that.
    """
    made = "SELECT thing_key FROM entry WHERE deed_id = :target AND thing = :{} AND was IS NULL"
    things = {r[0] for r in yard.rows("SELECT DISTINCT thing FROM entry WHERE deed_id = ?", (target,))}
    found: set[int] = set()
    for table in schema.journalled(yard.connection):
        key = schema.columns(yard.connection, table).key
        for link in yard.rows(f'PRAGMA foreign_key_list("{table}")'):
            if link["table"] in things:
                rows = yard.rows(
                    f"SELECT e.thing_key, e.deed_id FROM {table} c JOIN entry e"
                    f" ON e.thing = :child AND e.thing_key = CAST(c.{key} AS TEXT)"
                    f" WHERE c.{link['from']} IN ({made.format('parent')})"
                    f" AND CAST(c.{key} AS TEXT) NOT IN ({made.format('child')})"
                    f" AND (e.was IS NULL OR e.now ->> '$.{link['from']}' IS NOT NULL) ORDER BY e.deed_id",
                    {"target": target, "parent": link["table"], "child": table},
                )
                standing = [(child, deed) for child, deed in rows if undone.counts(undone.root(deed))]
                found.update(dict(standing).values())
    return found


def _reverse(yard: Yard, target: int) -> None:
    """Change each row back, the last change first; the journal writes the opposite entries itself.

    Raises:
        Refused: a row is not as the deed left it.
    """
    keys = {name: schema.columns(yard.connection, name).key for name in schema.journalled(yard.connection)}
    for e in reversed(_entries(yard, target)):
        try:
            changed = _back(yard, e, keys[e["thing"]])
        except sqlite3.IntegrityError as error:
            why = _why_not(yard, error, e)
            if why is None:
                raise
            raise Refused(why) from None
        if changed != 1:
            thing = f"{e['thing']} {e['thing_key']}"
            last = _by(yard, e["thing"], e["thing_key"])
            raise Refused(f"{thing} is not as entry {target} left it: undo what came after it first{last}")


def _back(yard: Yard, e: sqlite3.Row, key: str) -> int:
    """Change the row of that key back; return how many were found as the entry left them."""
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
