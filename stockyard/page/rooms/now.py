"""Now: the jobs and what each wants next, what lies off the racks, what to print, to order and to count."""

from __future__ import annotations

from stockyard.desk import buying, counting, history, jobs, labels, pulling, putting_away
from stockyard.errors import Refused
from stockyard.page.doors import Read, Write
from stockyard.page.visit import Answer, Go, Page, Visit

# What a job wants next: what the button says, and the page it leads to.
STEPS = {
    jobs.Next.PLAN: ("Plan it", "plan"),
    jobs.Next.PULL: ("Pull", "pull"),
    jobs.Next.BUY: ("Buy, then pull", "pull"),
    jobs.Next.CUT: ("To the saw", "saw"),
    jobs.Next.NOTHING: ("Look", ""),
}
_DEEDS = 6


def step_of(visit: Visit, job: jobs.JobLine) -> tuple[str, str]:
    """Return what a job wants next, in words, and the page it leads to."""
    words, page = STEPS[job.next]
    run = visit.house.runs.of(job.number) if job.next is jobs.Next.PLAN else None
    return ("See the new plan" if run and (run.busy or run.state == "made") else words), page


def now(visit: Visit) -> Answer:
    """Show what wants doing."""
    y = visit.yard
    open_jobs = visit.kept("jobs", lambda: jobs.list_jobs(y))
    return Page(
        "now.html",
        {
            "title": "Now",
            "jobs": open_jobs,
            "steps": {job.number: step_of(visit, job) for job in open_jobs},
            "bench": pulling.bench(y),
            "unprinted": labels.unprinted(y),
            "order": visit.kept("order", lambda: buying.reorder(y)),
            "due": visit.kept("due", lambda: counting.due(y)),
            "deeds_done": history.deeds(y, limit=_DEEDS),
        },
    )


def put_away(visit: Visit) -> Answer:
    """Put all that lies on the bench where it goes: what lay on a rack goes back there."""
    done = putting_away.put_all_away(visit.yard)
    if not done.pieces:
        raise Refused(f"no place suits what lies on the bench: {', '.join(done.left)}; choose one for each")
    return Go("/")


DOORS = (Read("/", now), Write("/away", put_away))
