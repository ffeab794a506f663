"""Plans in the making: as many at once as the shop allows, and what is seen of them meanwhile."""

from __future__ import annotations

from threading import Event

import pytest

from stockyard.desk.door import Yardkeeper
from stockyard.desk.planning import Improvement
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.page import runs
from stockyard.page.house import House
from stockyard.page.runs import Run, Runs
from stockyard.planning.limits import Sketch
from tests.page.conftest import Browser


@pytest.mark.parametrize(("at_once", "second"), [(1, "waiting"), (2, "making")])
def test_no_more_plans_are_made_at_once_than_allowed(
    keeper: Yardkeeper, monkeypatch: pytest.MonkeyPatch, at_once: int, second: str
) -> None:
    begun, go_on = {1: Event(), 2: Event()}, Event()

    def ways(_yard: object, run: Run, _how: object) -> tuple[()]:
        begun[run.job].set()
        assert go_on.wait(60)
        return ()

    monkeypatch.setattr(runs, "_ways", ways)
    every = Runs(lambda: None, at_once)
    made = [Run(job=job, side_by_side=False, seconds=5) for job in (1, 2)]
    every.begin(keeper, made[0])
    assert begun[1].wait(60)
    every.begin(keeper, made[1])
    if at_once == 2:
        assert begun[2].wait(60)
    assert made[1].state == second
    go_on.set()
    assert all(run.done.wait(60) and run.state == "made" for run in made)


def test_the_best_plan_so_far_is_drawn_to_scale(bench: Browser, house: House, job: int) -> None:
    sheet = Sketch(2440 * MM, 1220 * MM, ((0, 0, 610 * MM, 1220 * MM),))
    better = Improvement(seconds=1, missing=0, money=84_0000, net=10**12, pieces=9, sketches=(sheet,))
    house.runs.kept[job] = Run(job=job, side_by_side=False, seconds=5, state="making", better=[better])
    page = bench.get(f"/jobs/{job}/plan")
    drawn = page.split("The best plan so far", 1)[1]
    assert "Piece 1 of the best plan so far: 1 part" in page and "And 8 more pieces." in page
    (whole, part) = [
        (float(r.split('width="')[1].split('"')[0]), float(r.split('height="')[1].split('"')[0]))
        for r in drawn.split("<rect")[1:3]
    ]
    assert part[0] == pytest.approx(whole[0] / 4) and part[1] == pytest.approx(whole[1])
