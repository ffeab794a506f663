"""Pairing a new station with the code on the server's screen, and giving a station its name."""

from __future__ import annotations

from dataclasses import replace

from stockyard.errors import BadInput, Refused
from stockyard.page.doors import Read, Write
from stockyard.page.keys import Station
from stockyard.page.pairing import TooSoon
from stockyard.page.visit import Answer, Go, Page, Visit

LONGEST_NAME = 40


def show(visit: Visit) -> Answer:
    """Ask for the code and a name."""
    if visit.house.may_enter(visit.station):
        return Go("/station", told=False)
    return Page("pair.html", {"title": "Pair this station", "code": visit.asked("code")[:20]})


def pair(visit: Visit) -> Answer:
    """Let a station in whose person reads the server's screen."""
    name = _name(visit)
    if visit.house.may_enter(visit.station):
        return Go("/", told=False)
    try:
        right = visit.house.pairing.take(visit.said("code")[:40])
    except TooSoon as wait:
        raise Refused(
            f"too many wrong codes: wait {wait.seconds + 1:.0f} seconds, then type the code that the "
            "server's screen shows now"
        ) from None
    if not right:
        raise BadInput("that is not the code on the server's screen: look there and type it again")
    return Go("/", told=False, cookie=Station(visit.station.id, name, paired=True))


def station(_visit: Visit) -> Answer:
    """Show this station's name."""
    return Page("station.html", {"title": "This station"})


def rename(visit: Visit) -> Answer:
    """Give this station another name for the ledger."""
    return Go("/station", told=False, cookie=replace(visit.station, name=_name(visit)))


def _name(visit: Visit) -> str:
    name = " ".join(visit.must_say("name", "the station's name").split())
    if len(name) > LONGEST_NAME or not name.isprintable():
        raise BadInput(f"a station's name has up to {LONGEST_NAME} characters that print")
    return name


DOORS = (
    Read("/pair", show),
    Write("/pair", pair),
    Read("/station", station),
    Write("/station", rename),
)
