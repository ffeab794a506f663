"""The planner's worth of leftovers, fitted to what the shop's past cut lists would have used."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from stockyard.advice.keeping import Outlook, Use
from stockyard.measure import TICKS_PER_MM
from stockyard.worth import PULL_AREA, Worth

# Sizes looked at: a leftover as short and as long as a sheet gives, in millimetres.
_SHORT_SIDES = (50, 75, 100, 125, 150, 175, 200, 250, 300, 350, 400, 500, 600, 800, 1000, 1200)
_LONG_SIDES = (200, 300, 400, 500, 600, 800, 1000, 1200, 1500, 1800, 2400)
_WHOLE_AREAS = tuple(range(250_000, 3_250_000, 250_000))
_FLOORS = tuple(range(0, 1001, 50))
_MM2 = TICKS_PER_MM**2

Crowd = Callable[[int, int, int], int]
"""How many pieces on the rack are similar: outlook number, length, width -> rivals."""


def _nobody(_outlook: int, _length: int, _width: int) -> int:
    return 0


def fit_worth(outlooks: Sequence[Outlook], rivals: Crowd = _nobody, *, pull_area: int = PULL_AREA) -> Worth:
    """Return the worth whose parameters follow the outlooks of the materials at hand.

    The keep-size is where a leftover begins to save more than pulling it costs; `floor` and
    `whole_area` are the least-squares fit of the share of its area that a leftover saves. Without
    outlooks the common-practice worth is returned.
    """
    samples = [
        (short * TICKS_PER_MM, long * TICKS_PER_MM, _mean_use(outlooks, rivals, short, long))
        for short in _SHORT_SIDES
        for long in _LONG_SIDES
        if long >= short
    ]
    kept = [(short, long, saved) for short, long, saved in samples if saved > pull_area]
    if not outlooks or not kept:
        return Worth()
    floor, whole = min(
        ((f, w * _MM2) for f in _FLOORS for w in _WHOLE_AREAS), key=lambda form: _misfit(kept, *form)
    )
    return Worth(
        keep_short_side=min(short for short, _, _ in kept),
        keep_area=min(short * long for short, long, _ in kept),
        whole_area=whole,
        floor=floor,
    )


def _mean_use(outlooks: Sequence[Outlook], rivals: Crowd, short: int, long: int) -> float:
    """Return the area saved on average, over materials and both ways the grain may run."""
    uses: list[Use] = []
    for number, outlook in enumerate(outlooks):
        for length, width in ((long, short), (short, long)):
            size = length * TICKS_PER_MM, width * TICKS_PER_MM
            uses.append(outlook.use(*size, rivals(number, *size)))
    return sum(use.expected for use in uses) / len(uses) if uses else 0.0


def _misfit(kept: Sequence[tuple[int, int, float]], floor: int, whole: int) -> float:
    """Return the squared error of the form's share of area over the kept sizes."""
    error = 0.0
    for short, long, saved in kept:
        area = short * long
        form = floor / 1000 + (1 - floor / 1000) * min(1.0, area / whole)
        error += (form - saved / area) ** 2
    return error
