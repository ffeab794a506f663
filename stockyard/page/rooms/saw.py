"""Saw: one cut at a time, to be read from across the bench; each piece confirmed with what is really left."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.desk import cutting, jobs, pulling
from stockyard.desk.at_the_saw import DONE, SawStep, saw_steps
from stockyard.errors import BadInput
from stockyard.flaws import flaws_in
from stockyard.measure import show
from stockyard.page.doors import Read, Write
from stockyard.page.drawn import cut_drawing
from stockyard.page.rooms.plan import mend
from stockyard.page.visit import Answer, Go, Page, Visit
from stockyard.printing.replay import replay
from stockyard.printing.step_rows import band_notes, size_text

SPOILED = "spoiled at the saw"


def saw(visit: Visit) -> Answer:
    """Show one cut, or a piece that is cut whole and wants to be confirmed."""
    y, number = visit.yard, visit.path["job"]
    line = jobs.show_job(y, number).line
    run = visit.house.runs.of(int(number))
    values: dict[str, object] = {"title": f"Saw: {line.name}", "room": "Saw", "job": line, "run": run}
    off = any(p.state == "bench" for p in pulling.bench(y))
    if line.plan != "standing":
        return Page("saw_none.html", values | {"off": off})
    steps = [s for s in visit.kept(f"saw {number}", lambda: saw_steps(y, number)) if s.card.place != DONE]
    if not steps:
        return Page("saw_none.html", values | {"off": off})
    at = _at(steps, visit.asked("at"))
    here = steps[at]
    values |= {
        "here": here,
        "cut": sum(1 for s in steps[: at + 1] if s.row),
        "of": sum(1 for s in steps if s.row),
        "wrong": visit.asked("wrong") == "yes",
        "before": steps[at - 1].key if at else None,
        "after": steps[at + 1].key if at + 1 < len(steps) else None,
    }
    if here.step is None or visit.asked("wrong") == "yes":
        finest = here.card.finest
        values["left"] = [
            (x, size_text(x.dx, x.dy, y.unit, finest).replace("≈", "").replace("×", "x"))
            for x in here.card.leftovers
        ]
        values["becomes"] = tuple(band_notes(here.card))
        values["parts"] = cutting.planned_for(y, here.card.tag)[0]
        wrong = visit.asked("wrong") == "yes"
        values["one_piece"] = () if wrong or not here.card.routed else cutting.one_piece(y, here.card.tag)
        return Page("saw_end.html", values)
    assert here.row is not None
    hand = replay(here.card).areas[here.step.piece]
    marks = flaws_in(here.card.flaws, hand.x, hand.y, hand.dx, hand.dy)
    # Of several equal cuts the first is drawn: what lies beyond it then is cut again.
    names = (here.row.keeps, here.row.rest if here.row.times == 1 else "")
    values |= {"drawing": cut_drawing(here.step, marks, names), "figure": here.row.figure}
    values["becomes"] = tuple(band_notes(here.card, here.row))
    return Page("saw.html", values)


def _at(steps: Sequence[SawStep], key: str) -> int:
    """Return where a cut stands; where its piece was cut meanwhile, the first one left."""
    return next((i for i, step in enumerate(steps) if step.key == key), 0)


def cut(visit: Visit) -> Answer:
    """Confirm that a piece was cut: as planned, with its leftovers as measured, or with fewer parts."""
    y, number = visit.yard, visit.path["job"]
    tag = visit.must_say("tag", "the tag")
    parts, left = cutting.planned_for(y, tag)
    given = [
        f"{n}:{part.name}:{_exact(part.length)} x {_exact(part.width)}"
        for i, part in enumerate(parts)
        if (n := visit.number(f"n{i}", most=part.count))
    ]
    whole = all(visit.number(f"n{i}", most=part.count) == part.count for i, part in enumerate(parts))
    sizes = [visit.said(f"size{i}") for i in range(len(left)) if visit.said(f"keep{i}") == "yes"]
    if visit.said("more"):
        sizes.append(visit.said("more"))
    if not all(sizes):
        raise BadInput("a leftover that is kept needs its size as measured, along the grain first")
    if visit.said("one_piece") == "yes":
        if not whole:
            raise BadInput("what is left over stays one piece only where every part came out of it")
        done = cutting.cut(y, tag, whole=True)
    else:
        done = cutting.cut(y, tag, parts=None if whole else given, offcuts=sizes)
    led = mend(visit, int(number)) if done.missing else Go(f"/jobs/{number}/saw")
    if done.offcuts:
        return Go(f"/jobs/{number}/saw/left?t={'&t='.join(p.tag for p in done.offcuts)}")
    return led


def _exact(ticks: int) -> str:
    """Write a length in full millimetre steps, so that it reads back as the same."""
    return f"{ticks / 3200:.5f}".rstrip("0").rstrip(".") + " mm"


def left(visit: Visit) -> Answer:
    """Show what a piece left: label and place of each."""
    y = visit.yard
    line = jobs.show_job(y, visit.path["job"]).line
    from stockyard.desk import racks, shelve_advice

    pieces = racks.lines_of(y, [t for t in visit.every("t") if t][:50])
    advised = {
        p.tag: next((s.code for s in shelve_advice.place_for(y, p.tag) if s.ok), "")
        for p in pieces
        if p.state == "bench"
    }
    return Page(
        "saw_left.html",
        {
            "title": "What is left",
            "room": "Saw",
            "job": line,
            "pieces": pieces,
            "advised": advised,
            "tags": " ".join(p.tag for p in pieces),
            "more": line.plan == "standing" and bool(pulling.uncut(y, visit.path["job"])),
            "show": show,
        },
    )


def spoiled(visit: Visit) -> Answer:
    """Write off a piece that went wrong; the job is planned again without it."""
    broken = pulling.gone(visit.yard, visit.must_say("tag", "the tag"), SPOILED)
    return mend(visit, broken.job_id) if broken else Go(f"/jobs/{visit.path['job']}/saw")


def parts_cut(visit: Visit) -> Answer:
    """Show the parts that were cut, so that one that is no good can be said."""
    number = visit.path["job"]
    values = {
        "title": "A part is spoiled",
        "room": "Saw",
        "job": jobs.show_job(visit.yard, number).line,
        "pieces": cutting.cut_before(visit.yard, number),
    }
    return Page("saw_parts.html", values)


def part_spoiled(visit: Visit) -> Answer:
    """Take back parts that are no good; the job is planned again for them."""
    parts = visit.lists.get("part", ())
    left = [visit.said("left")] if visit.said("left") else []
    cutting.spoiled(visit.yard, visit.must_say("tag", "the tag"), parts, left)
    return mend(visit, int(visit.path["job"]))


DOORS = (
    Read("/jobs/{job:int}/saw", saw),
    Read("/jobs/{job:int}/saw/left", left),
    Read("/jobs/{job:int}/saw/parts", parts_cut),
    Write("/jobs/{job:int}/saw/parts", part_spoiled),
    Write("/jobs/{job:int}/saw/cut", cut),
    Write("/jobs/{job:int}/saw/spoiled", spoiled),
)
