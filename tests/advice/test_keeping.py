"""Keep or bin, the fitted worth and the tidy-up list: invented cut lists, checked by counting."""

from __future__ import annotations

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.advice import fitting, keeping, tidying
from stockyard.advice.keeping import Outlook, PastJob, PastPart
from stockyard.measure import TICKS_PER_MM
from stockyard.planning.worth import Worth

MM = TICKS_PER_MM
sides = st.integers(20, 2500).map(lambda mm: mm * MM)


def job(*sizes: tuple[int, int, int], turns: bool = False) -> PastJob:
    return PastJob(tuple(PastPart(a * MM, b * MM, n, turns) for a, b, n in sizes))


DRAWERS = Outlook([job((500, 150, 4), (480, 420, 2))] * 60, days=360)


def test_chance_is_poisson() -> None:
    """P(N >= 1) = 1 - e^-m and P(N >= 2) = 1 - e^-m (1 + m), the Poisson law."""
    one, two = (DRAWERS.use(520 * MM, 200 * MM, rivals) for rivals in (0, 1))
    assert one.chance == pytest.approx(1 - exp(-one.jobs))
    assert two.chance == pytest.approx(1 - exp(-one.jobs) * (1 + one.jobs))


def test_rate_comes_from_the_past() -> None:
    """60 jobs in 360 days all fit: with the prior's weight about 27 in the next 180 days."""
    assert DRAWERS.use(600 * MM, 500 * MM).jobs == pytest.approx(180 * 61 / 423, rel=0.02)


def test_grain_decides_what_fits() -> None:
    across = Outlook([job((500, 150, 4))] * 60, days=360)
    freely = Outlook([job((500, 150, 4), turns=True)] * 60, days=360)
    assert across.use(200 * MM, 550 * MM).jobs < 1
    assert freely.use(200 * MM, 550 * MM).jobs > 20


@given(sides, sides, st.integers(0, 20))
def test_a_larger_piece_serves_at_least_as_many_jobs(length: int, width: int, rivals: int) -> None:
    small, large = DRAWERS.use(length, width, rivals), DRAWERS.use(length + 50 * MM, width + 50 * MM, rivals)
    assert small.jobs <= large.jobs
    assert small.chance <= large.chance


@given(sides, sides, st.integers(0, 20))
def test_each_rival_lowers_the_chance(length: int, width: int, rivals: int) -> None:
    first, next_ = (DRAWERS.use(length, width, n) for n in (rivals, rivals + 1))
    assert 0 <= next_.chance <= first.chance <= 1
    assert next_.expected <= length * width


def test_verdicts_and_their_reasons() -> None:
    good = keeping.judge(DRAWERS, 600 * MM, 500 * MM)
    sliver = keeping.judge(DRAWERS, 600 * MM, 60 * MM)
    crowd = keeping.judge(DRAWERS, 600 * MM, 500 * MM, rivals=60)
    assert (good.keep, sliver.keep, crowd.keep) == (True, False, False)
    assert "60 past jobs" in good.says
    assert sliver.says.startswith("bin: hardly any part would fit")
    assert "60 like it are on the rack" in crowd.says


def test_without_a_past_usual_sizes_decide() -> None:
    fresh = Outlook((), 0)
    assert keeping.judge(fresh, 800 * MM, 600 * MM).keep
    assert not keeping.judge(fresh, 300 * MM, 50 * MM).keep
    boards = Outlook((), 0, prior=keeping.BOARD_PRIOR)
    assert keeping.judge(boards, 1500 * MM, 88 * MM).keep
    assert not keeping.judge(boards, 200 * MM, 88 * MM).keep
    assert "no past jobs yet" in keeping.judge(fresh, 800 * MM, 600 * MM).says


def test_rivals_are_similar_sizes() -> None:
    rack = [(600 * MM, 500 * MM), (620 * MM, 510 * MM), (1200 * MM, 500 * MM), (100 * MM, 100 * MM)]
    assert keeping.rivals_of(610 * MM, 505 * MM, rack) == 2


def test_worth_follows_what_the_shop_cuts() -> None:
    small = fitting.fit_worth([Outlook([job((180, 80, 10))] * 60, 360)])
    large = fitting.fit_worth([Outlook([job((1100, 500, 2))] * 60, 360)])
    assert small.keep_short_side < large.keep_short_side
    assert small.keep_area < large.keep_area


def test_worth_without_outlooks_is_common_practice() -> None:
    assert fitting.fit_worth([]) == Worth()


def test_a_full_rack_lowers_worth() -> None:
    free = fitting.fit_worth([DRAWERS])
    crowded = fitting.fit_worth([DRAWERS], lambda _number, length, _width: 40 if length < 700 * MM else 0)
    assert crowded.keep_area > free.keep_area


@given(
    st.lists(st.tuples(st.integers(50, 2000), st.integers(50, 1200), st.integers(1, 9)), min_size=1), sides
)
def test_fitted_worth_is_sound(sizes: list[tuple[int, int, int]], side: int) -> None:
    worth = fitting.fit_worth([Outlook([job(*sizes)] * 10, 60)])
    hash(worth)
    assert 0 <= worth.floor <= 1000
    assert worth.of(side, side) <= side * side
    assert worth.of(side, side) <= worth.of(side + MM, side + MM)


def shelved(tag: str, length: int, width: int, age: int, fill: int | None = None) -> tidying.Shelved:
    return tidying.Shelved(
        tag=tag, material="ply", place="A1", length=length * MM, width=width * MM, age=age, fill=fill
    )


def test_tidy_clears_crowded_places_first_and_old_before_new() -> None:
    pieces = [
        shelved("good", 600, 500, 10),
        shelved("sliver", 600, 40, 10),
        shelved("crowded", 500, 40, 10, fill=95),
        *(shelved(f"same{n:02}", 600, 500, 400 + n) for n in range(60)),
    ]
    found = tidying.tidy_list(pieces, {"ply": DRAWERS}, horizon=180)
    tags = [c.piece.tag for c in found]
    assert tags[0] == "crowded"
    assert "good" not in tags
    assert {"sliver", "same59"} <= set(tags)
    assert "same00" not in tags, "the newest of many equals stays"
    assert "A1 is 95 % full" in found[0].why


def test_tidy_stops_at_its_limit() -> None:
    pieces = [shelved(f"t{n}", 300, 30, n) for n in range(20)]
    assert len(tidying.tidy_list(pieces, {}, horizon=180, limit=5)) == 5


def test_fitted_worth_lies_nearer_to_the_past_than_other_floors_and_wholes() -> None:
    """Least squares over the sizes that a rack may hold is what is asked for; 5 % for its coarse steps."""
    outlook = Outlook([job((1100, 500, 2))] * 60, 360)
    fitted = fitting.fit_worth([outlook], pull_area=0)
    sizes = [(a * MM, b * MM) for a in range(100, 1300, 150) for b in range(a, 2500, 200)]

    def away(floor: int, whole: int) -> float:
        form = Worth(keep_short_side=0, keep_area=0, floor=floor, whole_area=whole)
        saved = {s: (outlook.use(*s).expected + outlook.use(*s[::-1]).expected) / 2 for s in sizes}
        return sum((form.of(*s) - use) ** 2 / (s[0] * s[1]) ** 2 for s, use in saved.items() if use > 0)

    own = away(fitted.floor, fitted.whole_area)
    for floor in (0, 300, 400, 600, 1000):
        for share in (0.2, 0.5, 1.0):
            assert own < 1.05 * away(floor, round(fitted.whole_area * share)), (floor, share)
