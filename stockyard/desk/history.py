"""The ledger: what was done, the life of one piece, and undoing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.desk.shown import PieceLine, lines
from stockyard.yard import Yard, ledger, undo_offers
from stockyard.yard import undo as undoing
from stockyard.yard.ledger import DeedLine, Event

__all__ = ["DeedLine", "Event", "Life", "deeds", "life", "to_undo", "undo", "undoable"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """A piece, the pieces it came from (first the one bought), what happened to it, what it gave.

    `parts` are (part, count, job).
    """

    piece: PieceLine
    parents: tuple[PieceLine, ...]
    events: tuple[Event, ...]
    offcuts: tuple[PieceLine, ...]
    parts: tuple[tuple[str, int, str], ...]


def life(yard: Yard, tag: str) -> Life:
    """Return what a tag stands for and its history.

    Raises:
        BadInput: no piece has that tag.
    """
    with yard.reading():
        found = ledger.history(yard, tag)
        piece, *parents = lines(yard, (found.piece, *found.parents))
        return Life(
            piece=piece,
            parents=tuple(parents),
            events=found.events,
            offcuts=lines(yard, found.offcuts),
            parts=found.parts,
        )


def deeds(yard: Yard, *, limit: int = 20) -> tuple[DeedLine, ...]:
    """Return the last deeds, the newest first."""
    return ledger.deeds(yard, limit=limit)


def undoable(yard: Yard, found: Sequence[DeedLine]) -> frozenset[int]:
    """Return those of these deeds that stand and that nothing later depends on, by number."""
    with yard.reading():
        return undo_offers.undoable(yard, found)


def to_undo(yard: Yard, deed: int | None = None) -> DeedLine:
    """Return the deed of that number, or the newest that stands and can be undone.

    Raises:
        BadInput: no such deed. Refused: there is nothing to undo.
    """
    return undoing.last_deed(yard) if deed is None else ledger.deed_by_id(yard, deed)


def undo(yard: Yard, deed: int) -> DeedLine:
    """Undo a deed by its opposite: one deed; return it.

    Raises:
        Refused: it cannot be undone, or what depends on it is named.
    """
    return undoing.undo(yard, deed)
