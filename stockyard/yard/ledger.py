"""The ledger: what was done, when, and the history of one piece from purchase to parts."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass

from stockyard.errors import BadInput
from stockyard.measure import Unit, show
from stockyard.yard.model import Form, Piece
from stockyard.yard.pieces import by_tag, titles
from stockyard.yard.store import Yard


@dataclass(frozen=True, slots=True, kw_only=True)
class DeedLine:
    """One line of the ledger. `undone_by` is the deed that undid it, `undoes` the one it undid.

    `station` is who did it.
    """

    id: int
    at: str
    what: str
    says: str
    station: str
    undoes: int | None
    undone_by: int | None


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened to a piece, in words."""

    deed: int
    at: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """The whole life of a piece: the pieces it came from (first the one bought), its events, what it gave."""

    piece: Piece
    parents: tuple[Piece, ...]
    events: tuple[Event, ...]
    offcuts: tuple[Piece, ...]
    parts: tuple[tuple[str, int, str], ...]
    """(part, count, job) for each part cut from it."""


_DEEDS = """SELECT d.id, d.at, d.what, d.says, d.station, d.undoes, u.id AS undone_by
FROM deed d LEFT JOIN deed u ON u.undoes = d.id"""


def deeds(yard: Yard, *, limit: int = 20) -> tuple[DeedLine, ...]:
    """Return the last deeds, the newest first."""
    return tuple(DeedLine(**dict(r)) for r in yard.rows(f"{_DEEDS} ORDER BY d.id DESC LIMIT ?", (limit,)))


def deed_by_id(yard: Yard, deed_id: int) -> DeedLine:
    """Return one deed.

    Raises:
        BadInput: there is none of that number.
    """
    row = yard.row(f"{_DEEDS} WHERE d.id = ?", (deed_id,))
    if row is None:
        raise BadInput(f"the ledger has no entry {deed_id}")
    return DeedLine(**dict(row))


def history(yard: Yard, tag: str) -> History:
    """Return the life of a piece.

    Raises:
        BadInput: no piece has that tag.
    """
    piece = by_tag(yard, tag)
    parents: list[Piece] = []
    above = piece.parent
    while above is not None:
        parents.insert(0, by_tag(yard, above))
        above = parents[0].parent
    rows = yard.rows(
        "SELECT e.deed_id, e.was, e.now, d.at, d.undoes FROM entry e JOIN deed d ON d.id = e.deed_id"
        " WHERE e.thing = 'piece' AND e.thing_key = ? ORDER BY e.id",
        (piece.tag,),
    )
    # From the ledger: a place the piece once lay at may have been taken back since.
    places = {
        int(r["thing_key"]): r["code"]
        for r in yard.rows(
            "SELECT thing_key, now ->> 'code' AS code FROM entry WHERE thing = 'place' AND was IS NULL"
        )
    }
    parts = yard.rows(
        "SELECT c.name, c.count, j.name AS job FROM cut_part c LEFT JOIN job j ON j.id = c.job_id"
        " WHERE c.tag = ? ORDER BY c.id",
        (piece.tag,),
    )
    children = yard.rows("SELECT tag FROM piece WHERE parent = ? ORDER BY rowid", (piece.tag,))
    return History(
        piece=piece,
        parents=tuple(parents),
        events=tuple(Event(r["deed_id"], r["at"], _words(yard, r, places)) for r in rows),
        offcuts=tuple(by_tag(yard, r["tag"]) for r in children),
        parts=tuple((r["name"], r["count"], r["job"] or "no job") for r in parts),
    )


def _words(yard: Yard, row: sqlite3.Row, places: dict[int, str]) -> str:
    """Say one entry about a piece in a few words."""
    undone = f" (undoes {row['undoes']})" if row["undoes"] is not None else ""
    if row["now"] is None:
        return f"taken back as if it had never been{undone}"
    now = json.loads(row["now"])
    if row["was"] is None:
        return _arrival(yard, now, places) + undone
    return "; ".join(_change(yard, now, places)) + undone


def _arrival(yard: Yard, now: dict[str, object], places: dict[int, str]) -> str:
    title = titles(yard).get(int(str(now["material_id"])), "?")
    own = yard.row("SELECT form FROM material WHERE id = ?", (now["material_id"],))
    word = "board" if own and own["form"] == Form.BOARD else now["kind"]
    text = f"{word} {title} {_size(now, yard.unit)}"
    if "parent" in now:
        return f"cut off {now['parent']}: {text}"
    spot = places.get(int(str(now.get("place_id", 0))), "the bench")
    return f"shelved at {spot}: {text}"


def _job_of_plan(yard: Yard, plan_id: object) -> str:
    """Return the name of a plan's job from the ledger: both may have been taken back since."""
    name = yard.row(
        "SELECT j.now ->> 'name' AS name FROM entry p JOIN entry j ON j.thing = 'job'"
        " AND j.thing_key = p.now ->> 'job_id' AND j.was IS NULL"
        " WHERE p.thing = 'plan' AND p.thing_key = ? AND p.was IS NULL",
        (str(plan_id),),
    )
    return str(name["name"]) if name else "a job"


def _change(yard: Yard, now: dict[str, object], places: dict[int, str]) -> list[str]:
    """Name the fields of one entry that mean something to a person."""
    said = []
    state = now.get("state")
    plan = now.get("plan_id")
    if state == "promised" and plan is not None:
        said.append(f"promised to {_job_of_plan(yard, plan)}")
    elif state == "gone":
        said.append(f"gone: {now.get('gone_because')}")
    elif state is not None and now.get("place_id") is None:
        words = {"racked": "free again", "bench": "laid on the bench", "promised": "promised again"}
        said.append(words.get(str(state), str(state)))
    if now.get("place_id") is not None:
        said.append(f"put at {places.get(int(str(now['place_id'])), '?')}")
    if "length" in now or "width" in now:
        sides = [f"{k} {show(int(str(now[k])), yard.unit)}" for k in ("length", "width") if k in now]
        said.append("measured again: " + ", ".join(sides))
    if "labelled" in now:
        said.append("label printed" if now["labelled"] else "label not printed")
    return said or [", ".join(now)]


def _size(now: dict[str, object], unit: Unit) -> str:
    return " x ".join(show(int(str(now[k])), unit) for k in ("length", "width"))
