"""Sheets for the router as drawing exchange files (by ezdxf) and as SVG: outlines only, no tool paths."""

from __future__ import annotations

from io import StringIO
from math import hypot
from typing import Any
from xml.sax.saxutils import escape

from stockyard.errors import BadInput
from stockyard.measure import Unit
from stockyard.printing.library_remarks import keep_quiet
from stockyard.printing.routed_sheet import (
    DrawingRules,
    Frame,
    Loop,
    Release,
    RoutedPart,
    RoutedSheet,
    Vertex,
    clear_of,
    tab_lines,
    wants_tabs,
)
from stockyard.text import leaving

# The value of $INSUNITS, and what the words on the drawing call the unit.
_UNITS = {Unit.MM: (4, "mm"), Unit.INCH: (1, "in")}
# Letters are this share of the lower side of a part, but no higher than this (mm); one is so wide at most,
# in heights, as the machine's own lettering may be.
_LETTER, _LARGEST, _WIDE = 0.18, 25.0, 0.9
# The layer of the points that dimensions hang on, which the format has of its own.
_NOT_SHOWN = "DEFPOINTS"
_MM = {Unit.MM: 1.0, Unit.INCH: 25.4}
Ends = tuple[tuple[float, float], tuple[float, float]]


def sheet_dxf(sheet: RoutedSheet, rules: DrawingRules) -> bytes:
    """Return one sheet as a drawing exchange file.

    R12 can not declare its unit, so that the words on the label layer say it in both.

    Raises:
        BadInput: a layer name that the file can not hold.
    """
    from ezdxf.filemanagement import new

    rules.layers.check(rules.release)
    keep_quiet()
    doc = new("R12" if rules.release is Release.R12 else "R2000", units=_UNITS[rules.unit][0])
    for name, colour in zip(_names(rules), (7, 8, 1, 6, 3, 5, 2), strict=True):
        if name.upper() == _NOT_SHOWN:
            raise BadInput(
                f"layer '{name}': programs leave out what lies on it; give that layer another name"
            )
        if name in doc.layers:  # 0 is in every file
            doc.layers.get(name).color = colour
        else:
            doc.layers.add(name, color=colour)
    space, frame, layers = doc.modelspace(), Frame(sheet, rules), rules.layers
    for layer, loop in _loops(sheet, frame, rules):
        _add_loop(space, rules.release, layer, loop)
    for layer, ends in _lines(sheet, frame, rules):
        space.add_line(*ends, dxfattribs={"layer": layer})
    for text, at, high in _words(sheet, frame, rules):
        space.add_text(text, height=high, dxfattribs={"layer": layers.labels}).set_placement(at)
    audit = doc.audit()
    if audit.has_errors:
        raise BadInput(f"the drawing of {sheet.name} is not sound: {audit.errors[0].message}")
    written = StringIO()
    doc.write(written)
    return bytes(doc.encode(written.getvalue()))


def sheet_svg(sheet: RoutedSheet, rules: DrawingRules) -> bytes:
    """Return one sheet as SVG: the view box is the sheet in the drawing's unit, y runs downward.

    What it is stands in its description: beside the sheet nothing is seen.
    """
    frame, unit = Frame(sheet, rules), _UNITS[rules.unit][1]
    wide, high = frame.size
    low_x = min(x for x, _, _ in frame.corners((0, 0, sheet.length, sheet.width)))
    top_y = max(y for _, y, _ in frame.corners((0, 0, sheet.length, sheet.width)))
    groups: dict[str, list[str]] = {name: [] for name in _names(rules)}
    for layer, loop in _loops(sheet, frame, rules):
        groups[layer].append(f'<path d="{_path(loop)}"/>')
    for layer, ((x1, y1), (x2, y2)) in _lines(sheet, frame, rules):
        groups[layer].append(f'<path d="M{_n(x1)} {_n(-y1)}L{_n(x2)} {_n(-y2)}"/>')
    *words, (caption, _, _) = _words(sheet, frame, rules)
    for text, (x, y), size in words:
        groups[rules.layers.labels].append(
            f'<text x="{_n(x)}" y="{_n(-y)}" font-size="{_n(size)}" fill="#000" stroke="none">'
            f"{escape(text)}</text>"
        )
    body = "\n".join(
        f'<g id="{escape(name, {chr(34): "&quot;"})}">\n' + "\n".join(rows) + "\n</g>"
        for name, rows in groups.items()
        if rows
    )
    thin = _n(min(wide, high) / 1000)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(wide)}{unit}" height="{_n(high)}{unit}" '
        f'viewBox="{_n(low_x)} {_n(-top_y)} {_n(wide)} {_n(high)}" fill="none" stroke="#000" '
        f'stroke-width="{thin}" font-family="DejaVu Sans, Verdana, sans-serif">\n'
        f"<title>{escape(leaving(sheet.name))}</title>\n<desc>{escape(caption)}</desc>\n{body}\n</svg>\n"
    ).encode()


