"""Nominal lumber sizes and what they really measure; a table a shop may change, passed in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from stockyard.measure import TICKS_PER_INCH

_SIXTEENTHS = TICKS_PER_INCH // 16

# PS 20-20 Table 3, dry, in sixteenths of an inch: nominal -> dressed.
_THICK = {"1": 12, "5/4": 16, "1-1/4": 16, "1-1/2": 20, "2": 24, "2-1/2": 32, "3": 40, "3-1/2": 48, "4": 56}
_WIDE = {
    "2": 24, "3": 40, "4": 56, "5": 72, "6": 88, "7": 104, "8": 116, "9": 132, "10": 148, "11": 164,
    "12": 180, "14": 212, "16": 244,
}  # fmt: skip
# Hardwood quarters, in sixteenths: rough, surfaced on one side, surfaced on two (NHLA grading thicknesses
# as reprinted in trade handbooks; 10/4 from memory).
_QUARTERS: dict[str, tuple[int, int | None, int | None]] = {
    "4/4": (16, 14, 13), "5/4": (20, 18, 17), "6/4": (24, 22, 21), "7/4": (28, None, 24),
    "8/4": (32, 29, 28), "10/4": (40, None, 36), "12/4": (48, 45, 44), "16/4": (64, 61, 60),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Quarter:
    """A hardwood thickness in ticks: rough, surfaced one side, surfaced two sides (None: not published)."""

    rough: int
    one_side: int | None
    two_sides: int | None


def _ticks(sizes: Mapping[str, int]) -> dict[str, int]:
    return {name: n * _SIXTEENTHS for name, n in sizes.items()}


def _quarters() -> dict[str, Quarter]:
    def at(n: int | None) -> int | None:
        return None if n is None else n * _SIXTEENTHS

    return {k: Quarter(r * _SIXTEENTHS, at(one), at(two)) for k, (r, one, two) in _QUARTERS.items()}


@dataclass(frozen=True, slots=True)
class Lumber:
    """Nominal -> actual in ticks. Sources: PS 20-20 Table 3 (dry); hardwood quarters as NHLA grades them."""

    thick: Mapping[str, int] = field(default_factory=lambda: _ticks(_THICK))
    wide: Mapping[str, int] = field(default_factory=lambda: _ticks(_WIDE))
    quarters: Mapping[str, Quarter] = field(default_factory=_quarters)

    def actual(self, nominal: str) -> tuple[int, int] | None:
        """Return (thickness, width) of a nominal size such as "2x4", None when it is not in the table."""
        thick, _, wide = nominal.partition("x")
        if wide not in self.wide:
            return None
        if thick in self.thick:
            return self.thick[thick], self.wide[wide]
        # Timbers of nominal 5 and over are dressed 1/2 in off, as the widths are (PS 20-20).
        if thick in ("5", "6") and Fraction(wide) >= Fraction(thick):
            return self.wide[thick], self.wide[wide]
        return None

    def with_size(self, nominal: str, thickness: int, width: int) -> Lumber:
        """Return a table in which both sides of `nominal` measure what the shop says (ticks)."""
        thick, _, wide = nominal.partition("x")
        return replace(self, thick={**self.thick, thick: thickness}, wide={**self.wide, wide: width})
