"""Counting a place with a scanner: every tag seen, then the differences settled."""

from __future__ import annotations

from stockyard.desk import counting
from stockyard.page.doors import Read, Write
from stockyard.page.visit import Answer, Go, Page, Visit


def start(visit: Visit) -> Answer:
    """Start counting a place, or go on with the count of it that is open."""
    shown = counting.start(visit.yard, visit.must_say("place", "the place"))
    return Go(f"/racks/count?n={shown.number}", told=False)


def count(visit: Visit) -> Answer:
    """Show how a count stands."""
    shown = counting.state(visit.yard, _number(visit.asked("n")))
    return Page("count.html", {"title": f"Count {shown.place}", "room": "Racks", "c": shown})


def see(visit: Visit) -> Answer:
    """Write down tags seen."""
    number = visit.number("n")
    counting.see(visit.yard, number, visit.must_say("tags", "a tag").split()[:200])
    return Go(f"/racks/count?n={number}", told=False)


def unsee(visit: Visit) -> Answer:
    """Take back a tag written down by mistake."""
    number = visit.number("n")
    counting.unsee(visit.yard, number, [visit.must_say("tag", "the tag")])
    return Go(f"/racks/count?n={number}", told=False)


def finish(visit: Visit) -> Answer:
    """Close the count and settle its differences."""
    broken = counting.finish(visit.yard, visit.number("n"), visit.said("why")[:200] or "counted")
    if broken:
        return Go(f"/jobs/{broken[0].job_id}/plan")
    return Go("/racks")


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


DOORS = (
    Write("/racks/count/start", start),
    Read("/racks/count", count),
    Write("/racks/count/see", see),
    Write("/racks/count/unsee", unsee),
    Write("/racks/count/finish", finish),
)
