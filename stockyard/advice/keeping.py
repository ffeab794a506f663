"""Keep or bin: how likely a leftover is to be used, judged by the shop's own past cut lists.

Jobs with a part that fits arrive at the rate they did in the past. Each similar piece already on
the rack takes one of them first, so with `n` rivals a leftover is used when more than `n` come
within the horizon (Poisson). Lengths are ticks, areas ticks², times days.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, log2

from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Length, Unit
from stockyard.wording import count
from stockyard.worth import PULL_AREA

HORIZON_DAYS = 180
"""How long a leftover may wait (common practice, no source: shops clear out once or twice a year)."""

# Share of a piece that parts fill at best, and the side lengths that count as one size.
_FILL = (4, 5)
_STEP = 25 * TICKS_PER_MM
_MM2 = TICKS_PER_MM**2
_SQUARE_FOOT = (12 * TICKS_PER_INCH) ** 2
# Below this many jobs within the horizon hardly any part would fit.
_HARDLY = 0.05


@dataclass(frozen=True, slots=True)
class PastPart:
    """Equal parts of one past cut list; `turns` when they may lie across the grain as well."""

    length: Length
    width: Length
    count: int = 1
    turns: bool = False


@dataclass(frozen=True, slots=True)
class PastJob:
    """The parts one past job wanted of one material."""

    parts: tuple[PastPart, ...]


def _mm(length: int, width: int, count: int) -> PastPart:
    return PastPart(Length(length * TICKS_PER_MM), Length(width * TICKS_PER_MM), count)


# What jobs look like before there is a past: case sides, shelves, doors, drawer parts, rails; of
# boards legs, rails, slats and shelves (common practice, no source). It weighs as much as three real
# jobs, one every three weeks.
SHEET_PRIOR = (
    PastJob((_mm(720, 560, 2), _mm(800, 300, 3), _mm(780, 700, 1))),
    PastJob((_mm(600, 400, 2), _mm(500, 150, 4), _mm(480, 420, 2))),
    PastJob((_mm(1800, 300, 2), _mm(760, 280, 4), _mm(700, 80, 2), _mm(200, 100, 2))),
)
BOARD_PRIOR = (
    PastJob((_mm(700, 60, 4), _mm(500, 80, 4), _mm(400, 30, 6))),
    PastJob((_mm(1100, 85, 3), _mm(350, 85, 4))),
    PastJob((_mm(1700, 120, 2), _mm(800, 140, 3), _mm(300, 40, 4))),
)
_PRIOR_DAYS = 63


@dataclass(frozen=True, slots=True)
class Use:
    """What to expect of a leftover: jobs that could use it within the horizon, chance, area it saves."""

    jobs: float
    chance: float
    saves: int

    @property
    def expected(self) -> int:
        """Material it saves on average, in ticks²."""
        return round(self.chance * self.saves)


class Outlook:
    """The demand for leftovers of one material: its past jobs over `days`, looking `horizon` days ahead.

    `prior` stands in for the past at first: SHEET_PRIOR or BOARD_PRIOR.
    """

    __slots__ = ("_cache", "_days", "_jobs", "horizon", "past_jobs")

    def __init__(
        self,
        past: Sequence[PastJob],
        days: int,
        horizon: int = HORIZON_DAYS,
        prior: Sequence[PastJob] = SHEET_PRIOR,
    ) -> None:
        self._jobs = [_sorted_out(job) for job in (*prior, *past)]
        self._days = _PRIOR_DAYS + max(0, days)
        self._cache: dict[tuple[int, int], tuple[int, int]] = {}
        self.horizon = horizon
        self.past_jobs = len(past)

    def use(self, length: int, width: int, rivals: int = 0) -> Use:
        """Return what to expect of a leftover with `rivals` similar pieces ahead of it.

        Sides are taken down to whole steps of 25 mm, so that answers are shared and never hopeful.
        """
        key = (length // _STEP, width // _STEP)
        if key not in self._cache:
            self._cache[key] = self._demand(key[0] * _STEP, key[1] * _STEP)
        jobs, saved = self._cache[key]
        expected = jobs * self.horizon / self._days
        return Use(expected, _at_least(rivals + 1, expected), saved // jobs if jobs else 0)

    def _demand(self, length: int, width: int) -> tuple[int, int]:
        """Return how many past jobs had a part that fits, and the area they would have taken in all."""
        most = length * width * _FILL[0] // _FILL[1]
        low, high = sorted((length, width))
        jobs = saved = 0
        for fixed, turning in self._jobs:
            fitting = sum([area for along, across, area in fixed if along <= length and across <= width])
            fitting += sum([area for long, short, area in turning if long <= high and short <= low])
            if fitting:
                jobs += 1
                saved += min(most, fitting)
        return jobs, saved


Sizes = list[tuple[Length, Length, int]]
"""Two sides and the area of all copies."""


def _sorted_out(job: PastJob) -> tuple[Sizes, Sizes]:
    """Return a job's parts that lie along the grain, and those that may be turned, the longer side first."""
    fixed = [(p.length, p.width, p.length * p.width * p.count) for p in job.parts if not p.turns]
    turning = [
        (max(p.length, p.width), min(p.length, p.width), p.length * p.width * p.count)
        for p in job.parts
        if p.turns
    ]
    return fixed, turning


