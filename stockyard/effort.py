"""What handling and sawing cost, as areas of good material: one price for material and hands."""

from __future__ import annotations

from dataclasses import dataclass, fields
from fractions import Fraction

from stockyard.measure import TICKS_PER_MM
from stockyard.worth import PULL_AREA

_HOUR = 3600
SAME = 1000
"""What a material costs beside that of `Effort`, in thousandths, unless it is said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seconds:
    """What one of each takes, in whole seconds; a size that comes off as what remains is measured again.

    `path` is for a metre of the router's path.
    """

    pull: int
    dig: int
    fence: int
    cut: int
    rest: int
    heavy: int
    path: int = 0


USUAL = Seconds(pull=60, dig=20, fence=60, cut=20, rest=40, heavy=40, path=20)
"""What a shop starts with (common practice, no source)."""

SECOND = PULL_AREA // USUAL.pull
"""What a second is worth where no price says it: 500 mm² of good material (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """What one of each costs, in ticks² of good material; as long as nothing is said, `USUAL` at `SECOND`.

    `pull`: a piece fetched; `dig`: a piece lifted off to reach one; `fence`: fence or stop set to another
    figure; `cut`: a pass of the saw; `rest`: a finished size that comes off as what remains; `heavy`: what a
    cut that needs two people costs beyond `cut`; `path`: a tick of the router's path, in ticks (a metre of it
    as much as a cut).
    """

    pull: int = PULL_AREA
    dig: int = USUAL.dig * SECOND
    fence: int = USUAL.fence * SECOND
    cut: int = USUAL.cut * SECOND
    rest: int = USUAL.rest * SECOND
    heavy: int = USUAL.heavy * SECOND
    path: int = USUAL.path * SECOND // (1000 * TICKS_PER_MM)

    def on(self, dear: int) -> Effort:
        """Return the same as areas of another material, one that costs `dear` thousandths of this one."""
        if dear == SAME:
            return self
        return Effort(**{f.name: round(Fraction(getattr(self, f.name) * SAME, dear)) for f in fields(self)})


FREE = Effort(pull=0, dig=0, fence=0, cut=0, rest=0, heavy=0, path=0)
"""Only material counts."""


def effort_of(seconds: Seconds, *, hour: int, price: Fraction) -> Effort:
    """Return seconds as areas: `hour` is what an hour at the saw is worth, `price` what a tick² costs.

    Both are in ten-thousandths of the shop's currency; with a price of 0 all is as in `Effort`.
    """
    if price <= 0:
        return Effort()

    def area(taken: int) -> int:
        return round(Fraction(hour * taken, _HOUR) / price)

    return Effort(
        pull=area(seconds.pull),
        dig=area(seconds.dig),
        fence=area(seconds.fence),
        cut=area(seconds.cut),
        rest=area(seconds.rest),
        heavy=area(seconds.heavy),
        path=round(area(seconds.path) / (1000 * TICKS_PER_MM)),
    )
