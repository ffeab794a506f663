"""Jobs: one of them whole, its papers, giving up its plan, taking it away; and choosing one for a room."""

from __future__ import annotations

import re
from io import BytesIO
from itertools import count
from zipfile import ZIP_DEFLATED, ZipFile

from stockyard.desk import job_change, jobs, paperwork
from stockyard.errors import BadInput
from stockyard.page.doors import Read, Room, Write
from stockyard.page.rooms.now import step_of
from stockyard.page.rooms.plan import mend
from stockyard.page.visit import Answer, File, Go, Page, Visit

PDF = "application/pdf"
_PAPERS = {"pull": "pull-list", "cards": "cut-cards", "labels": "part-labels", "router": "router-sheets"}


def job(visit: Visit) -> Answer:
    """Show one job: its parts, how many are cut, what it wants next."""
    shown = jobs.show_job(visit.yard, visit.path["job"])
    values = {
        "title": shown.line.name,
        "room": "",
        "job": shown.line,
        "shown": shown,
        "step": step_of(visit, shown.line),
    }
    return Page("job.html", values)


def change(visit: Visit) -> Answer:
    """Change a stored job by its form; where its plan no longer fits it is mended at once.

    Only what is not as the form showed it is changed, so that a page left open takes nothing back.
    """
    y, number = visit.yard, visit.path["job"]
    names = [visit.form[f"part{i}"] for i in range(_most(visit))]

    def wished(kind: str) -> dict[str, str]:
        texts = (
            (name, visit.said(f"{kind}{i}"), visit.said(f"was_{kind}{i}")) for i, name in enumerate(names)
        )
        return {name: text for name, text, was in texts if text != was}

    done = job_change.change_job(
        y,
        number,
        job_change.Wishes(
            counts=wished("count"), sizes=wished("size"), renames=wished("name"), notes=wished("note"),
            added=tuple(line.strip() for line in visit.said("add").splitlines() if line.strip()),
            removed=tuple(name for i, name in enumerate(names) if visit.said(f"out{i}") == "yes"),
            name=visit.said("job") if visit.said("job") != visit.said("was_job") else "",
        ),
    )  # fmt: skip
    if not done.to_plan:
        return Go(f"/jobs/{number}")
    return mend(visit, int(number), done.called)


def on_router(visit: Visit) -> Answer:
    """Say what a job or a part of it is cut on, and the shape of a part, by its form."""
    y, number = visit.yard, visit.path["job"]
    part, machine, plain = visit.said("of"), visit.said("machine"), visit.said("plain") == "yes"
    if not part and (visit.files or plain):
        raise BadInput("say which part has that shape")
    if visit.files and plain:
        raise BadInput("a part has the shape in a file or is a rectangle again: say one of them")
    given = next(iter(visit.files.values()), None)
    shapes = {part: (given[1], given[0] or "the file")} if given else {}
    wishes = job_change.Wishes(
        machines={part: machine} if part and machine else {},
        machine="" if part else machine,
        outlines={part: (b"", "")} if plain else shapes,
    )
    done = job_change.change_job(y, number, wishes)
    return mend(visit, int(number), done.called) if done.to_plan else Go(f"/jobs/{number}")


def _most(visit: Visit) -> int:
    return next(i for i in count() if f"part{i}" not in visit.form)


def papers(visit: Visit) -> Answer:
    """Print a job's papers as one PDF, or one kind of them."""
    name = visit.path["job"]
    only, changed = visit.asked("only") or None, visit.asked("changed") == "yes"
    made = paperwork.papers(visit.yard, name, only=only, one_file=only is None, changed=changed)
    stem = _stem(jobs.show_job(visit.yard, name).line.name)
    return File(made[0].data, PDF, f"{stem}-{_PAPERS.get(only or '', 'papers')}.pdf")


def printed(visit: Visit) -> Answer:
    """Note that the cut cards are on paper as they are now."""
    paperwork.printed(visit.yard, visit.path["job"])
    return Go(f"/jobs/{visit.path['job']}/plan")


def card(visit: Visit) -> Answer:
    """Draw one cut card."""
    drawing = paperwork.card_svg(visit.yard, visit.path["job"], visit.asked("piece") or None)
    return File(drawing, "image/svg+xml", "cut-card.svg")


def drawings(visit: Visit) -> Answer:
    """Give the drawings of the sheets for the router, in one archive."""
    from stockyard.desk import router

    name = visit.path["job"]
    packed = BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED) as archive:
        for file, data in router.drawings(visit.yard, name, router.Drawn()):
            archive.writestr(file, data)
    stem = _stem(jobs.show_job(visit.yard, name).line.name)
    return File(packed.getvalue(), "application/zip", f"{stem}-drawings.zip")


def release(visit: Visit) -> Answer:
    """Give up the plan of a job."""
    jobs.release(visit.yard, visit.path["job"], "given up at a page")
    return Go(f"/jobs/{visit.path['job']}")


def remove(visit: Visit) -> Answer:
    """Take a job away."""
    jobs.remove_job(visit.yard, visit.path["job"])
    return Go("/")


def choose(name: str, step: str, wants: tuple[jobs.Next, ...]) -> Room:
    """Return the page of a room that begins with choosing a job: those that want it first."""

    def room(visit: Visit) -> Answer:
        every = visit.kept("jobs", lambda: jobs.list_jobs(visit.yard))
        ready = [j for j in every if j.next in wants]
        values = {"title": name, "step": step, "ready": ready, "others": [j for j in every if j not in ready]}
        return Page("choose.html", values)

    return room


def _stem(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:60] or "job"


DOORS = (
    Read("/plan", choose("Plan", "plan", (jobs.Next.PLAN,))),
    Read("/pull", choose("Pull", "pull", (jobs.Next.PULL, jobs.Next.BUY))),
    Read("/saw", choose("Saw", "saw", (jobs.Next.CUT,))),
    Read("/jobs/{job:int}", job),
    Read("/jobs/{job:int}/papers.pdf", papers),
    Read("/jobs/{job:int}/card.svg", card),
    Read("/jobs/{job:int}/drawings.zip", drawings),
    Write("/jobs/{job:int}/printed", printed),
    Write("/jobs/{job:int}/change", change),
    Write("/jobs/{job:int}/router", on_router),
    Write("/jobs/{job:int}/release", release),
    Write("/jobs/{job:int}/remove", remove),
)
