"""Planning in a child: the same plan, progress, a sure end, and nothing changed in this process."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import active_count
from time import monotonic, sleep

import pytest

from stockyard.errors import Interrupted
from stockyard.planning import child
from stockyard.planning.child import PlannerLost, plan_in_child
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Improvement, Limits
from stockyard.planning.problem import Kind, Part, Problem, Stock
from stockyard.planning.verify import faults
from tests.bench.shop_jobs import job
from tests.planning.jobs import rack

WORK = Limits(seconds=None, work=2)
LONGER = Limits(seconds=None, work=4)


def small(seed: int) -> Problem:
    """A job of a second: offcuts, sheets on the rack and to buy."""
    return rack(seed, 8, 10).problem


@pytest.mark.parametrize(
    ("problem", "limits"), [(small(1), WORK), pytest.param(job(1), LONGER, marks=pytest.mark.slow)]
)
def test_a_child_makes_the_same_plan_and_tells_of_better_ones(problem: Problem, limits: Limits) -> None:
    told: list[Improvement] = []
    assert plan_in_child(problem, limits, told.append, seed=2) == solve(problem, limits=limits, seed=2)
    assert told and not told[-1].missing


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="no core can be chosen here")
def test_by_work_the_plan_is_the_same_on_one_core_as_on_all() -> None:
    problem, cores = small(3), os.sched_getaffinity(0)
    on_all = plan_in_child(problem, WORK)
    os.sched_setaffinity(0, {min(cores)})
    try:
        assert plan_in_child(problem, WORK) == on_all
    finally:
        os.sched_setaffinity(0, cores)


def test_before_anything_is_compiled_plain_python_makes_the_plan(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[bool] = []
    monkeypatch.setenv("STOCKYARD_CACHE", str(tmp_path))
    monkeypatch.setattr(child, "_compile_beside", lambda: begun.append(True))
    plan = plan_in_child(job(3), Limits(seconds=1.0))
    assert not faults(job(3), plan)
    assert begun, "the next plan is to find compiled code"
    assert not list(tmp_path.iterdir()), "nothing was compiled for this one"


def test_who_asks_for_plain_python_has_nothing_compiled(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STOCKYARD_CACHE", str(tmp_path))
    monkeypatch.setenv("STOCKYARD_INTERPRET", "1")
    monkeypatch.setattr(child, "_compile_beside", lambda: pytest.fail("a process was begun"))
    assert not faults(job(3), plan_in_child(job(3), Limits(seconds=0.1)))


@pytest.mark.parametrize(
    ("made", "limits"), [(small, WORK), pytest.param(job, LONGER, marks=pytest.mark.slow)]
)
def test_several_threads_plan_at_once(made: Callable[[int], Problem], limits: Limits) -> None:
    with ThreadPoolExecutor(3) as team:
        plans = list(team.map(lambda n: plan_in_child(made(n), limits), range(3)))
    assert [faults(made(n), plan) for n, plan in enumerate(plans)] == [(), (), ()]
    assert all(plan.layouts for plan in plans)


def test_being_told_to_stop_gives_the_best_plan_so_far() -> None:
    problem, told = job(5), list[Improvement]()
    plan = plan_in_child(problem, Limits(seconds=600.0), told.append, stop=lambda: bool(told))
    assert not faults(problem, plan)
    assert not plan.unplaced


def test_being_told_to_stop_before_there_is_a_plan_says_so_and_does_not_wait(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A first plan that takes for ever is not waited for."""
    never = (
        "import time\nfrom stockyard.planning.hunting import serve as s\n"
        "s._load = lambda: None\ns.Run.begin = lambda _: time.sleep(600)"
    )
    monkeypatch.setattr(child, "PROGRAM", child.PROGRAM.replace("\nserve()\n", f"\n{never}\nserve()\n"))
    with pytest.raises(Interrupted, match="before there was a first plan"):
        plan_in_child(job(5), Limits(seconds=600.0), stop=lambda: True)


def test_a_limit_too_short_for_anything_still_gives_a_plan() -> None:
    plan = plan_in_child(job(5), Limits(seconds=0.0))
    assert not faults(job(5), plan)
    assert plan.layouts


