"""Stocktake: counting one place by tags, to be stopped and gone on with, and settling the differences."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stockyard.errors import BadInput, Refused
from stockyard.tags import read_tag
from stockyard.yard.model import Piece, Place, State
from stockyard.yard.pieces import at_place, by_tag, put, told
from stockyard.yard.places import place, place_by_id
from stockyard.yard.planned import BrokenPlan
from stockyard.yard.pulling import found_again, write_off
from stockyard.yard.store import Yard

_OFF = (State.CUT, State.GONE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """How a count of one place stands. `unknown` tags belong to no piece.

    since: pieces recorded elsewhere that were moved, cut or lost after they were seen here. id: 0 where no
    count of the place is open.
    """

    id: int
    place: Place
    started_at: str
    seen: tuple[Piece, ...]
    missing: tuple[Piece, ...]
    elsewhere: tuple[Piece, ...]
    unknown: tuple[str, ...]
    since: tuple[Piece, ...] = ()


def start_count(yard: Yard, code: str) -> Count:
    """Start counting a place, or go on with the count of it that is open: at most one deed."""
    spot = place(yard, code)
    with yard.deed("count") as deed:
        row = yard.row("SELECT id FROM stocktake WHERE place_id = ? AND ended_at IS NULL", (spot.id,))
        if row is not None:
            count_id = row["id"]
        else:
            deed.begin(f"started counting {spot.code}")
            count_id = yard.insert("stocktake", place_id=spot.id, started_at=yard.clock())
    return count(yard, count_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class LastCount:
    """When a place that holds pieces was last counted, else since when one lies there; is a count open?"""

    place_id: int
    pieces: int
    at: str
    counted: bool
    is_open: bool


def last_counts(yard: Yard) -> tuple[LastCount, ...]:
    """Return when each place in use that holds something was last counted."""
    rows = yard.rows(
        "SELECT p.place_id, count(*) AS pieces, min(p.shelved_at) AS since, (SELECT max(s.ended_at)"
        " FROM stocktake s WHERE s.place_id = p.place_id) AS ended, EXISTS (SELECT 1 FROM stocktake s"
        " WHERE s.place_id = p.place_id AND s.ended_at IS NULL) AS is_open"
        " FROM piece p WHERE p.place_id IS NOT NULL GROUP BY p.place_id"
    )
    return tuple(
        LastCount(
            place_id=row["place_id"], pieces=row["pieces"], at=row["ended"] or row["since"],
            counted=row["ended"] is not None, is_open=bool(row["is_open"]),
        )
        for row in rows
    )  # fmt: skip


def look(yard: Yard, code: str) -> Count:
    """Return how the open count of a place stands, or what there is to count; nothing is written."""
    spot = place(yard, code)
    row = yard.row("SELECT id FROM stocktake WHERE place_id = ? AND ended_at IS NULL", (spot.id,))
    if row is not None:
        return count(yard, row["id"])
    lies = at_place(yard, spot.code)
    return Count(id=0, place=spot, started_at="", seen=(), missing=lies, elsewhere=(), unknown=())


def sight(yard: Yard, count_id: int, tags: Iterable[str]) -> tuple[str, ...]:
    """Write down tags seen at the place: one deed; return those that were new to this count.

    Raises:
        BadInput: not a tag; nothing was written. Refused: the count is closed.
    """
    codes = list(dict.fromkeys(read_tag(t) for t in tags))
    with yard.deed("count") as deed:
        spot = _open_place(yard, count_id)
        known = {r["tag"] for r in yard.rows("SELECT tag FROM sighting WHERE stocktake_id = ?", (count_id,))}
        # What has gone elsewhere since it was seen first and is seen again lies here after all.
        stale = {p.tag for p in count(yard, count_id).since}.intersection(codes)
        new = [c for c in codes if c not in known - stale]
        if new:
            deed.begin(f"seen at {spot.code}: {_named(new)}")
            yard.write_many(
                "DELETE FROM sighting WHERE stocktake_id = ? AND tag = ?", [(count_id, c) for c in stale]
            )
            yard.insert_many("sighting", ("stocktake_id", "tag"), [(count_id, c) for c in new])
    return tuple(new)


def unsee(yard: Yard, count_id: int, tags: Iterable[str]) -> tuple[str, ...]:
    """Take back tags that were written down by mistake: one deed; return them.

    Raises:
        BadInput: not a tag, or none that was seen in this count. Refused: the count is closed.
    """
    codes = list(dict.fromkeys(read_tag(t) for t in tags))
    with yard.deed("count") as deed:
        spot = _open_place(yard, count_id)
        known = {r["tag"] for r in yard.rows("SELECT tag FROM sighting WHERE stocktake_id = ?", (count_id,))}
        strange = next((c for c in codes if c not in known), None)
        if strange is not None:
            raise BadInput(f"{strange} is not among the tags seen at {spot.code} in this count")
        deed.begin(f"not seen at {spot.code} after all: {_named(codes)}")
        yard.write_many(
            "DELETE FROM sighting WHERE stocktake_id = ? AND tag = ?", [(count_id, c) for c in codes]
        )
    return tuple(codes)


def _named(tags: Sequence[str]) -> str:
    return f"{', '.join(tags[:6])}{'...' if len(tags) > 6 else ''}"


def give_up_count(yard: Yard, count_id: int) -> None:
    """Take back an open count with all that was seen in it: one deed; no piece is touched.

    Raises:
        BadInput: there is no such count. Refused: it is closed.
    """
    with yard.deed("count") as deed:
        spot = _open_place(yard, count_id)
        deed.begin(f"gave up counting {spot.code}")
        yard.write("DELETE FROM sighting WHERE stocktake_id = ?", (count_id,))
        yard.write("DELETE FROM stocktake WHERE id = ?", (count_id,))


def count(yard: Yard, count_id: int) -> Count:
    """Return how a count stands: what was seen, and what is missing so far."""
    row = yard.row("SELECT * FROM stocktake WHERE id = ?", (count_id,))
    if row is None:
        raise BadInput(f"there is no count {count_id}")
    spot = place_by_id(yard, row["place_id"])
    rows = yard.rows("SELECT id, tag FROM sighting WHERE stocktake_id = ? ORDER BY id", (count_id,))
    sighted = {r["tag"]: r["id"] for r in rows}
    expected = {p.tag: p for p in at_place(yard, spot.code)}
    elsewhere: list[Piece] = []
    since: list[Piece] = []
    unknown: list[str] = []
    for tag, sighting in sighted.items():
        if tag not in expected:
            if yard.row("SELECT 1 FROM piece WHERE tag = ?", (tag,)):
                p = by_tag(yard, tag)
                (since if _left_since(yard, p, sighting) else elsewhere).append(p)
            else:
                unknown.append(tag)
    return Count(
        id=count_id,
        place=spot,
        started_at=row["started_at"],
        seen=tuple(expected[t] for t in sighted if t in expected),
        missing=tuple(p for t, p in expected.items() if t not in sighted),
        elsewhere=tuple(elsewhere),
        unknown=tuple(unknown),
        since=tuple(since),
    )


def _left_since(yard: Yard, p: Piece, sighting: int) -> bool:
    """Whether a piece has another place than when it was seen, or has been cut or lost since.

    A sighting that was undone and done again counts from when it was first written down.
    """
    rows = yard.rows(
        "SELECT was FROM entry WHERE thing = 'piece' AND thing_key = ? AND was IS NOT NULL AND deed_id >"
        " (SELECT max(deed_id) FROM entry JOIN deed ON deed.id = deed_id WHERE thing = 'sighting'"
        " AND thing_key = ? AND was IS NULL AND undoes IS NULL) ORDER BY entry.id DESC",
        (p.tag, str(sighting)),
    )
    place_id, state = p.place_id, str(p.state)
    for row in rows:  # back to what was recorded when it was seen
        was = json.loads(row["was"])
        place_id, state = was.get("place_id", place_id), was.get("state", state)
    return place_id != p.place_id or (state in _OFF) != (p.state in _OFF)


def finish_count(yard: Yard, count_id: int, why: str) -> tuple[Count, tuple[BrokenPlan, ...]]:
    """Close a count and settle its differences: one deed.

    Missing pieces are written off with `why`, pieces recorded elsewhere are put here, pieces written
    off before are found again; what went elsewhere after it was seen stays there. Unknown tags stay in
    the count's record. Plans that lost a piece are returned.

    Raises:
        Refused: it is closed already, or a piece seen here was recorded as cut.
    """
    with yard.deed("count") as deed:
        spot = _open_place(yard, count_id)
        result = count(yard, count_id)
        cut = next((p for p in result.elsewhere if p.state is State.CUT), None)
        if cut is not None:
            raise Refused(
                f"{cut.tag} was seen at {spot.code} but is recorded as {told(yard, cut)}",
                "seen but cut",
                {"tag": cut.tag},
            )
        missing, moved = len(result.missing), len(result.elsewhere)
        deed.begin(
            f"counted {spot.code}: {len(result.seen)} there, {missing} missing, {moved} put here ({why})"
        )
        broken = [write_off(yard, p, f"missing at {spot.code}: {why}") for p in result.missing]
        for p in result.elsewhere:
            if p.state is State.GONE:
                found_again(yard, p.tag, spot.id)
            else:
                put(yard, [p], spot.id)
        yard.write("UPDATE stocktake SET ended_at = ? WHERE id = ?", (yard.clock(), count_id))
    return result, tuple(b for b in broken if b is not None)


def _open_place(yard: Yard, count_id: int) -> Place:
    row = yard.row("SELECT place_id, ended_at FROM stocktake WHERE id = ?", (count_id,))
    if row is None:
        raise BadInput(f"there is no count {count_id}")
    if row["ended_at"] is not None:
        raise Refused(f"the count of {place_by_id(yard, row['place_id']).code} is closed: start a new one")
    return place_by_id(yard, row["place_id"])
