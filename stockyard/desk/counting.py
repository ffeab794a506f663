"""Counting a place: tags seen there, taken back, and the differences settled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.desk.keep_advice import days_between
from stockyard.desk.shown import PieceLine, lines
from stockyard.yard import Yard, stocktake
from stockyard.yard.places import places
from stockyard.yard.planned import BrokenPlan
from stockyard.yard.stocktake import Count


@dataclass(frozen=True, slots=True, kw_only=True)
class CountShown:
    """How a count stands. `since` left the place after they were seen; `unknown` tags are no piece's.

    `number` is None where no count is open, and then all that lies there is `missing`.
    """

    number: int | None
    place: str
    started_at: str
    seen: tuple[PieceLine, ...]
    missing: tuple[PieceLine, ...]
    elsewhere: tuple[PieceLine, ...]
    since: tuple[PieceLine, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """A place to be counted: its pieces, when it was last counted, and whether a count of it goes on.

    `last` is empty where it never was.
    """

    place: str
    pieces: int
    last: str
    is_open: bool


def due(yard: Yard) -> tuple[Due, ...]:
    """Return the places whose count goes on or is due by the shop's setting, longest waiting first."""
    with yard.reading():
        days, now = yard.settings.count_days, yard.clock()
        codes = {p.id: p.code for p in places(yard)}
        found = [
            c for c in stocktake.last_counts(yard) if c.is_open or (days and days_between(c.at, now) >= days)
        ]
    found.sort(key=lambda c: (not c.is_open, c.at, c.place_id))
    return tuple(
        Due(place=codes[c.place_id], pieces=c.pieces, last=c.at[:10] if c.counted else "", is_open=c.is_open)
        for c in found
    )


def start(yard: Yard, place: str) -> int:
    """Start counting a place, or go on with the count of it that is open: at most one deed; its number.

    Raises:
        BadInput: no such place.
    """
    return stocktake.start_count(yard, place).id


def look(yard: Yard, place: str) -> CountShown:
    """Return how the open count of a place stands, or what there is to count. Nothing is written.

    Raises:
        BadInput: no such place.
    """
    with yard.reading():
        return _shown(yard, stocktake.look(yard, place))


def see(yard: Yard, number: int, tags: Sequence[str]) -> tuple[str, ...]:
    """Write down tags seen: one deed; return those new to this count.

    Raises:
        BadInput: not a tag. Refused: the count is closed.
    """
    return stocktake.sight(yard, number, tags)


def unsee(yard: Yard, number: int, tags: Sequence[str]) -> tuple[str, ...]:
    """Take back tags written down by mistake: one deed.

    Raises:
        BadInput: not seen in this count. Refused: the count is closed.
    """
    return stocktake.unsee(yard, number, tags)


def give_up(yard: Yard, number: int) -> None:
    """Give up a count: what was seen in it is forgotten, no piece is moved or written off. One deed.

    Raises:
        BadInput: there is no such count. Refused: it is closed.
    """
    stocktake.give_up_count(yard, number)


def finish(yard: Yard, number: int, why: str) -> tuple[BrokenPlan, ...]:
    """Close a count and settle its differences: one deed; return the plans that lost a piece.

    Raises:
        Refused: it is closed already, or a piece seen here is recorded as cut.
    """
    return stocktake.finish_count(yard, number, why)[1]


def _shown(yard: Yard, count: Count) -> CountShown:
    with yard.reading():
        return CountShown(
            number=count.id or None,
            place=count.place.code,
            started_at=count.started_at,
            seen=lines(yard, count.seen),
            missing=lines(yard, count.missing),
            elsewhere=lines(yard, count.elsewhere),
            since=lines(yard, count.since),
            unknown=count.unknown,
        )
