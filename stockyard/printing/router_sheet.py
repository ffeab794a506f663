"""The operator's sheet: how a sheet lies on the router, what comes off it, and what goes back to the rack."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.measure import Unit, show
from stockyard.printing.cautions import ROUTING
from stockyard.printing.output import Paper
from stockyard.printing.page import MARGIN, bold, page_size, plain, wrap, write_lines
from stockyard.printing.routed_sheet import (
    Box,
    DrawingRules,
    Frame,
    Origin,
    Remain,
    RoutedSheet,
    wants_tabs,
)
from stockyard.printing.router_drawing import ABOVE, AIR, BELOW, SheetDrawing
from stockyard.wording import count

HEAD, WHERE, TEXT, SMALL = bold(17), bold(12), plain(10), plain(9.8)
# The most of the page's height that the drawing takes, and one of a sheet that lies upright, small in width.
SHARE, UPRIGHT = 0.45, 0.62


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
    marks = _marks(sheet, rules, unit)
    bit = _bit(sheet, unit)
    lines += [line for text in (bit, sheet.note, marks) if text for line in wrap(text, TEXT, room)]
    top -= HEAD.step + TEXT.step
    if sheet.place:
        write_lines(paper, MARGIN, top, [sheet.place[:1].upper() + sheet.place[1:]], WHERE)
        top -= WHERE.step
    write_lines(paper, MARGIN, top, lines, TEXT)
    top -= len(lines) * TEXT.step + 2 * AIR
    foot = wrap(ROUTING, SMALL, room)
    rows = [line for row in _rows(sheet, rules, unit) for line in wrap(row, TEXT, room)]
    bottom = MARGIN + (len(foot) + 1) * SMALL.step
    most = _drawn_high(sheet, rules, high, top - bottom - ABOVE - BELOW, (len(rows) + 1) * TEXT.step)
    top = _drawing(paper, sheet, rules, top, room, most)
    most = max(0, int((top - bottom) / TEXT.step))
    write_lines(paper, MARGIN, MARGIN + len(foot) * SMALL.step, foot, SMALL)
    while rows:
        write_lines(paper, MARGIN, top - TEXT.step, rows[:most], TEXT)
        rows = rows[most:]
        if rows:
            paper.next_page()
            top = high - MARGIN - WHERE.step
            WHERE.write(paper, MARGIN, top, f"{sheet.name}, continued", room)
            most = int((top - MARGIN) / TEXT.step) - 1


def _drawn_high(sheet: RoutedSheet, rules: DrawingRules, page: float, free: float, listed: float) -> float:
    """Return the most height of the drawing on a page with so much free, of which a list takes some.

    An upright sheet is small in width: it takes what the list leaves, and much where that goes on anyway.
    """
    if (sheet.length > sheet.width) != rules.along_y:
        return min(SHARE * page, free)
    left = free - listed
    return min(UPRIGHT * page, free, left if left >= SHARE * page else free)


def _lies(sheet: RoutedSheet, rules: DrawingRules) -> str:
    axis = "y" if rules.along_y else "x"
    grain = f"; the grain runs along {axis}" if sheet.grain else ""
    zero = "centre" if rules.origin is Origin.CENTRE else f"{rules.origin} corner"
    return f"Face up, its length along {axis}{grain}. Zero is its {zero}: the black dot."


def _marks(sheet: RoutedSheet, rules: DrawingRules, unit: Unit) -> str:
    """Say what the marks on the drawing stand for, those that there are."""
    found = ["Black: a clamp."] if sheet.clamps else []
    found += ["Cross-hatched: a flaw."] if sheet.flaws else []
    if found:
        found.append(f"Keep the bit clear of {'both' if sheet.clamps and sheet.flaws else 'it'}.")
    if any(wants_tabs(sheet, part, rules) for part in sheet.parts):
        wide = f"{show(rules.tab_width, unit)} {unit}"
        found.append(f"Thick bars: tabs, {wide} wide, half the thickness high.")
    return " ".join(found)


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
        size = part.box[:1:-1] if part.turned else part.box[2:]
        shape = f"shaped as in {part.outline.file}" if part.outline and part.outline.file else "shaped"
        notes = (shape, part.outline), ("tabs", wants_tabs(sheet, part, rules))
        words = "".join(f", {text}" for text, there in notes if there)
        rows.append(f"[  ]  {n}   {part.label}   {_size(size, unit)}{words}")
    rows += [_rest(sheet, left, left.tag or f"R{n}", unit) for n, left in enumerate(sheet.remains, 1)]
    if sheet.instead:
        kept = " and ".join(f"{left.tag or 'a new tag'}, {_whole(left, unit)}" for left in sheet.instead)
        rows.append(f"Or do not cut up what remains, and say so as you confirm the cut: {kept}")
    if not sheet.remains:
        rows.append("Nothing goes back to the rack.")
    return rows


def _rest(sheet: RoutedSheet, left: Remain, name: str, unit: Unit) -> str:
    if left.kept:
        return f"kept: {name}   {_whole(left, unit)}, {left.place}"
    to = left.place and f", to {left.place}"
    freed = saw_cut(sheet, left.box)
    return f"[  ]  label and put back: {name}   {_size(left.box[2:], unit)}{to}, {freed}"


def _whole(left: Remain, unit: Unit) -> str:
    """Write the size of what remains, and how much of it is cut out where it is one piece."""
    size = _size(left.box[2:], unit)
    return f"{size}, one piece with {count(len(left.holes), 'cut-out')}" if left.holes else size


def _size(sides: Sequence[int], unit: Unit) -> str:
    return f"{' x '.join(show(side, unit) for side in sides)} {unit}"


def _drawing(
    paper: Paper, sheet: RoutedSheet, rules: DrawingRules, top: float, room: float, most: float
) -> float:
    """Draw the sheet as the machine sees it; return where it ends."""
    wide, high = Frame(sheet, DrawingRules(along_y=rules.along_y)).size
    scale = min(room / wide, most / high)
    top -= ABOVE if rules.origin.startswith("upper") else 0
    base = top - high * scale
    SheetDrawing(paper, sheet, rules, (MARGIN, base), scale).draw(order_off(sheet))
    return base - BELOW
