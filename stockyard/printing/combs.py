"""Equal parts in a row that are too slim to name one by one: drawn as one comb with a count."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from stockyard.printing.papers import DrawnPart

LEAST_TEETH = 3
"""Fewer equal parts than this are no comb."""


@dataclass(frozen=True, slots=True)
class Comb:
    """Equal parts side by side with a kerf between them, in the order in which they lie.

    `stacked` when they lie one above the other (in y), else end to end along the piece (in x).
    """

    parts: tuple[DrawnPart, ...]
    stacked: bool

    @property
    def x(self) -> int:
        """Its low end."""
        return self.parts[0].x

    @property
    def y(self) -> int:
        """Its low side."""
        return self.parts[0].y

    @property
    def dx(self) -> int:
        """Its extent along the piece."""
        return self.parts[-1].x + self.parts[-1].dx - self.x

    @property
    def dy(self) -> int:
        """Its extent across the piece."""
        return self.parts[-1].y + self.parts[-1].dy - self.y

    @property
    def gaps(self) -> tuple[int, ...]:
        """Where one part ends and the next begins: the middle of each kerf, in ticks on the piece."""
        ends = [(p.y + p.dy, q.y) if self.stacked else (p.x + p.dx, q.x) for p, q in self._pairs]
        return tuple((end + start) // 2 for end, start in ends)

    @property
    def _pairs(self) -> Iterable[tuple[DrawnPart, DrawnPart]]:
        return zip(self.parts, self.parts[1:], strict=False)


def comb_out(parts: Sequence[DrawnPart], kerf: int) -> tuple[list[Comb], list[DrawnPart]]:
    """Return the combs among `parts`, the longest first, and the parts that are in none."""
    left = list(parts)
    combs: list[Comb] = []
    while True:
        runs = [*_runs(left, kerf, stacked=True), *_runs(left, kerf, stacked=False)]
        longest = max(runs, key=lambda comb: len(comb.parts), default=None)
        if longest is None or len(longest.parts) < LEAST_TEETH:
            return combs, left
        combs.append(longest)
        taken = {part.name for part in longest.parts}
        left = [part for part in left if part.name not in taken]


def _runs(parts: Iterable[DrawnPart], kerf: int, *, stacked: bool) -> list[Comb]:
    start: Callable[[DrawnPart], int] = (lambda p: p.y) if stacked else (lambda p: p.x)
    found: list[list[DrawnPart]] = []
    for part in sorted(parts, key=lambda p: (p.line, p.dx, p.dy, p.x if stacked else p.y, start(p))):
        last = found[-1][-1] if found else None
        if last is not None and _next(last, part, kerf, stacked=stacked):
            found[-1].append(part)
        else:
            found.append([part])
    return [Comb(tuple(run), stacked) for run in found]


def _next(last: DrawnPart, part: DrawnPart, kerf: int, *, stacked: bool) -> bool:
    alike = (last.line, last.dx, last.dy, last.turned) == (part.line, part.dx, part.dy, part.turned)
    if stacked:
        return alike and last.x == part.x and part.y - last.y - last.dy == kerf
    return alike and last.y == part.y and part.x - last.x - last.dx == kerf
