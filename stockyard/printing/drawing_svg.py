"""Draw as SVG: one user unit is a point, the page size is in millimetres."""

from __future__ import annotations

from xml.sax.saxutils import escape

from stockyard.printing import fonts
from stockyard.printing.drawing import (
    Arrow,
    Badge,
    Box,
    Drawing,
    Fill,
    Line,
    Region,
    Shape,
    Words,
    arrow_parts,
)
from stockyard.printing.output import MM
from stockyard.text import leaving

SVG_SIZE = (540.0, 400.0)
"""The largest drawing, in points."""

_HATCH = (
    '<defs><pattern id="waste" width="4.25" height="4.25" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="4.25" height="4.25" fill="#fff"/>'
    '<path d="M0 0V4.25" stroke="#000" stroke-width="0.9"/></pattern>'
    '<pattern id="damage" width="4.25" height="4.25" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="4.25" height="4.25" fill="#fff"/>'
    '<path d="M0 0V4.25M0 0H4.25" stroke="#000" stroke-width="0.9"/></pattern></defs>'
)

_FILLS = {Fill.WHITE: "#fff", Fill.HATCH: "url(#waste)", Fill.CROSS: "url(#damage)", Fill.BLACK: "#000"}


def draw_svg(drawing: Drawing, title: str) -> str:
    """Return `drawing` (made with paper metrics) as a whole SVG document."""
    wide, high = drawing.width, drawing.height
    body = "\n".join(_shape(shape, high) for shape in drawing.shapes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide / MM:.2f}mm" height="{high / MM:.2f}mm" '
        f'viewBox="0 0 {wide:.2f} {high:.2f}" font-family="DejaVu Sans, Verdana, sans-serif" fill="#000">\n'
        f"<title>{escape(leaving(title))}</title>\n{_HATCH}\n"
        f'<rect width="{wide:.2f}" height="{high:.2f}" fill="#fff"/>\n{body}\n</svg>\n'
    )


def _shape(shape: Shape, high: float) -> str:
    if isinstance(shape, Box):
        return _box(shape, high)
    if isinstance(shape, Line):
        return _line(shape, high)
    if isinstance(shape, Arrow):
        return _arrow(shape, high)
    return _words(shape, high) if isinstance(shape, Words) else _badge(shape, high)


def _rect(at: Region, high: float, rest: str) -> str:
    return (
        f'<rect x="{at.x:.2f}" y="{high - at.y - at.h:.2f}" width="{at.w:.2f}" height="{at.h:.2f}" {rest}/>'
    )


def _box(box: Box, high: float) -> str:
    fill = _FILLS[box.fill]
    dash = ' stroke-dasharray="4 2"' if box.broken else ""
    return _rect(box.at, high, f'fill="{fill}" stroke="#000" stroke-width="{box.weight}"{dash}')


def _line(line: Line, high: float) -> str:
    ends = f'x1="{line.x1:.2f}" y1="{high - line.y1:.2f}" x2="{line.x2:.2f}" y2="{high - line.y2:.2f}"'
    text = f'<line {ends} stroke="#000" stroke-width="{line.weight}"/>'
    if line.dot:
        text += f'<circle cx="{line.x2:.2f}" cy="{high - line.y2:.2f}" r="1.1"/>'
    return text


def _arrow(arrow: Arrow, high: float) -> str:
    (x1, y1, x2, y2), heads = arrow_parts(arrow)
    text = f'<path d="M{x1:.2f} {high - y1:.2f}L{x2:.2f} {high - y2:.2f}" stroke="#000" stroke-width="1.3"/>'
    for head in heads:
        text += f'<path d="M{"L".join(f"{x:.2f} {high - y:.2f}" for x, y in head)}z"/>'
    return text


def _text(x: float, y: float, long: float, text: str, size: float, *, bold: bool, rest: str = "") -> str:
    weight = ' font-weight="bold"' if bold else ""
    # The length is stated so that another typeface still stays inside its outline.
    fixed = f'textLength="{long:.2f}" lengthAdjust="spacingAndGlyphs"'
    where = f'x="{x:.2f}" y="{y:.2f}" font-size="{size}" xml:space="preserve"'
    return f"<text {where}{weight} {fixed}{rest}>{escape(leaving(text))}</text>"


def _words(words: Words, high: float) -> str:
    at = words.at
    step, long = (at.w, at.h) if words.turned else (at.h, at.w)
    base = (step - fonts.CAP_HEIGHT * words.size) / 2
    if not words.turned:
        return _text(at.x, high - at.y - base, long, words.text, words.size, bold=words.bold)
    x, y = at.x + at.w - base, high - at.y
    return _text(
        x, y, long, words.text, words.size, bold=words.bold, rest=f' transform="rotate(-90 {x:.2f} {y:.2f})"'
    )


def _badge(badge: Badge, high: float) -> str:
    at = badge.body
    ground, ink = ("#000", "#fff") if badge.black else ("#fff", "#000")
    radius = min(at.w, at.h) * 0.3
    box = _rect(at, high, f'rx="{radius:.2f}" fill="{ground}" stroke="#000" stroke-width="0.7"')
    if badge.point:
        corners = "L".join(f"{x:.2f} {high - y:.2f}" for x, y in badge.point)
        box += f'<path d="M{corners}z" fill="{ground}"/>'
    long = fonts.width(badge.text, fonts.BOLD, badge.size)
    y = high - at.y - (at.h - fonts.CAP_HEIGHT * badge.size) / 2
    return box + _text(
        at.x + (at.w - long) / 2, y, long, badge.text, badge.size, bold=True, rest=f' fill="{ink}"'
    )
