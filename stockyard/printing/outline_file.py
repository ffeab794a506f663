"""The outline of a shaped part, read from a drawing exchange file: closed polylines and circles alone."""

from __future__ import annotations

from io import BytesIO, TextIOWrapper
from itertools import pairwise
from math import isfinite
from typing import Any

from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit
from stockyard.printing.library_remarks import keep_quiet
from stockyard.printing.outline_check import extents, wrong_loop
from stockyard.printing.outline_name import with_name
from stockyard.printing.routed_sheet import Loop, Outline, Vertex

# $INSUNITS: how many mm one unit is; 0 says nothing.
_DECLARED = {
    1: TICKS_PER_INCH / TICKS_PER_MM,
    2: 12 * TICKS_PER_INCH / TICKS_PER_MM,
    4: 1.0,
    5: 10.0,
    6: 1000.0,
}
MOST_KEPT = 2_000_000
# What is written on a drawing and cuts nothing.
_SILENT = {"TEXT", "MTEXT", "DIMENSION", "POINT"}
# Holes may reach over the outline by this much (mm) through rounding.
_SLACK = 1e-6


def read_outline(data: bytes, name: str, unit: Unit) -> Outline:
    """Return the outline in a file; `unit` is taken where the file declares none, `name` is for messages.

    Raises:
        BadInput: not such a file, an entity that is no closed polyline, or not one outline with holes in it.
    """
    doc = _document(data, name)
    declared = int(doc.header.get("$INSUNITS", 0))
    if declared not in (*_DECLARED, 0):
        raise BadInput(f"{name}: its unit (number {declared}) is not one of mm, cm, m, inch, foot")
    scale = _DECLARED.get(declared) or (1.0 if unit is Unit.MM else TICKS_PER_INCH / TICKS_PER_MM)
    found = []
    for entity in doc.modelspace():
        if entity.dxftype() not in _SILENT:
            where = f"{name}: {entity.dxftype()} (handle {entity.dxf.handle})"
            loop = _loop(entity, where)
            found.append((extents(loop), loop, where))
    if not found:
        raise BadInput(f"{name}: there is no closed polyline in it")
    found.sort(key=lambda f: -(f[0][2] - f[0][0]) * (f[0][3] - f[0][1]))
    low_x, low_y, high_x, high_y = found[0][0]
    for (x, y, far_x, far_y), _, _ in found[1:]:
        if x < low_x - _SLACK or y < low_y - _SLACK or far_x > high_x + _SLACK or far_y > high_y + _SLACK:
            raise BadInput(f"{name}: holds more than one outline; give each part its own file")
    wrong = wrong_loop([loop for _, loop, _ in found])
    if wrong is not None:
        raise BadInput(f"{found[wrong[0]][2]} {wrong[1]}; draw one outline and its holes, each once")
    loops = tuple(
        tuple(((x - low_x) * scale, (y - low_y) * scale, bulge) for x, y, bulge in loop)
        for _, loop, _ in found
    )
    return Outline((high_x - low_x) * scale, (high_y - low_y) * scale, loops)


def outline_text(data: bytes, name: str, unit: Unit) -> tuple[str, Outline]:
    """Return a file as the text that is kept of it, from which the same outline is read, and that outline.

    Its name stands before it.

    Raises:
        BadInput: as `read_outline`, or larger than is kept.
    """
    if len(data) > MOST_KEPT:
        raise BadInput(f"{name}: it is larger than the {MOST_KEPT // 1_000_000} MB that are kept of a shape")
    read_outline(data, name, unit)
    text = with_name(data.decode("utf-8", errors="replace"), name)
    return text, read_outline(text.encode("utf-8"), name, unit)


def _document(data: bytes, name: str) -> Any:
    if not data.strip():
        raise BadInput(f"{name}: there is nothing in it")
    from ezdxf.filemanagement import read
    from ezdxf.lldxf.const import DXFError

    keep_quiet()
    try:
        return read(TextIOWrapper(BytesIO(data), encoding="utf-8", errors="surrogateescape"))
    except (DXFError, OSError, ValueError) as error:
        raise BadInput(f"{name}: not a drawing exchange file that can be read ({error})") from None


def _loop(entity: Any, where: str) -> Loop:
    """Return a closed polyline or a circle as a loop, seen from above; `where` names it in messages."""
    kind = entity.dxftype()
    if kind == "LWPOLYLINE":
        closed, points = entity.closed, [(x, y, b) for x, y, b in entity.get_points("xyb")]
    elif kind == "POLYLINE" and entity.is_2d_polyline:
        closed = entity.is_closed
        points = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
    elif kind == "CIRCLE":
        (x, y, _), radius = entity.dxf.center, entity.dxf.radius
        closed, points = True, [(x - radius, y, 1.0), (x + radius, y, 1.0)]
    else:
        do = "join lines and arcs into one" if kind in {"LINE", "ARC"} else "draw its edge as one"
        raise BadInput(f"{where} is no closed polyline and no circle; {do}")
    if not all(isfinite(value) for point in points for value in point):
        raise BadInput(f"{where} has a corner that is no place: draw it again")
    if len(points) > 1 and points[0][:2] == points[-1][:2]:
        closed, points = True, points[:-1]
    if not closed:
        raise BadInput(f"{where} is not closed")
    # A corner that is there twice makes a line of no length.
    points = [here for here, there in pairwise((*points, points[0])) if here[:2] != there[:2]]
    if len(points) < 2:
        raise BadInput(f"{where} has fewer than two corners")
    return _from_above(entity, where, [(float(x), float(y), float(b)) for x, y, b in points])


def _from_above(entity: Any, where: str, points: list[Vertex]) -> Loop:
    """Return corners as seen from above: a polyline that was drawn from below has its x the other way.

    A polyline keeps its corners in a plane of its own, which its extrusion direction says.
    """
    x, y, z = entity.dxf.extrusion.normalize()
    if abs(x) > _SLACK or abs(y) > _SLACK:
        raise BadInput(f"{where} does not lie flat: draw it in the plane of x and y")
    return tuple(points) if z > 0 else tuple((-x, y, -bulge) for x, y, bulge in points)
