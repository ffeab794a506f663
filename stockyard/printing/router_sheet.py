"""The operator's sheet: how a sheet lies on the router, what comes off it, and what goes back to the rack."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.measure import Unit, show
from stockyard.printing.cautions import ROUTING
from stockyard.printing.outline_tabs import flattened
from stockyard.printing.output import Paper
from stockyard.printing.page import MARGIN, SMALLEST, bold, page_size, plain, wrap, write_lines
from stockyard.printing.routed_sheet import Box, DrawingRules, Frame, Loop, Origin, RoutedSheet, wants_tabs

HEAD, WHERE, TEXT, SMALL = bold(17), bold(12), plain(10), plain(9.8)
# The most of the page's height that the drawing takes.
SHARE = 0.45
CLEAR = "Crossed out: a clamp or a flaw; keep the bit clear of it."
GRAIN = "grain"
# How far a word stands from its outline.
AIR = 4.0


def router_sheets_pdf(
    sheets: Sequence[RoutedSheet], rules: DrawingRules, unit: Unit, size: str = "letter"
) -> bytes:
    """Return a page for each sheet; `size` is letter or a4.

    Raises:
        BadInput: a name with a character the typefaces lack.
    """
    paper = Paper(page_size(size), "Router sheets")
    print_router_sheets(paper, sheets, rules, unit, size)
    return paper.finish()


def print_router_sheets(
    paper: Paper, sheets: Sequence[RoutedSheet], rules: DrawingRules, unit: Unit, size: str
) -> None:
    """Draw a page for each sheet, the last one left open; errors as `router_sheets_pdf`."""
    for n, sheet in enumerate(sheets):
        if n:
            paper.next_page()
        _page(paper, sheet, rules, unit, size)


def order_off(sheet: RoutedSheet) -> list[int]:
    """Return the parts in the order in which they come off: small ones first, while the sheet holds.

    Within that from the zero end outward.
    """
    boxes = [p.box for p in sheet.parts]
    return sorted(range(len(boxes)), key=lambda i: (boxes[i][2] * boxes[i][3], boxes[i][0], boxes[i][1]))


def saw_cut(sheet: RoutedSheet, box: Box) -> str:
    """Return how a rectangle that remains is freed: by one straight cut, or by more."""
    x, y, dx, dy = box
    across, along = (y == 0 and dy == sheet.width), (x == 0 and dx == sheet.length)
    if across and (x == 0 or x + dx == sheet.length):
        return "one straight cut across the sheet frees it"
    if along and (y == 0 or y + dy == sheet.width):
        return "one straight cut along the sheet frees it"
    return "cut it free along its dashed outline"


def _page(paper: Paper, sheet: RoutedSheet, rules: DrawingRules, unit: Unit, size: str) -> None:
    wide, high = page_size(size)
    room, top = wide - 2 * MARGIN, high - MARGIN

    def said(ticks: int) -> str:
        return show(ticks, unit)

    HEAD.write(paper, MARGIN, top - HEAD.size, sheet.name, room)
    thick = f", {show(sheet.thickness, unit, mark=True)} thick" if sheet.thickness else ""
    what = f"{sheet.material}{thick}, {said(sheet.length)} x {said(sheet.width)} {unit}"
    lies = _lies(sheet, rules)
    lines = [*wrap(what, TEXT, room), *wrap(lies, TEXT, room)]
    clear = CLEAR if sheet.clamps else ""
    bit = _bit(sheet, unit)
    lines += [line for text in (bit, sheet.note, clear) if text for line in wrap(text, TEXT, room)]
    top -= HEAD.step + TEXT.step
    if sheet.place:
        write_lines(paper, MARGIN, top, [sheet.place[:1].upper() + sheet.place[1:]], WHERE)
        top -= WHERE.step
    write_lines(paper, MARGIN, top, lines, TEXT)
    top -= len(lines) * TEXT.step + 2 * AIR
    top = _drawing(paper, sheet, rules, top, room, SHARE * high)
    rows = [line for row in _rows(sheet, rules, unit) for line in wrap(row, TEXT, room)]
    foot = wrap(ROUTING, SMALL, room)
    most = int((top - MARGIN - (len(foot) + 1) * SMALL.step) / TEXT.step)
    write_lines(paper, MARGIN, MARGIN + len(foot) * SMALL.step, foot, SMALL)
    while rows:
        write_lines(paper, MARGIN, top - TEXT.step, rows[:most], TEXT)
        rows = rows[most:]
        if rows:
            paper.next_page()
            top, most = high - MARGIN, int((high - 2 * MARGIN) / TEXT.step) - 1


def _lies(sheet: RoutedSheet, rules: DrawingRules) -> str:
    axis = "y" if rules.along_y else "x"
    grain = f"; the grain runs along {axis}" if sheet.grain else ""
    return (
        f"Face up, its length along {axis}{grain}. Zero is its {rules.origin} corner."
        if (rules.origin is not Origin.CENTRE)
        else f"Face up, its length along {axis}{grain}. Zero is its centre."
    )


def _bit(sheet: RoutedSheet, unit: Unit) -> str:
    if not sheet.bit:
        return ""
    both = " One pass cuts two outlines that lie just the bit apart." if sheet.one_pass else ""
    wide = f"{show(sheet.bit, unit)} {unit}"
    return f"Laid out for a bit no wider than {wide}: it runs outside each outline, inside each hole.{both}"


def _rows(sheet: RoutedSheet, rules: DrawingRules, unit: Unit) -> list[str]:
    rows = ["In the order in which they come off (box to tick, number on the drawing, part, size):"]
    for n, i in enumerate(order_off(sheet), 1):
        part = sheet.parts[i]
        dx, dy = (show(v, unit) for v in part.box[2:])
        tabs = (
            f", tabs {show(rules.tab_width, unit)} {unit} wide, half the thickness high"
            if (wants_tabs(sheet, part, rules))
            else ""
        )
        rows.append(f"[  ]  {n}   {part.label}   {dx} x {dy} {unit}{tabs}")
    for n, left in enumerate(sheet.remains, 1):
        dx, dy = (show(v, unit) for v in left.box[2:])
        to = left.place and f", to {left.place}"
        name = left.tag or f"R{n}"
        rows.append(f"[  ]  label and put back: {name}   {dx} x {dy} {unit}{to}, {saw_cut(sheet, left.box)}")
    return rows


def _drawing(
    paper: Paper, sheet: RoutedSheet, rules: DrawingRules, top: float, room: float, most: float
) -> float:
    """Draw the sheet as the machine sees it; return where it ends."""
    frame = Frame(sheet, DrawingRules(along_y=rules.along_y))
    wide, high = frame.size
    scale = min(room / wide, most / high)
    left, base = MARGIN, top - high * scale
    canvas = paper.canvas

    def outline(box: Box, weight: float) -> tuple[float, float, float, float]:
        corners = frame.corners(box)
        xs, ys = [c[0] * scale + left for c in corners], [c[1] * scale + base for c in corners]
        canvas.setLineWidth(weight)
        canvas.rect(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))
        return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)

    def shape(loop: Loop) -> None:
        path, (first, *others) = canvas.beginPath(), flattened(loop)
        path.moveTo(first[0] * scale + left, first[1] * scale + base)
        for x, y in others:
            path.lineTo(x * scale + left, y * scale + base)
        path.close()
        canvas.setLineWidth(0.8)
        canvas.drawPath(path)

    def word(box: tuple[float, float, float, float], text: str) -> None:
        x, y, w, h = box
        style = bold(max(SMALLEST, min(13.0, h * 0.6)))
        paper.text(x + w / 2, y + h / 2 - style.size / 3, text, style.face, style.size, align="centre")

    outline((0, 0, sheet.length, sheet.width), 1.6)
    for box in sheet.clamps:
        x, y, w, h = outline(box, 0.5)
        canvas.line(x, y, x + w, y + h)
        canvas.line(x, y + h, x + w, y)
    for n, i in enumerate(order_off(sheet), 1):
        part = sheet.parts[i]
        word(outline(part.box, 0.3 if part.outline else 0.8), str(n))
        for loop in frame.loops(part) if part.outline else ():
            shape(loop)
    canvas.setDash(4, 3)
    for n, remain in enumerate(sheet.remains, 1):
        word(outline(remain.box, 0.5), remain.tag or f"R{n}")
    canvas.setDash()
    if sheet.grain:
        _grain(paper, left, base - 3 * AIR, wide * scale, upright=rules.along_y, high=high * scale)
    x = left + wide * scale * (
        0.5 if rules.origin is Origin.CENTRE else float(rules.origin.endswith("right"))
    )
    upper = rules.origin.startswith("upper")
    y = base + high * scale * (0.5 if rules.origin is Origin.CENTRE else float(upper))
    canvas.circle(x, y, 4, fill=1)
    return base - 6 * AIR


def _grain(paper: Paper, left: float, below: float, wide: float, *, upright: bool, high: float) -> None:
    """Draw a double arrow the way the grain runs, under the sheet or beside it, with its word."""
    canvas = paper.canvas
    canvas.setLineWidth(1.2)
    if upright:
        x, y, long = left + wide + 3 * AIR, below + 3 * AIR, min(60.0, high)
        canvas.line(x, y, x, y + long)
        for end, back in ((y, 5), (y + long, -5)):
            canvas.line(x, end, x - 3, end + back)
            canvas.line(x, end, x + 3, end + back)
        paper.text(x, y - SMALL.size - AIR / 2, GRAIN, SMALL.face, SMALL.size, align="centre")
        return
    long = min(60.0, wide)
    canvas.line(left, below, left + long, below)
    for end, back in ((left, 5), (left + long, -5)):
        canvas.line(end, below, end + back, below - 3)
        canvas.line(end, below, end + back, below + 3)
    paper.text(left + long + AIR, below - SMALL.size / 3, GRAIN, SMALL.face, SMALL.size)
