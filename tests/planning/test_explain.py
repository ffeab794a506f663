"""The reason why a part cannot be placed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stockyard.measure import TICKS_PER_INCH as INCH
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.planning.explain import unplaced, why
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.problem import Grain, Kind, Part, Problem, Stock, Trim
from stockyard.planning.verify import faults
from stockyard.saws import Saws

SHEET = Stock(
    id="K7Q3", kind=Kind.OFFCUT, material="birch ply", length=2440 * MM, width=1220 * MM, thickness=18 * MM,
    grain=True, edge_trim=Trim.all_round(10 * MM),
)  # fmt: skip
STRIP = replace(SHEET, id="P4W2", length=2700 * MM, width=300 * MM)
PART = Part(id="side", length=700 * MM, width=500 * MM, thickness=18 * MM, materials=("birch ply",))


def reason(stock: tuple[Stock, ...] = (SHEET,), unit: Unit = Unit.MM, **changes: object) -> str:
    part = replace(PART, **changes)  # type: ignore[arg-type]
    return why(Problem(stock=stock, parts=(part,), unit=unit), part)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (
            reason(length=2421 * MM),
            "longer than any piece of birch ply 18 mm; the longest is 2420 mm usable (K7Q3)",
        ),
        (
            reason(width=1201 * MM),
            "wider than any piece of birch ply 18 mm; the widest is 1200 mm usable (K7Q3); "
            "K7Q3 would do if its grain need not run along the length",
        ),
        (reason(materials=("oak",)), "there is no oak in the stock"),
        (reason(materials=("oak", "ash")), "there is no oak or ash in the stock"),
        (reason(materials=None, stock=()), "there is no stock"),
        (reason(thickness=12 * MM), "no piece of birch ply is 12 mm thick; the nearest is 18 mm (K7Q3)"),
        (
            reason(stock=(replace(SHEET, thickness=None),)),
            "no piece of birch ply is 18 mm thick; K7Q3 has no thickness given",
        ),
        (
            reason(stock=(SHEET, STRIP), length=2600 * MM),
            "no piece of birch ply 18 mm is large enough both ways; "
            "the nearest is 2420 mm x 1200 mm usable (K7Q3)",
        ),
        (reason(length=2421 * MM, materials=None), "longer than any piece 18 mm thick; "
         "the longest is 2420 mm usable (K7Q3)"),
        (reason(), "every piece of birch ply 18 mm that could give it is used for other parts"),
        (
            reason(length=1300 * MM, grain=Grain.ACROSS),
            "longer than any piece of birch ply 18 mm; the longest is 1200 mm usable (K7Q3); "
            "K7Q3 would do if its grain need not run across the length",
        ),
        (
            reason(stock=(replace(SHEET, edge_trim=Trim.all_round(900 * MM)),)),
            "longer than any piece of birch ply 18 mm; the longest is 640 mm usable (K7Q3)",
        ),
        (
            reason(unit=Unit.INCH, length=120 * INCH),
            "longer than any piece of birch ply ≈45/64″; the longest is ≈95 9/32″ usable (K7Q3)",
        ),
    ],
)  # fmt: skip
def test_the_reason_names_the_nearest_stock(said: str, words: str) -> None:
    assert said == words


def test_a_piece_that_is_not_there_is_not_named() -> None:
    assert reason(stock=(replace(SHEET, count=0),)) == "there is no birch ply in the stock"


def test_only_what_is_missing_is_listed() -> None:
    problem = Problem(stock=(SHEET,), parts=(PART, replace(PART, id="long", length=9000 * MM)))
    [left_out] = unplaced(problem, {0: 0, 1: 3})
    assert (left_out.part, left_out.count) == ("long", 3)


def test_a_part_that_no_saw_of_the_shop_reaches_is_named_with_the_limit() -> None:
    """No guided saw and a stop of 1220 mm: 1500 mm can not be cut to length, however the sheet lies."""
    saws = Saws(guide_length=0)
    long = Part(id="rail", length=1500 * MM, width=90 * MM, materials=PART.materials)
    short = replace(long, id="short", length=900 * MM)
    problem = Problem(stock=(SHEET,), parts=(long, short), saws=saws, kerf=3 * MM)
    done = solve(problem, limits=Limits(seconds=None, work=1))
    assert [(u.part, u.reason) for u in done.unplaced] == [
        (
            "rail",
            "longer than any stop reaches (1220 mm), and there is no guided saw: nothing here can cut it",
        )
    ]
    assert [p.part for layout in done.layouts for p in layout.parts] == ["short"]
    assert faults(problem, done) == ()
    assert not solve(replace(problem, saws=Saws()), limits=Limits(seconds=None, work=1)).unplaced


@pytest.mark.parametrize(
    ("saws", "words"),
    [
        (
            Saws(guide_length=0, stop_reach=0, rip_width=900 * MM),
            "there is no stop to cut it to length at, it is longer than the fence opens (900 mm), "
            "and there is no guided saw",
        ),
        (
            Saws(guide_length=0, rip_width=900 * MM),
            "wider than the sled takes (610 mm), and there is no guided saw",
        ),
        (
            Saws(guide_length=0, rip_width=900 * MM, stop_length=990 * MM),
            "longer than any stop reaches (990 mm), and there is no guided saw",
        ),
        (
            Saws(guide_length=0, stop_length=0, rip_width=900 * MM),
            "wider than the sled takes (610 mm), and there is no guided saw",
        ),
        (
            Saws(guide_length=1000 * MM, stop_reach=0, rip_width=0),
            "there is no fence to rip it at, and there is a guided saw for cuts up to 1000 mm only",
        ),
        (
            Saws(guide_length=0, rip_width=0, stop_reach=0),
            "there is no fence to rip it at, and there is no guided saw",
        ),
        (
            Saws(guide_length=0, rip_width=690 * MM, stop_reach=0),
            "wider than the fence opens (690 mm), and there is no guided saw",
        ),
    ],
)
def test_the_limit_that_is_named_is_the_one_that_a_part_is_beyond(saws: Saws, words: str) -> None:
    """A panel of 1000 x 700 from a sheet of 2440 x 1220."""
    panel = Part(id="panel", length=1000 * MM, width=700 * MM, materials=PART.materials)
    [left_out] = unplaced(Problem(stock=(SHEET,), parts=(panel,), saws=saws, kerf=3 * MM), {0: 1})
    assert left_out.reason == f"{words}: nothing here can cut it"


def test_a_strip_that_is_longer_than_it_is_wide_is_not_cut_across_at_the_fence() -> None:
    saws = Saws(guide_length=0, stop_reach=0)
    rail = Part(id="rail", length=400 * MM, width=90 * MM, materials=PART.materials)
    assert why(Problem(stock=(STRIP,), parts=(rail,), saws=saws, kerf=3 * MM), rail) == (
        "there is no stop to cut it to length at, for the fence no piece is as wide as it is long, "
        "and there is no guided saw: nothing here can cut it"
    )
