"""The order of work by itself: complete, with the fewest moves, machine by machine."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count
from random import Random

import pytest

from stockyard.planning.sawing.operations import moves
from stockyard.planning.sawing.order import Scheduler, Task
from stockyard.saws import Machine, Saws, Setting, Way

FENCE, STOP, GUIDE = Machine.FENCE, Machine.STOP, Machine.GUIDE


def rip(figure: int, *then: int, on: Machine = FENCE, starts: bool = False) -> Task:
    return Task(Setting(on, figure), Way.RIP, then, starts)


def cross(figure: int, *then: int, on: Machine = STOP, starts: bool = False) -> Task:
    return Task(Setting(on, figure), Way.CROSS, then, starts)


def moved(tasks: Sequence[Task], order: Sequence[int], saws: Saws) -> int:
    return moves([tasks[n].setting for n in order], saws)


def forest(seed: int, cuts: int, figures: int) -> list[Task]:
    """Random pieces, each cut of which gives up to two that are cut again."""
    rng, made = Random(seed), dict[int, Task]()
    numbers = count()

    def grow(depth: int, *, starts: bool) -> int:
        own = next(numbers)
        then = [grow(depth - 1, starts=False) for _ in range(rng.randint(0, 2) if depth else 0)]
        way, on = rng.choice([(rip, FENCE), (rip, GUIDE), (cross, STOP), (cross, FENCE)])
        task = way(rng.randint(1, figures), *then, on=on, starts=starts)
        trims = rng.random() < 0.15 and len(then) < 2
        made[own] = Task(None, task.way, task.then, task.starts) if trims else task
        return own

    while len(made) < cuts:
        grow(3, starts=True)
    return [made[n] for n in range(len(made))]


def fewest(tasks: Sequence[Task], saws: Saws) -> int:
    """The fewest moves of any order, by looking at them all: cuts that need no move are made at once."""
    seen = {(frozenset(n for n, t in enumerate(tasks) if t.starts), frozenset[tuple[object, Setting]]())}
    for number in count():
        opened = set()
        for ready, standing in seen:
            free, stands = set(ready), dict(standing)
            while True:
                now = [n for n in free if (s := tasks[n].setting) is None or stands.get(key(s, saws)) == s]
                if not now:
                    break
                free.difference_update(now)
                free.update(after for n in now for after in tasks[n].then)
            if not free:
                return number
            for setting in {tasks[n].setting for n in free}:
                assert setting is not None
                after = frozenset({**stands, key(setting, saws): setting}.items())
                opened.add((frozenset(free), after))
        seen = opened
    raise AssertionError


def key(setting: Setting, saws: Saws) -> object:
    return setting.machine if saws.apart or setting.machine is GUIDE else "one"


def test_a_fence_that_cuts_to_come_need_is_not_moved_for_cuts_that_could_be_made_later() -> None:
    """Rips of 5 come again after a cut to length; the lone rip of 6 waits until then."""
    tasks = [rip(5, 1, 2, starts=True), rip(6), cross(7, 3), rip(5)]
    order = Scheduler(tasks, Saws()).order()
    assert moved(tasks, order, Saws()) == 3
    assert order == [0, 2, 3, 1]


@pytest.mark.parametrize("apart", [True, False])
def test_small_jobs_have_the_fewest_moves_there_are(apart: bool) -> None:
    saws = Saws(apart=apart)
    more = 0
    for seed in range(150):
        tasks = forest(seed, 12, 4)
        more += moved(tasks, Scheduler(tasks, saws).order(), saws) - fewest(tasks, saws)
    assert more == 0


@pytest.mark.parametrize("bench", [1, 2, 4, 40])
def test_every_cut_is_made_once_and_after_the_one_that_made_its_piece(bench: int) -> None:
    for seed in range(40):
        tasks = forest(seed, 50, 5)
        order = Scheduler(tasks, Saws(bench=bench)).order()
        assert sorted(order) == list(range(len(tasks)))
        place = {n: i for i, n in enumerate(order)}
        assert all(place[n] < place[after] for n, t in enumerate(tasks) for after in t.then)


def test_one_machine_is_used_up_before_a_person_goes_to_the_next() -> None:
    """Equal cuts to length of five pieces, some at the stop, some (too wide for it) along the fence."""
    tasks = [cross(7, on=on, starts=True) for on in (STOP, FENCE, STOP, FENCE, STOP)]
    order = Scheduler(tasks, Saws()).order()
    machines = [setting.machine for n in order if (setting := tasks[n].setting)]
    assert machines in ([STOP] * 3 + [FENCE] * 2, [FENCE] * 2 + [STOP] * 3)


def test_nobody_leaves_a_machine_while_it_has_cuts_at_the_setting_that_stands() -> None:
    for seed in range(40):
        tasks = forest(seed, 50, 5)
        ready = {n for n, t in enumerate(tasks) if t.starts}
        last: tuple[object, object] | None = None
        for n in Scheduler(tasks, Saws(bench=1000)).order():
            here = tasks[n].setting, tasks[n].way
            if tasks[n].setting is not None:
                assert last in (None, here) or all((tasks[m].setting, tasks[m].way) != last for m in ready)
                last = here
            ready.remove(n)
            ready.update(tasks[n].then)


def test_cuts_to_one_size_follow_each_other_whatever_machine_they_are_made_on() -> None:
    ways = ((7, STOP), (9, GUIDE), (7, FENCE), (9, STOP), (7, GUIDE))
    tasks = [cross(figure, on=on, starts=True) for figure, on in ways]
    order = Scheduler(tasks, Saws()).order()
    assert [ways[n][0] for n in order] in ([7, 7, 7, 9, 9], [9, 9, 7, 7, 7])


def test_of_orders_with_as_few_moves_the_one_that_sets_the_fence_least_is_taken() -> None:
    """The length along the fence comes first, then both pieces are ripped; else the fence goes to and fro."""
    tasks = [rip(5, 1, starts=True), cross(7), cross(7, 3, on=FENCE, starts=True), rip(5, 4), cross(7)]
    assert Scheduler(tasks, Saws()).order() == [2, 0, 3, 1, 4]
