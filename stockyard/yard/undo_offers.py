"""Which of the last deeds could be undone as things stand: one look at what came after them, no trial."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from stockyard.yard import schema
from stockyard.yard.ledger import DeedLine
from stockyard.yard.store import Yard
from stockyard.yard.undo import LASTING, PRINTED, Undone, same_fields, undone_by


def undoable(yard: Yard, lines: Sequence[DeedLine]) -> frozenset[int]:
    """Return those of the deeds that stand and that nothing later depends on, by number.

    Undoing an undo does the first deed again. Where a name or a place taken since is in the way, only undoing
    finds it out.
    """
    standing = [d for d in lines if d.undone_by is None and d.what not in LASTING]
    if not standing:
        return frozenset()
    oldest, newest = min(d.id for d in standing), max(d.id for d in standing)
    undone = undone_by(yard)
    blocked: set[int] = set()
    for deed, later in (*_touching(yard, oldest, newest), *_pointing(yard, oldest, newest, undone)):
        first, root = undone.root(deed), undone.root(later)
        # A printing is undone along with what is undone, but not for another printing.
        if root == first or deed in blocked or not undone.counts(root):
            continue
        if not _is_printing(yard, root) or _is_printing(yard, first):
            blocked.add(deed)
    return frozenset(d.id for d in standing) - blocked


def _is_printing(yard: Yard, deed: int) -> bool:
    return yard.one("SELECT what FROM deed WHERE id = ?", (deed,)) in PRINTED


def _touching(yard: Yard, oldest: int, newest: int) -> list[tuple[int, int]]:
    """Return pairs of a deed and a later one that changed a field of the same row."""
    rows = yard.rows(
        "SELECT e.deed_id, x.deed_id, e.was, e.now, x.was, x.now FROM entry e JOIN entry x"
        " ON x.thing = e.thing AND x.thing_key = e.thing_key AND x.deed_id > e.deed_id"
        " WHERE e.deed_id BETWEEN ? AND ?",
        (oldest, newest),
    )
    return [(row[0], row[1]) for row in rows if same_fields(row[2], row[3], row[4], row[5])]


def _pointing(yard: Yard, oldest: int, newest: int, undone: Undone) -> list[tuple[int, int]]:
    """Return pairs of a deed and a later standing one that last pointed at a row that it made."""
    made: dict[str, set[int]] = defaultdict(set)
    for row in yard.rows(
        "SELECT DISTINCT thing, deed_id FROM entry WHERE was IS NULL AND deed_id BETWEEN ? AND ?",
        (oldest, newest),
    ):
        made[row["thing"]].add(row["deed_id"])
    found: list[tuple[int, int]] = []
    for table in schema.journalled(yard.connection):
        key = schema.columns(yard.connection, table).key
        for link in yard.rows(f'PRAGMA foreign_key_list("{table}")'):
            if link["table"] in made:
                rows = _pointed(yard, table, key, link["from"], link["table"], (oldest, newest))
                standing = [row for row in rows if undone.counts(undone.root(row[2]))]
                last = {(deed, child): later for deed, child, later in standing}
                found += [(deed, later) for (deed, _), later in last.items()]
    return found


def _pointed(
    yard: Yard, table: str, key: str, column: str, parent: str, span: tuple[int, int]
) -> list[tuple[int, str, int]]:
    """Return deeds, a row of `table` pointing at what each made, and who pointed it there, oldest first."""
    rows = yard.rows(
        "SELECT m.deed_id, e.thing_key, e.deed_id FROM entry m"
        f" JOIN {table} c ON c.{column} = m.thing_key"
        f" JOIN entry e ON e.thing = :child AND e.thing_key = CAST(c.{key} AS TEXT)"
        f" AND (e.was IS NULL OR e.now ->> '$.{column}' IS NOT NULL)"
        " WHERE m.thing = :parent AND m.was IS NULL AND m.deed_id BETWEEN :oldest AND :newest"
        " AND NOT EXISTS (SELECT 1 FROM entry s WHERE s.deed_id = m.deed_id AND s.thing = :child"
        f" AND s.thing_key = CAST(c.{key} AS TEXT) AND s.was IS NULL) ORDER BY e.deed_id",
        {"child": table, "parent": parent, "oldest": span[0], "newest": span[1]},
    )
    return [(row[0], row[1], row[2]) for row in rows]
