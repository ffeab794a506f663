"""Whose day it is: the record keeps times in UTC, the shop's books go by the day on its own clock."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from stockyard.errors import BadInput

MACHINE = "machine"
"""Stands for the time zone that the computer is set to."""


def read_zone(text: str) -> str:
    """Return the name of a time zone as the IANA database has it, or `machine`.

    Raises:
        BadInput: there is no such zone.
    """
    name = text.strip()
    if name.lower() == MACHINE:
        return MACHINE
    try:
        return ZoneInfo(name).key
    except (ValueError, OSError, KeyError):
        raise BadInput(f"time_zone is '{name[:40]}': write one such as Europe/Lisbon, or {MACHINE}") from None


def local(at: str, zone: str) -> str:
    """Return a time of the record (UTC, ISO 8601) as the clock on the shop's wall showed it, to the second.

    A text that is no such time, as an older yard may hold, comes back as it is.
    """
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return at
    if moment.tzinfo is None:
        return at
    return moment.astimezone(None if zone == MACHINE else ZoneInfo(zone)).strftime("%Y-%m-%dT%H:%M:%S")
