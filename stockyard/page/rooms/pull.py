"""Pull: the walk along the racks, ticked by touch, by a scanner or by a photograph of the label."""

from __future__ import annotations

from stockyard.desk import jobs, pulling
from stockyard.errors import BadInput, Refused
from stockyard.page.doors import Read, Write
from stockyard.page.photo import tags_in
from stockyard.page.rooms.plan import mend
from stockyard.page.visit import Answer, Go, Page, Visit
from stockyard.tags import read_tag

WHY = {"missing": "not where it should be", "damaged": "damaged"}


def walk(visit: Visit) -> Answer:
    """Show what is to be fetched, place by place, and what lies at the saw already."""
    y, number = visit.yard, visit.path["job"]
    line = jobs.show_job(y, number).line
    values = {
        "title": f"Pull: {line.name}",
        "room": "Pull",
        "job": line,
        "walk": None,
        "twins": {},
        "broken": line.plan == "broken",
        "run": visit.house.runs.of(int(number)),
        "back": visit.kept(f"back {number}", lambda: pulling.to_put_back(y, number)),
        "at_saw": [p for p in pulling.bench(y) if p.job == line.name],
    }
    if line.plan == "standing":
        values["twins"] = visit.kept(f"twins {number}", lambda: pulling.twins(y, number))
        values["walk"] = visit.kept(f"walk {number}", lambda: pulling.walk(y, number))
    return Page("pull.html", values)


def tick(visit: Visit) -> Answer:
    """Tick off a piece: touched, scanned, or photographed."""
    number = visit.path["job"]
    if visit.files:
        ((_, picture),) = visit.files.values()
        tags = tags_in(picture)
    else:
        tags = tuple(read_tag(word) for word in visit.must_say("tag", "the tag").split())
    _of_this_job(visit, tags)
    pulling.pull(visit.yard, tags, number)
    return Go(f"/jobs/{number}/pull")


def _of_this_job(visit: Visit, tags: tuple[str, ...]) -> None:
    """Say of a piece ticked already, perhaps at another station, that it is."""
    at_saw = {p.tag: p for p in pulling.bench(visit.yard)}
    for tag in tags:
        if tag in at_saw:
            raise Refused(f"{tag} is {at_saw[tag].says} already: it was ticked before")


def lost(visit: Visit) -> Answer:
    """Write off a piece that is not there or damaged; the job is planned again around it at once."""
    number = visit.path["job"]
    why = WHY.get(visit.said("why"))
    if why is None:
        raise BadInput("say whether it is missing or damaged")
    broken = pulling.gone(visit.yard, visit.must_say("tag", "the tag"), why)
    return mend(visit, broken.job_id) if broken else Go(f"/jobs/{number}/pull")


def put_back(visit: Visit) -> Answer:
    """Record that what was lifted off a stack lies on it again."""
    number = visit.path["job"]
    pulling.put_back(visit.yard, number, visit.must_say("place", "the place"))
    return Go(f"/jobs/{number}/pull")


DOORS = (
    Read("/jobs/{job:int}/pull", walk),
    Write("/jobs/{job:int}/tick", tick),
    Write("/jobs/{job:int}/lost", lost),
    Write("/jobs/{job:int}/back", put_back),
)