def _names(rules: DrawingRules) -> tuple[str, ...]:
    f = rules.layers
    return f.parts, f.sheet, f.clamps, f.flaws, f.labels, f.remains, f.tabs


def _loops(sheet: RoutedSheet, frame: Frame, rules: DrawingRules) -> list[tuple[str, Loop]]:
    """Return every closed line with its layer."""
    layers = rules.layers
    found = [(layers.sheet, frame.corners((0, 0, sheet.length, sheet.width)))]
    found += [(layers.clamps, frame.corners(box)) for box in sheet.clamps]
    found += [(layers.flaws, frame.corners(box)) for box in sheet.flaws]
    found += [(layers.parts, loop) for part in sheet.parts for loop in frame.loops(part)]
    return found + [
        (layers.remains, line) for left in sheet.remains if left.drawn for line in frame.rest(left)
    ]


def _lines(sheet: RoutedSheet, frame: Frame, rules: DrawingRules) -> list[tuple[str, Ends]]:
    """Return both ends of every tab with its layer, and of what marks clamps (crossed) and flaws (struck)."""
    layers = rules.layers
    tabs = (tab for part in sheet.parts for tab in tab_lines(sheet, part, rules))
    rising = [(layers.tabs, box) for box in tabs]
    rising += [(layers.clamps, box) for box in sheet.clamps] + [(layers.flaws, box) for box in sheet.flaws]
    found = [(name, (frame.point(x, y), frame.point(x + dx, y + dy))) for name, (x, y, dx, dy) in rising]
    return found + [
        (layers.clamps, (frame.point(x, y + dy), frame.point(x + dx, y))) for x, y, dx, dy in sheet.clamps
    ]


def _add_loop(space: Any, release: Release, layer: str, loop: Loop) -> None:
    """Add a closed polyline; the last vertex is not the first once more."""
    if release is Release.R12:
        space.add_polyline2d(loop, format="xyb", close=True, dxfattribs={"layer": layer})
    else:
        space.add_lwpolyline(loop, format="xyb", close=True, dxfattribs={"layer": layer})


def part_words(sheet: RoutedSheet, part: RoutedPart, rules: DrawingRules) -> str:
    """Return what is written on a part: its name, and that it wants tabs."""
    return f"{part.label} tabs" if wants_tabs(sheet, part, rules) else part.label


def _words(
    sheet: RoutedSheet, frame: Frame, rules: DrawingRules
) -> list[tuple[str, tuple[float, float], float]]:
    """Return every text with its low left corner and its height, in the drawing's unit."""
    most, unit = _LARGEST / _MM[rules.unit], _UNITS[rules.unit][1]
    found = []
    for part in sheet.parts:
        words = part_words(sheet, part, rules)
        found.append((words, *_inside(words, frame.corners(part.box), most)))
    named = [
        (left.tag or f"remains {n}", clear_of(left)) for n, left in enumerate(sheet.remains, 1) if left.drawn
    ]
    named += [("clamp", box) for box in sheet.clamps] + [("flaw", box) for box in sheet.flaws]
    found += [(words, *_inside(words, frame.corners(box), most)) for words, box in named]
    corners = frame.corners((0, 0, sheet.length, sheet.width))
    low = min(x for x, _, _ in corners), min(y for _, y, _ in corners) - 2 * most
    wide, high = frame.size
    found.append((f"{sheet.name}: {sheet.material}, {_n(wide)} x {_n(high)} {unit}", low, most))
    return [(leaving(text), at, size) for text, at, size in found]


def _inside(text: str, corners: Loop, most: float) -> tuple[tuple[float, float], float]:
    """Return where a text begins in a box, and how high its letters are that it ends there too."""
    low_x, low_y = min(x for x, _, _ in corners), min(y for _, y, _ in corners)
    wide, high = max(x for x, _, _ in corners) - low_x, max(y for _, y, _ in corners) - low_y
    size = min(most, _LETTER * min(wide, high), wide / (2 + _WIDE * len(text)))
    return (low_x + size, low_y + size), size


def _n(value: float) -> str:
    """Return a figure to a millionth, without needless noughts."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


def _path(loop: Loop) -> str:
    """Return a closed line as the data of an SVG path."""
    steps = [f"M{_n(loop[0][0])} {_n(-loop[0][1])}"]
    for here, there in zip(loop, (*loop[1:], loop[0]), strict=True):
        steps.append(_step(here, there))
    return "".join(steps) + "Z"


def _step(here: Vertex, there: Vertex) -> str:
    x, y, bulge = *there[:2], here[2]
    if not bulge:
        return f"L{_n(x)} {_n(-y)}"
    chord = hypot(x - here[0], y - here[1])
    radius = chord * (1 + bulge * bulge) / (4 * abs(bulge))
    large, sweep = int(abs(bulge) > 1), int(bulge < 0)
    return f"A{_n(radius)} {_n(radius)} 0 {large} {sweep} {_n(x)} {_n(-y)}"