def test_a_fault_of_the_caller_ends_the_child() -> None:
    """Ctrl-C is one: it may come at any place."""

    def interrupted(_: Improvement) -> None:
        raise KeyboardInterrupt

    threads = active_count()
    with pytest.raises(KeyboardInterrupt):
        plan_in_child(job(1), Limits(seconds=600.0), interrupted)
    until = monotonic() + 5.0
    while active_count() > threads and monotonic() < until:  # who listened has heard that it is gone
        sleep(0.01)
    assert active_count() <= threads


def test_a_child_that_dies_is_told_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(child, "PROGRAM", "raise SystemExit(3)  # {path}")
    with pytest.raises(PlannerLost, match="ended early"):
        plan_in_child(job(1), WORK)


def test_a_child_that_never_answers_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(child, "PROGRAM", "import time; time.sleep(600)  # {path}")
    monkeypatch.setattr(child, "PATIENCE", 0.1)
    monkeypatch.setattr(child, "PATIENCE_PART", 0.0)
    with pytest.raises(PlannerLost, match="ended: plan again"):
        plan_in_child(job(1), Limits(seconds=0.1))


def test_an_error_in_the_child_comes_back_in_words() -> None:
    broken = rack(1, 1).problem
    object.__setattr__(broken, "kerf", "wide")
    with pytest.raises(PlannerLost, match="TypeError"):
        plan_in_child(broken, WORK)


def test_an_error_outside_the_search_comes_back_in_words_and_not_on_the_screen(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    fault = "\nfrom stockyard.planning.hunting.serve import _Door\n_Door.next = lambda _: 1 / 0\nserve()"
    monkeypatch.setattr(child, "PROGRAM", child.PROGRAM.replace("\nserve()", fault))
    with pytest.raises(PlannerLost, match="ZeroDivisionError"):
        plan_in_child(job(1), WORK)
    assert capfd.readouterr() == ("", "")


def test_neither_door_changes_this_process() -> None:
    def state() -> tuple[object, ...]:
        return sys.getswitchinterval(), gc.get_freeze_count(), os.fstat(1), gc.isenabled()

    before = state()
    seen = []
    plan_in_child(small(1), WORK, lambda _: seen.append(state()))
    told_by_child = len(seen)
    solve(small(1), limits=WORK, report=lambda _: seen.append(state()))
    assert 0 < told_by_child < len(seen)
    assert set(seen) == {before}


def test_a_child_that_cannot_begin_is_told_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "stockyard").mkdir()
    (tmp_path / "stockyard" / "__init__.py").write_text("raise OSError('no file may be opened')")
    monkeypatch.syspath_prepend(tmp_path)
    with pytest.raises(PlannerLost, match=r"^the planner failed: OSError: no file may be opened$"):
        plan_in_child(job(1), WORK)
    assert capfd.readouterr() == ("", "")


def test_one_process_answers_one_question_after_the_other_and_is_gone_afterwards(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    begun: list[child.Planner] = []

    class Counted(child.Planner):
        def __init__(self, *, in_time: bool) -> None:
            super().__init__(in_time=in_time)
            begun.append(self)

    monkeypatch.setattr(child, "Planner", Counted)
    sheet = Stock(id="sheet", kind=Kind.FULL, material="any", length=9000, width=5000, count=None, cost=1)
    lids = Part(id="lid", length=2000, width=1500, count=20)
    problem, short = Problem(stock=(sheet,), parts=(lids,)), Limits(seconds=None, work=1)
    alone = plan_in_child(problem, short)
    assert len(begun) == 1
    with child.at_hand():
        assert [plan_in_child(problem, short) for _ in range(2)] == [alone, alone]
        assert len(begun) == 2
        told: list[Improvement] = []
        plan_in_child(job(5), Limits(seconds=600.0, second=0), told.append, stop=lambda: bool(told))
        assert plan_in_child(problem, short) == alone, "one that was stopped is not asked again"
        assert len(begun) == 3
    assert all(planner.has_ended for planner in begun)


def test_a_process_begun_before_it_is_asked_is_gone_when_nobody_asks() -> None:
    with child.at_hand(begun=True):
        planner = child._HAND.planner
    assert planner is None or planner.has_ended
    assert child._HAND.planner is None
