"""The marks of the cuts on a drawing: their numbers, each pointing to the fence, and the edges there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stockyard.printing.drawing import Badge, Line, Metrics, Region, Toward
from stockyard.printing.frame import Frame
from stockyard.printing.papers import WHOLE, CutCard, CutStep, Direction
from stockyard.printing.replay import Area, blade_at, replay
from stockyard.printing.step_rows import StepRow, drawn_side

BAR = 3.2
"""How heavy the edge is drawn that goes to the fence, in points."""

CHALK = 0.7
"""How heavy the triangle over a matched set is drawn, in points."""
_INSET = 0.12

_SIGNS = {Toward.LEFT: "◄", Toward.RIGHT: "►", Toward.LOWER: "▼", Toward.UPPER: "▲"}
# Where along its line a number is tried, and to which side of the end it may step: the ends first.
_TRIES = ((1, 1), (0, -1), (1, -1), (0, 1), *((n / 20, 0) for n in (10, 5, 15, 3, 17, 8, 12, 1, 19, 7, 13)))


def edge_bars(card: CutCard, frame: Frame, whole: Region) -> Iterator[Line]:
    """Yield a heavy line on each edge of the uncut piece that goes to the fence or stop."""
    seen = set()
    for step in card.steps:
        side = drawn_side(step.edge, turned=frame.turned)
        if step.piece != WHOLE or step.trim or side in seen:
            continue
        seen.add(side)
        x1, y1, x2, y2 = whole.x, whole.y, whole.x + whole.w, whole.y + whole.h
        ends = {"left": (x1, y1, x1, y2), "right": (x2, y1, x2, y2), "lower": (x1, y1, x2, y1)}
        yield Line(*ends.get(side, (x1, y2, x2, y2)), BAR)


def set_triangles(card: CutCard, frame: Frame, words: Sequence[Region] = ()) -> Iterator[Line]:
    """Yield the triangle to chalk over each matched set, its point on the first part, clear of `words`."""
    for one in card.sets:
        at = frame.region(Area(one.x, one.y, one.dx, one.dy))
        x1, y1, x2, y2 = at.x, at.y, at.x + at.w, at.y + at.h
        cx, cy = (x1 + x2) / 2, (y1 + y2) / 2
        side = drawn_side(one.first, turned=frame.turned)
        tip, left, right = {
            "left": ((x1, cy), (x2, y1), (x2, y2)), "right": ((x2, cy), (x1, y1), (x1, y2)),
            "lower": ((cx, y1), (x1, y2), (x2, y2)), "upper": ((cx, y2), (x1, y1), (x2, y1)),
        }[side]  # fmt: skip
        inset = [(x + (cx - x) * _INSET, y + (cy - y) * _INSET) for x, y in (tip, left, right)]
        for (ax, ay), (bx, by) in zip(inset, (*inset[1:], inset[0]), strict=True):
            yield from outside(Line(ax, ay, bx, by, CHALK), words)


def outside(line: Line, regions: Sequence[Region]) -> Iterator[Line]:
    """Yield what of a line lies in none of the regions, from its begin to its end."""
    begun = 0.0
    for enters, leaves in (*sorted(s for r in regions if (s := _inside(line, r))), (1.0, 1.0)):
        if enters > begun:
            yield _piece(line, begun, enters)
        begun = max(begun, leaves)


def _piece(line: Line, begin: float, end: float) -> Line:
    dx, dy = line.x2 - line.x1, line.y2 - line.y1
    x1, y1, x2, y2 = line.x1 + begin * dx, line.y1 + begin * dy, line.x1 + end * dx, line.y1 + end * dy
    return Line(x1, y1, x2, y2, line.weight)


def _inside(line: Line, region: Region) -> tuple[float, float] | None:
    """Return the shares of a line at which it enters and leaves a region (Liang and Barsky 1984)."""
    enters, leaves = 0.0, 1.0
    for at, step, low, size in (
        (line.x1, line.x2 - line.x1, region.x, region.w), (line.y1, line.y2 - line.y1, region.y, region.h)
    ):  # fmt: skip
        if step == 0:
            if not low < at < low + size:
                return None
            continue
        one, other = (low - at) / step, (low + size - at) / step
        enters, leaves = max(enters, min(one, other)), min(leaves, max(one, other))
    return (enters, leaves) if enters < leaves else None


def number_cuts(
    card: CutCard,
    rows: Sequence[StepRow],
    frame: Frame,
    canvas: Region,
    whole: Region,
    useful: Sequence[Region],
) -> Iterator[Badge]:
    """Yield the number of each row on the line of its first cut, where it hides least of `useful`."""
    taken: list[Region] = []
    areas = replay(card).areas
    steps = {step.number: step for step in card.steps}
    for row in rows:
        step = steps[row.first]
        line = frame.region(_line(areas[step.piece], step, card.kerf))
        toward = Toward(drawn_side(row.edge, turned=frame.turned))
        free = [
            badge
            for badge in _badges(row.numbers, toward, line, whole, frame.metrics)
            if canvas.holds(badge.at) and not any(badge.at.meets(other, frame.metrics.gap) for other in taken)
        ]
        if free:
            best = min(free, key=lambda badge: sum(badge.at.shared(region) for region in useful))
            taken.append(best.at)
            yield best


def _line(piece: Area, step: CutStep, kerf: int) -> Area:
    """Return the middle of the cut as a rectangle without breadth."""
    at = max(blade_at(step, kerf), 0) + kerf // 2
    if step.direction is Direction.RIP:
        return Area(piece.x, piece.y + at, piece.dx, 0)
    return Area(piece.x + at, piece.y, 0, piece.dy)


def _badges(text: str, toward: Toward, line: Region, whole: Region, m: Metrics) -> Iterator[Badge]:
    """Yield the places where a number may stand, the best first: at an end of its line, else on it."""
    text = text if m.tip else f"{_SIGNS[toward]}{text}"
    level = toward in (Toward.LEFT, Toward.RIGHT)
    wide = m.width(text, m.badge, True) + 2 * m.padding + (m.tip if level else 0)
    high = m.badge * m.leading + (0 if level else m.tip)
    flat = line.w >= line.h
    for share, shift in _TRIES:
        # A line that ends on the edge of the piece has its number outside.
        x = line.x + line.w * share + (shift * wide * 0.5 if flat else 0) - wide / 2
        y = line.y + line.h * share + (0 if flat else shift * high * 0.5) - high / 2
        spot = Region(x, y, wide, high)
        centre = Region(x + wide / 2, y + high / 2, 0, 0)
        if shift and whole.holds(centre) == _ends_at_edge(line, share, flat=flat, whole=whole):
            continue
        yield Badge(spot, text, m.badge, True, toward, m.tip)


def _ends_at_edge(line: Region, share: float, *, flat: bool, whole: Region) -> bool:
    if flat:
        end = line.x + line.w * share
        return min(abs(end - whole.x), abs(end - whole.x - whole.w)) < 1.5
    end = line.y + line.h * share
    return min(abs(end - whole.y), abs(end - whole.y - whole.h)) < 1.5
