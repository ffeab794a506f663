"""The pure fold: what the rows of the yard must be, from the entries of its ledger alone."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field

Row = dict[str, object]
State = dict[str, dict[str, Row]]
"""Table -> key -> row; a field that is NULL is left out."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the ledger. `was` and `now` are JSON; None means that there was, or is, no such row."""

    id: int
    deed_id: int
    thing: str
    key: str
    was: str | None
    now: str | None


@dataclass(frozen=True, slots=True)
class Folded:
    """The state the ledger adds up to, and what does not follow from what went before."""

    state: State
    broken: list[str] = field(default_factory=list)


def fold(entries: Iterable[Entry]) -> Folded:
    """Add the entries up in the order of their ids."""
    folded = Folded({})
    for entry in entries:
        rows = folded.state.setdefault(entry.thing, {})
        fault = _apply(rows, entry)
        if fault:
            folded.broken.append(
                f"entry {entry.id} (deed {entry.deed_id}) about {entry.thing} {entry.key}: {fault}"
            )
    return folded


def _apply(rows: dict[str, Row], entry: Entry) -> str | None:
    """Change `rows` by one entry; say what does not follow."""
    row = rows.get(entry.key)
    if entry.was is None:
        if row is not None:
            return "made a second time"
        rows[entry.key] = json.loads(entry.now or "{}")
        return None
    if row is None:
        return "changed before it was made"
    was: Row = json.loads(entry.was)
    wrong = [name for name, value in was.items() if row.get(name) != value]
    if entry.now is None:
        del rows[entry.key]
    else:
        for name, value in json.loads(entry.now).items():
            if value is None:
                row.pop(name, None)
            else:
                row[name] = value
    return f"it had another {', '.join(wrong)} before" if wrong else None
