"""Racks: the places as they stand, what fits, shelving something new, labels for the edges."""

from __future__ import annotations

from collections.abc import Mapping

from stockyard.desk import labels, places, racks, stock
from stockyard.desk.racks import Suggestion
from stockyard.errors import BadInput
from stockyard.page.doors import Read, Write
from stockyard.page.drawn import beside
from stockyard.page.visit import Answer, File, Go, Page, Visit

PDF = "application/pdf"
# Rows on one page: more are not read at a rack.
_MOST = 200
_ADVISED = 3
_TYPED = ("material", "kind", "size", "count", "thickness", "flaw", "place", "note")


def overview(visit: Visit) -> Answer:
    """Show the places in walking order, and what fits when something is looked for."""
    y, asked = visit.yard, visit.asked("q")
    values: dict[str, object] = {"title": "Racks", "q": asked, "found": None, "problem": ""}
    if asked:
        try:
            values["found"] = racks.find(y, asked, turn=visit.asked("turn") != "no")
        except BadInput as error:
            values["problem"] = str(error)
    values["places"] = visit.kept("places", lambda: places.list_places(y))
    return Page("racks.html", values)


def place(visit: Visit) -> Answer:
    """Show one place from the top down, each piece drawn to one scale."""
    code = visit.asked("code")
    pieces = racks.at_place(visit.yard, code)
    line = next((p for p in places.list_places(visit.yard) if p.code.casefold() == code.casefold()), None)
    values = {
        "title": line.code if line else code,
        "room": "Racks",
        "place": line,
        "more": max(0, len(pieces) - _MOST),
        "pieces": beside(pieces[:_MOST]),
    }
    return Page("place.html", values)


def shelving(visit: Visit) -> Answer:
    """Ask what comes on a rack."""
    return _shelving(visit, {"place": visit.asked("place")})


def _shelving(visit: Visit, typed: Mapping[str, str], advised: tuple[Suggestion, ...] = ()) -> Page:
    return Page(
        "shelve.html",
        {
            "title": "Put something on a rack",
            "room": "Racks",
            "typed": dict.fromkeys(_TYPED, "") | {"count": "1"} | dict(typed),
            "advised": [s for s in advised if s.ok][:_ADVISED],
            "none_suits": bool(advised) and not any(s.ok for s in advised),
            "materials": [m.title for m in stock.list_materials(visit.yard)],
            "places": [p.code for p in places.list_places(visit.yard)],
        },
    )


def advise(visit: Visit) -> Answer:
    """Show where what was typed goes best; nothing is stored."""
    typed = {name: visit.said(name) for name in _TYPED}
    return _shelving(visit, typed, racks.places_for(visit.yard, _to_shelve(visit, visit.said("place"))))


def shelve(visit: Visit) -> Answer:
    """Put equal pieces on a rack, each with a new tag."""
    place = visit.said("advised") or visit.must_say("place", "the place")
    done = racks.shelve(visit.yard, _to_shelve(visit, place))
    if len(done.pieces) == 1:
        return Go(f"/piece/{done.pieces[0].tag}")
    return Go(f"/racks/labels?{'&'.join(f't={p.tag}' for p in done.pieces[:_MOST])}")


def _to_shelve(visit: Visit, place: str) -> racks.ToShelve:
    offcut = visit.said("kind") == "offcut"
    size = visit.maybe("size")
    if offcut and size is None:
        raise BadInput("an offcut needs its size, along the grain first")
    return racks.ToShelve(
        material=visit.must_say("material", "the material"),
        place=place,
        size=None if offcut else size,
        offcut=size if offcut else None,
        count=visit.number("count", most=500),
        thickness=visit.maybe("thickness"),
        note=visit.said("note")[:200],
        flaws=visit.several("flaw"),
    )


def to_label(visit: Visit) -> Answer:
    """Show pieces that have just come, with their labels to print."""
    tags = tuple(tag for tag in visit.every("t") if tag)[:_MOST]
    pieces = racks.lines_of(visit.yard, tags)
    values = {"title": "Labels for what came", "room": "Racks", "pieces": pieces, "tags": " ".join(tags)}
    return Page("labels.html", values)


def labels_pdf(visit: Visit) -> Answer:
    """Print edge labels: of tags, of a place, or of those that have none yet."""
    y = visit.yard
    tags, at = visit.asked("tags").split()[:_MOST], visit.asked("at")
    if not tags and not at:
        tags = list(labels.unprinted(y))[:_MOST]
        if not tags:
            raise BadInput("every piece has its label")
    made = labels.edge_labels(y, tags, [at] if at else ())
    return File(made.pdf, PDF, "edge-labels.pdf")


def printed(visit: Visit) -> Answer:
    """Note that labels are printed."""
    labels.note_printed(visit.yard, visit.must_say("tags", "which labels").split())
    return Go("/")


DOORS = (
    Read("/racks", overview),
    Read("/racks/place", place),
    Read("/racks/shelve", shelving),
    Write("/racks/shelve", shelve),
    Write("/racks/shelve/where", advise),
    Read("/racks/labels", to_label),
    Read("/labels.pdf", labels_pdf),
    Write("/labels/printed", printed),
)