def _at_least(times: int, expected: float) -> float:
    """Return the chance of `times` or more arrivals when `expected` are expected (Poisson)."""
    term, below = exp(-expected), 0.0
    for k in range(times):
        below += term
        term *= expected / (k + 1)
    return max(0.0, 1.0 - below)


def size_class(length: int, width: int) -> tuple[int, int]:
    """Return the class of similar sizes: both sides within a factor of about 1.4."""
    return tuple(int(2 * log2(max(1, side // TICKS_PER_MM))) for side in (length, width))  # type: ignore[return-value]


def rivals_of(length: int, width: int, rack: Iterable[tuple[int, int]]) -> int:
    """Return how many sizes on the `rack` (of the same material) are similar to this one."""
    own = size_class(length, width)
    return sum(size_class(*size) == own for size in rack)


@dataclass(frozen=True, slots=True)
class Verdict:
    """Keep or bin, on what grounds, in one sentence."""

    keep: bool
    use: Use
    says: str


def judge(
    outlook: Outlook,
    length: Length,
    width: Length,
    rivals: int = 0,
    *,
    pull_area: int = PULL_AREA,
    unit: Unit = Unit.MM,
) -> Verdict:
    """Return whether a leftover earns its place: it must save more than pulling it costs.

    `unit` is the shop's: the sentence tells areas in m², or in sq ft for inches.
    """
    use = outlook.use(length, width, rivals)
    keep = use.expected > pull_area
    if keep:
        return Verdict(keep, use, f"keep: {_why(outlook, use, rivals, unit)}")
    small = ", less than fetching it costs" if use.jobs >= _HARDLY else ""
    return Verdict(keep, use, f"bin: {_why(outlook, use, rivals, unit)}{small}")


def _why(outlook: Outlook, use: Use, rivals: int, unit: Unit) -> str:
    basis = (
        count(outlook.past_jobs, "past job") if outlook.past_jobs else "usual part sizes, no past jobs yet"
    )
    if use.jobs < _HARDLY:
        return f"hardly any part would fit ({basis})"
    few = "about one job" if use.jobs >= 0.75 else "few jobs"
    jobs = f"about {use.jobs:.0f} jobs" if use.jobs >= 1.5 else few
    ahead = f" and {rivals} like it {'is' if rivals == 1 else 'are'} on the rack" if rivals else ""
    metric = unit is Unit.MM
    area = f"{use.saves / _MM2 / 1e6:.2f} m²" if metric else f"{use.saves / _SQUARE_FOOT:.1f} sq ft"
    likely = f"{use.chance:.0%} likely, saving about {area}"
    return f"{jobs} in {outlook.horizon} days could use it{ahead}: {likely} ({basis})"
