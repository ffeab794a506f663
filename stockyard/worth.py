"""What a leftover is worth, as an area: 0 under the keep-size, rising faster than its area above it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from stockyard.measure import TICKS_PER_MM

# Short side 150 mm and 0.09 m², about 6 in and 1 ft² (common practice, no source).
KEEP_SHORT_SIDE = 150 * TICKS_PER_MM
KEEP_AREA = 90_000 * TICKS_PER_MM**2
# At this area a leftover is worth all of itself (common practice, no source: about half a sheet).
WHOLE_AREA = 1_500_000 * TICKS_PER_MM**2
# A piece pulled costs the shop as much as this much good material (common practice, no source).
PULL_AREA = 30_000 * TICKS_PER_MM**2
_STEPS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """How the shop values what goes back on the rack.

    A kept leftover of area A is worth A x (floor + (1 - floor) x min(1, A / whole_area)), so one
    large piece is worth more than two halves. `floor` is in thousandths. `keep_long_side` is for
    boards, whose short side is given by the tree.
    """

    keep_short_side: int = KEEP_SHORT_SIDE
    keep_area: int = KEEP_AREA
    keep_long_side: int = 0
    whole_area: int = WHOLE_AREA
    floor: int = 400

    def keeps(self, length: int, width: int) -> bool:
        """Whether a leftover of this size goes back on the rack."""
        return (
            min(length, width) >= self.keep_short_side
            and max(length, width) >= self.keep_long_side
            and length * width >= self.keep_area
        )

    def of(self, length: int, width: int) -> int:
        """Return the worth of a leftover in ticks² of good material (0 when it is not kept)."""
        if not self.keeps(length, width):
            return 0
        area = length * width
        share = self.floor + (_STEPS - self.floor) * min(_STEPS, area * _STEPS // self.whole_area) // _STEPS
        return area * share // _STEPS

    def clear(self, length: int, width: int, flaws: Iterable[tuple[int, int, int, int]]) -> int:
        """Return the same for one that has flaws (x, y, dx, dy within it): its clear area alone counts."""
        bad = min(length * width, sum(dx * dy for _, _, dx, dy in flaws))
        return self.of(length, width) * (length * width - bad) // (length * width)
