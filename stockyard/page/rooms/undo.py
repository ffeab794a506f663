"""The ledger and undoing."""

from __future__ import annotations

from stockyard.desk import history
from stockyard.page.doors import Read, Write
from stockyard.page.visit import Answer, Go, Page, Visit

_DEEDS = 100


def ledger(visit: Visit) -> Answer:
    """Show the last deeds, each with its station."""
    return Page("ledger.html", {"title": "Ledger", "deeds_done": history.deeds(visit.yard, limit=_DEEDS)})


def undo(visit: Visit) -> Answer:
    """Undo one deed by its opposite."""
    history.undo(visit.yard, visit.number("deed", most=10**9))
    return Go("/ledger")


DOORS = (Read("/ledger", ledger), Write("/undo", undo))
