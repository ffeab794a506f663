"""The pure fold: what the rows of the yard must be, from the entries of its ledger alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

Row = dict[str, object]
Defaults = Mapping[str, Row]
"""Table -> the values of fields that a row made before they existed has."""
State = dict[str, dict[str, Row]]
"""Table -> key -> row; a field that is NULL is left out."""


class Entry(NamedTuple):
    """One entry of the ledger. `was` and `now` are fields; None means that there was, or is, no such row."""

    id: int
    deed_id: int
    thing: str
    key: str
    was: Row | None
    now: Row | None


@dataclass(slots=True)
class Folded:
    """The state the ledger adds up to, what does not follow from what went before, and rows made again.

    `again` holds (parent at first, parent now, entry) for each piece made a second time.
    """

    state: State = field(default_factory=dict)
    broken: list[str] = field(default_factory=list)
    again: list[tuple[object, object, Entry]] = field(default_factory=list)


def fold(entries: Iterable[Entry], defaults: Defaults | None = None) -> Folded:
    """Add the entries up in the order given, which is that of their ids."""
    folded = Folded()
    fresh = defaults or {}
    state = folded.state
    parents: dict[str, object] = {}
    last = 0
    for entry in entries:
        rows = state.get(entry.thing)
        if rows is None:
            rows = state[entry.thing] = {}
        fault = _apply(rows, entry, fresh.get(entry.thing, {}))
        if entry.deed_id < last:
            fault = "added after a later entry"
        last = entry.deed_id
        if fault:
            folded.broken.append(
                f"entry {entry.deed_id}, line {entry.id}, about {entry.thing} {entry.key}: {fault}"
            )
        if entry.was is None and entry.thing == "piece":
            parent = (entry.now or {}).get("parent")
            if entry.key in parents:
                folded.again.append((parents[entry.key], parent, entry))
            parents[entry.key] = parent
    return folded


def _apply(rows: dict[str, Row], entry: Entry, fresh: Row) -> str | None:
    """Change `rows` by one entry; say what does not follow."""
    _, _, _, key, was, now = entry
    row = rows.get(key)
    if was is None:
        if row is not None:
            return "made a second time"
        rows[key] = now or {}
        return None
    if row is None:
        return "changed before it was made"
    wrong = [name for name, value in was.items() if row.get(name, fresh.get(name)) != value]
    if now is None:
        del rows[key]
    else:
        for name, value in now.items():
            if value is None:
                row.pop(name, None)
            else:
                row[name] = value
    return f"it had another {', '.join(wrong)} before" if wrong else None
