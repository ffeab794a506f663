"""Where a piece lies on its drawing: to scale, upright where that is larger, long boards broadened."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.printing.drawing import Metrics, Region
from stockyard.printing.papers import CutCard
from stockyard.printing.replay import Area

# From this ratio of length to width on, a piece is drawn broader than it is.
LONG = 6


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a piece lies on the drawing. `turned` puts its length upright (never mirrored)."""

    x: float
    y: float
    sx: float
    sy: float
    turned: bool
    width: int
    metrics: Metrics

    def region(self, area: Area) -> Region:
        """Return `area` (ticks on the piece) as it is drawn."""
        x, y, dx, dy = (
            (self.width - area.y - area.dy, area.x, area.dy, area.dx)
            if self.turned
            else (area.x, area.y, area.dx, area.dy)
        )
        snap = self.metrics.snap
        left, low = snap(self.x + x * self.sx), snap(self.y + y * self.sy)
        return Region(
            left, low, snap(self.x + (x + dx) * self.sx) - left, snap(self.y + (y + dy) * self.sy) - low
        )


def frame_of(card: CutCard, width: float, height: float, metrics: Metrics) -> tuple[Frame, str]:
    """Return where the piece of `card` lies on a drawing of at most this size, and a remark on its scale."""
    edge, foot = metrics.gutter, metrics.gutter + foot_of(metrics)
    room_w, room_h = width - 2 * edge - 1, (height - edge - foot - 1) * metrics.tall

    def scale(along: int, across: int) -> float:
        return min(room_w / along, room_h / across)

    lying, standing = scale(card.length, card.width), scale(card.width, card.length)
    turned = standing > 1.3 * lying
    s = standing if turned else lying
    across = card.length if turned else card.width
    # A board is drawn broader than it is, broad enough to write in its narrowest part.
    narrowest = min((p.dx if turned else p.dy for p in card.parts), default=across)
    broad = min(max(metrics.least, metrics.strip * across / narrowest), metrics.most)
    wanted = broad if broad * metrics.tall < room_h else metrics.least
    stretched = across * s < wanted * metrics.tall < room_h and across * LONG < (
        card.width if turned else card.length
    )
    sy = wanted * metrics.tall / across if stretched else s
    remark = ("length" if turned else "width") + " not to scale" if stretched else ""
    return Frame(edge, foot, s, sy / metrics.tall, turned, card.width, metrics), remark


def foot_of(metrics: Metrics) -> float:
    """Return the height of the line under the piece that shows the grain."""
    return metrics.foot * metrics.leading
