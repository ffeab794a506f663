"""The ledger and undoing."""

from __future__ import annotations

import re

from stockyard.desk import history, jobs
from stockyard.errors import StockyardError
from stockyard.page.doors import Read, Write
from stockyard.page.visit import Answer, Go, Page, Visit
from stockyard.tags import read_tag

_DEEDS = 100
# Pages to which an undo leads back, if what they are about is still there.
_BACK = re.compile(
    r"/|/racks(/place\?code=[\w%.-]{1,90})?|/books(/[a-z]{1,12})?|/piece/(?P<tag>\w{1,9})"
    r"|/jobs/(?P<job>\d{1,9})(/plan|/pull|/saw)?",
    re.ASCII,
)


def ledger(visit: Visit) -> Answer:
    """Show the last deeds, each with its station; what can be undone as things stand may be."""
    y = visit.yard
    done = history.deeds(y, limit=_DEEDS)
    can = visit.kept("undoable", lambda: history.undoable(y, done))
    return Page("ledger.html", {"title": "Ledger", "deeds_done": done, "can": can})


def undo(visit: Visit) -> Answer:
    """Undo one deed by its opposite; what was undone is said where the person was."""
    history.undo(visit.yard, visit.number("deed", most=10**9))
    back = visit.said("back")
    return Go(back if _is_there(visit, back) else "/ledger")


def _is_there(visit: Visit, back: str) -> bool:
    found = _BACK.fullmatch(back)
    if found is None:
        return False
    try:
        if found["tag"]:
            history.life(visit.yard, read_tag(found["tag"]))
        if found["job"]:
            jobs.show_job(visit.yard, found["job"])
    except StockyardError:
        return False
    return True


DOORS = (Read("/ledger", ledger), Write("/undo", undo))
