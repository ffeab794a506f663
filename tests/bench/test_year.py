"""The simulated year keeps its books: what is bought is in parts, in the scrap or on the rack."""

from __future__ import annotations

import pytest

from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem
from tests.bench.bench_year import planned_whole, sheets_bound
from tests.bench.first_fit import first_fit
from tests.bench.year_jobs import SHEETS, year
from tests.bench.year_report import plot, table
from tests.bench.year_shop import MM2, Cutting, EveryOffcut, Ours, WeekTogether, joined, run_year


def no_planner(_problem: Problem) -> Plan:
    raise AssertionError("first fit stands in for the planner here")


class OursByFirstFit(Ours):
    def cut(self, problem: Problem) -> list[Cutting]:
        keeps = problem.worth.keeps
        return [
            Cutting(o.stock, o.parts_area, tuple(f for f in o.free if keeps(*f))) for o in first_fit(problem)
        ]


class WeekByFirstFit(OursByFirstFit, WeekTogether):
    """Each week's jobs as one."""


@pytest.mark.parametrize("way", [EveryOffcut, OursByFirstFit, WeekByFirstFit])
def test_areas_add_up(way: type[Ours]) -> None:
    jobs = year(3)[:60]
    done = run_year(jobs, way(no_planner))
    sheet = SHEETS["mdf 18"]
    bought = done.sheets * sheet.length * sheet.width / MM2 / 1e6
    parts = sum(p.area * p.count for job in jobs for p in job.parts) / MM2 / 1e6
    assert bought == pytest.approx(parts + done.scrap + done.racked)
    assert done.sheets >= sheets_bound(jobs)


def test_the_year_is_the_same_every_time() -> None:
    assert year(5) == year(5)
    assert year(5) != year(6)


def test_jobs_of_a_week_are_one_job_and_lose_no_part() -> None:
    jobs = year(5)
    weeks = [*WeekTogether(no_planner).planned(jobs)]
    assert [job for week in weeks for job in week] == [*jobs]
    assert all(week[-1].day - week[0].day < 7 for week in weeks) and len(weeks) <= 53
    week = next(w for w in weeks if len(w) > 2)
    parts = joined(week).parts
    assert len({p.id for p in parts}) == len(parts) == sum(len(job.parts) for job in week)
    assert sum(p.area * p.count for p in parts) == sum(p.area * p.count for job in week for p in job.parts)


def test_table_and_plot_hold_every_way() -> None:
    row = {"sheets": 10, "money": 500, "scrap": 3.0, "handled": 40, "fill": 0.5, "racked": 1.0}
    results = {"plain": [row, row], "careful": [row, row]}
    assert table(results, [8, 9]).count("\n") == 5
    assert "careful" in plot(results, [8, 9])


def test_the_year_as_one_job_takes_no_fewer_sheets_than_its_bound() -> None:
    jobs = year(3)[:8]
    area = sum(
        p.length * p.width * p.count for job in jobs for p in job.parts if p.materials == ("birch ply 18",)
    )
    sheet = SHEETS["birch ply 18"]
    bound, sheets = planned_whole(jobs, "birch ply 18", 0.3)
    assert bound <= sheets and area <= sheets * sheet.length * sheet.width
