"""How far a sheet may measure off its named thickness before it is another one."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM

EN_315 = "EN 315"
PS_1 = "PS 1"


@dataclass(frozen=True, slots=True)
class Range:
    """The least and the most a panel of a named thickness measures (ticks), and the standard that says so."""

    least: int
    most: int
    source: str

    def __contains__(self, thickness: int) -> bool:
        """Whether a measured thickness lies within it."""
        return self.least <= thickness <= self.most


def panel(named: int, *, inches: bool) -> Range:
    """Return what a sanded plywood panel of a named thickness (ticks) may measure.

    Named in millimetres by EN 315: 0.2 mm + 3 % over, 0.4 mm + 3 % under. Named in inches by PS 1: 1/64 in
    either way up to 3/4 in, 3 % above. Other panels keep closer, so that these hold for them too.
    """
    if inches:
        slack = TICKS_PER_INCH // 64 if named <= TICKS_PER_INCH * 3 // 4 else round(Fraction(3 * named, 100))
        return Range(named - slack, named + slack, PS_1)
    share = Fraction(3 * named, 100)
    under, over = (round(Fraction(tenths * TICKS_PER_MM, 10) + share) for tenths in (4, 2))
    return Range(named - under, named + over, EN_315)


def board(measured: int) -> Range:
    """Return what a board may measure whose material measures so: 1/16 in off (common practice)."""
    slack = TICKS_PER_INCH // 16
    return Range(measured - slack, measured + slack, "")
