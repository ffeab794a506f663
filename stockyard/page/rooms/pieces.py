"""One piece: what it is, where, its history, keep or bin, where it goes; moving, measuring, writing off."""

from __future__ import annotations

import re

from stockyard.desk import cutting, flaws, history, keep_advice, places, pulling, racks, shelve_advice
from stockyard.desk.door import Yard
from stockyard.desk.lifting import LiftAdvice, lift
from stockyard.desk.shown import PieceLine, State
from stockyard.errors import BadInput, StockyardError
from stockyard.page.doors import Read, Write
from stockyard.page.drawn import WIDE, beside, flaw_boxes
from stockyard.page.rooms.plan import mend
from stockyard.page.visit import Answer, Go, Page, Visit
from stockyard.tags import read_tag

_HELD = (State.RACKED, State.PROMISED, State.PULLED, State.BENCH)
_PLACES = 3
_SAW = re.compile(r"/jobs/\d{1,9}/saw(/left\?t=\w{1,9}(&t=\w{1,9}){0,49})?", re.ASCII)
REASONS = ("not where it should be", "damaged", "given away", "thrown away")


def look(visit: Visit) -> Answer:
    """Lead a tag that was scanned or typed to its piece."""
    return Go(f"/piece/{read_tag(visit.asked('tag'))}", told=False)


def piece(visit: Visit) -> Answer:
    """Show one piece whole."""
    y, tag = visit.yard, read_tag(visit.path["tag"])
    life = history.life(y, tag)
    held = life.piece.state in _HELD
    ranked = visit.kept(f"place for {tag}", lambda: shelve_advice.place_for(y, tag)) if held else ()
    return Page(
        "piece.html",
        {
            "title": life.piece.tag,
            "room": "Racks",
            "life": life,
            "held": held,
            "off": life.piece.state in (State.BENCH, State.PULLED),
            "verdict": visit.kept(f"keep {tag}", lambda: keep_advice.keep_piece(y, tag))
            if held and life.piece.kind == "offcut"
            else None,
            "against": next((s.against for s in ranked if s.code == life.piece.place), ()),
            "advised": [s for s in ranked if s.ok][:_PLACES],
            "places": [p.code for p in places.list_places(y)],
            "lift": _lift(visit, tag) if held else None,
            "drawn": beside([life.piece])[0],
            **_clear(y, life.piece, held=held),
            "reasons": REASONS,
        },
    )


def _clear(yard: Yard, piece: PieceLine, *, held: bool) -> dict[str, object]:
    """Return the biggest clear piece in one with flaws, how it is drawn, and whether it may be cut out."""
    if not held or not piece.flaws:
        return {"clear": None}
    found = flaws.clear(yard, piece.tag)
    scale = WIDE / max(piece.length, piece.width)
    (box,) = flaw_boxes([found.clear.flaw], piece.width, scale)
    free = piece.state in (State.RACKED, State.BENCH)
    return {"clear": found, "clear_box": box, "may_clear": free and bool(found.cuts)}


def cut_clear(visit: Visit) -> Answer:
    """Record that the biggest clear piece was cut out of one with flaws."""
    done = flaws.cut_clear(visit.yard, read_tag(visit.path["tag"]))
    return Go(f"/racks/labels?{'&'.join(f't={p.tag}' for p in done.offcuts)}")


def _lift(visit: Visit, tag: str) -> LiftAdvice | None:
    try:
        return lift(visit.yard, tag)
    except StockyardError:
        return None


def put(visit: Visit) -> Answer:
    """Put a piece at a place: back from the bench with its size as measured, or moved from another place."""
    y, tag = visit.yard, read_tag(visit.path["tag"])
    place = visit.must_say("place", "the place")
    with y.reading():
        state = history.life(y, tag).piece.state
    if state in (State.BENCH, State.PULLED):
        done = cutting.return_piece(y, tag, place, visit.maybe("size"))
        if done.broken is not None:
            return mend(visit, done.broken.job_id)
    else:
        racks.move(y, [tag], place)
    back = visit.said("back")
    return Go(back if _SAW.fullmatch(back) else f"/piece/{tag}")


def measure(visit: Visit) -> Answer:
    """Write down the size as really measured, and a flaw."""
    tag = read_tag(visit.path["tag"])
    done = racks.measure(
        visit.yard,
        tag,
        visit.must_say("size", "the size"),
        visit.maybe("thickness"),
        larger=visit.said("larger") == "yes",
        flaws=visit.several("flaw"),
        instead=visit.said("noflaw") == "yes",
    )
    if done.broken is not None:
        return mend(visit, done.broken.job_id)
    return Go(f"/piece/{tag}")


def gone(visit: Visit) -> Answer:
    """Write a piece off."""
    why = visit.said("why")
    if why not in REASONS:
        raise BadInput(f"say why: {', '.join(REASONS)}")
    broken = pulling.gone(visit.yard, read_tag(visit.path["tag"]), why)
    if broken is not None:
        return mend(visit, broken.job_id)
    return Go(f"/piece/{read_tag(visit.path['tag'])}")


DOORS = (
    Read("/piece", look),
    Read("/piece/{tag}", piece),
    Write("/piece/{tag}/put", put),
    Write("/piece/{tag}/measure", measure),
    Write("/piece/{tag}/gone", gone),
    Write("/piece/{tag}/clear", cut_clear),
)
