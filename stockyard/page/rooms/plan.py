"""Plan: made while one watches, good enough when one says so, taken when one likes it."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from time import monotonic

from stockyard.desk import jobs, paperwork, planning
from stockyard.errors import BadInput, Refused
from stockyard.page.doors import Read, Write
from stockyard.page.drawn import Curve, SketchDrawing, falling, sketch_drawings
from stockyard.page.runs import Run
from stockyard.page.visit import Answer, File, Go, Page, Visit

SVG = "image/svg+xml"
_LONGEST = 600


def plan(visit: Visit) -> Answer:
    """Show the plan of a job: in the making, to be taken, or as it stands."""
    y, number = visit.yard, int(visit.path["job"])
    shown = jobs.show_job(y, str(number))
    line = shown.line
    standing = line.plan == "standing"
    run = visit.house.runs.of(number)
    if run is not None and run.around and standing and not run.busy:
        run = None  # what it lost came back: its plan holds again
    cards = visit.kept(f"cards {number}", lambda: paperwork.cards(y, str(number))) if standing else ()
    return Page(
        "plan.html",
        {
            "title": f"Plan: {line.name}",
            "room": "Plan",
            "job": line,
            "run": run,
            "around": line.plan == "broken",
            "why": shown.why_broken,
            "curve": _curve(run),
            "sketches": _sketches(run),
            "paper": paperwork.on_paper(y, str(number)) if standing else "",
            "passed": min(run.seconds, monotonic() - run.begun) if run else 0,
            "cards": cards,
            "seconds": y.settings.plan_seconds,
        },
    )


def _curve(run: Run | None) -> Curve | None:
    """Return what the plans so far came to, as a falling line: money first, then material."""
    if run is None or len(run.better) < 2:
        return None
    whole = [b for b in run.better if b.missing == run.better[-1].missing]
    figures = [float(b.net) for b in whole]
    return falling([b.seconds for b in whole], figures) if len(whole) > 1 else None


def _sketches(run: Run | None) -> tuple[SketchDrawing, ...]:
    """Return the best plan so far as it is drawn while it is made."""
    return sketch_drawings(run.better[-1].sketches) if run is not None and run.busy and run.better else ()


def start(visit: Visit) -> Answer:
    """Begin to plan."""
    number = int(visit.path["job"])
    jobs.show_job(visit.yard, str(number))
    run = Run(
        job=number, side_by_side=visit.said("how") == "side", seconds=visit.number("seconds", most=_LONGEST)
    )
    if not run.seconds:
        raise BadInput("a plan takes at least a second")
    planning.refuse_hopeless(visit.yard, str(number))
    visit.house.runs.begin(visit.house.keeper(visit.station), run)
    return Go(f"/jobs/{number}/plan", told=False)


def mend(visit: Visit, number: int, called: Mapping[str, str] | None = None) -> Go:
    """Plan a job again whose plan no longer fits, and lead to where that is watched.

    `called` names parts that were renamed since.
    """
    seconds = min(planning.MEND_SECONDS, visit.yard.settings.plan_seconds)
    broken = jobs.show_job(visit.yard, str(number)).line.plan == "broken"
    run = Run(job=number, side_by_side=False, seconds=seconds, called=called or {}, around=broken)
    # One that is being planned already goes on; whoever watches it may plan again.
    with suppress(Refused):
        visit.house.runs.begin(visit.house.keeper(visit.station), run)
    return Go(f"/jobs/{number}/plan")


def stop(visit: Visit) -> Answer:
    """Take the best so far as good enough."""
    visit.house.runs.stop(int(visit.path["job"]))
    return Go(f"/jobs/{visit.path['job']}/plan", told=False)


def take(visit: Visit) -> Answer:
    """Promise the pieces of a plan to the job."""
    number = int(visit.path["job"])
    way = visit.house.runs.way(number, visit.number("which", most=9))
    planning.take(visit.yard, way.answer)
    visit.house.runs.forget(number)
    return Go(f"/jobs/{number}/pull")


def drop(visit: Visit) -> Answer:
    """Forget a plan that was made and is not wanted."""
    visit.house.runs.forget(int(visit.path["job"]))
    return Go(f"/jobs/{visit.path['job']}/plan", told=False)


def drawing(visit: Visit) -> Answer:
    """Draw one piece of a plan that may be taken."""
    way = visit.house.runs.way(int(visit.path["job"]), int(visit.path["way"]))
    number = int(visit.path["card"])
    if not 1 <= number <= len(way.drawings):
        raise BadInput("this plan has no such piece")
    return File(way.drawings[number - 1], SVG, "piece.svg")


DOORS = (
    Read("/jobs/{job:int}/plan", plan),
    Read("/jobs/{job:int}/plan/{way:int}/{card:int}.svg", drawing),
    Write("/jobs/{job:int}/plan/start", start),
    Write("/jobs/{job:int}/plan/stop", stop),
    Write("/jobs/{job:int}/plan/take", take),
    Write("/jobs/{job:int}/plan/drop", drop),
)
