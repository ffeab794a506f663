"""Edge labels: which pieces have none yet, and noting that they were printed."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.wording import count
from stockyard.yard.model import Piece
from stockyard.yard.pieces import by_tag, by_tags
from stockyard.yard.store import Yard


def unlabelled(yard: Yard) -> tuple[Piece, ...]:
    """Return the pieces at hand whose label was not printed yet, in the order in which they came."""
    return by_tags(yard, unlabelled_tags(yard))


def unlabelled_tags(yard: Yard) -> tuple[str, ...]:
    """Return their tags."""
    rows = yard.rows(
        "SELECT tag FROM piece WHERE labelled = 0 AND state IN ('racked', 'promised', 'pulled', 'bench')"
        " ORDER BY rowid"
    )
    return tuple(row["tag"] for row in rows)


def mark_printed(yard: Yard, tags: Sequence[str]) -> int:
    """Note that the labels of these pieces were printed: one deed, if any was not; return how many."""
    with yard.deed("labels") as deed:
        new = [p.tag for p in (by_tag(yard, t) for t in tags) if not p.labelled]
        if new:
            deed.begin(f"printed {count(len(new), 'label')}")
            yard.write_many("UPDATE piece SET labelled = 1 WHERE tag = ?", [(t,) for t in new])
    return len(new)
