"""Counting a place with a scanner: every tag seen, then the differences settled."""

from __future__ import annotations

from urllib.parse import quote

from stockyard.desk import counting
from stockyard.page.doors import Read, Write
from stockyard.page.rooms.plan import mend
from stockyard.page.visit import Answer, Go, Page, Visit


def start(visit: Visit) -> Answer:
    """Start counting a place, or go on with the count of it that is open."""
    place = visit.must_say("place", "the place")
    counting.start(visit.yard, place)
    return _to(place)


def count(visit: Visit) -> Answer:
    """Show how the count of a place stands."""
    shown = counting.look(visit.yard, visit.asked("place"))
    return Page("count.html", {"title": f"Count {shown.place}", "room": "Racks", "c": shown})


def see(visit: Visit) -> Answer:
    """Write down tags seen."""
    place = visit.must_say("place", "the place")
    tags = visit.must_say("tags", "a tag").split()[:200]
    counting.see(visit.yard, counting.start(visit.yard, place), tags)
    return _to(place)


def unsee(visit: Visit) -> Answer:
    """Take back a tag written down by mistake."""
    counting.unsee(visit.yard, visit.number("n"), [visit.must_say("tag", "the tag")])
    return _to(visit.must_say("place", "the place"))


def give_up(visit: Visit) -> Answer:
    """Give up a count: nothing is moved or written off."""
    counting.give_up(visit.yard, visit.number("n"))
    return Go(f"/racks/place?code={quote(visit.must_say('place', 'the place'), safe='')}")


def finish(visit: Visit) -> Answer:
    """Close the count and settle its differences."""
    broken = counting.finish(visit.yard, visit.number("n"), visit.said("why")[:200] or "counted")
    # Each is planned again; the first of them is shown.
    led = [mend(visit, lost.job_id) for lost in broken]
    return led[0] if led else Go("/racks")


def _to(place: str) -> Go:
    return Go(f"/racks/count?place={quote(place, safe='')}", told=False)


DOORS = (
    Write("/racks/count/start", start),
    Read("/racks/count", count),
    Write("/racks/count/see", see),
    Write("/racks/count/unsee", unsee),
    Write("/racks/count/finish", finish),
    Write("/racks/count/end", give_up),
)
