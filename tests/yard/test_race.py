"""Many at the same yard: nothing is promised twice, nobody waits for ever, nobody sees a raw lock."""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import Refused
from stockyard.settings import Settings
from stockyard.yard import jobs, pieces, plans
from stockyard.yard.check import check
from stockyard.yard.model import JobPart
from tests.yard.shop import cut_off, layout, make_shop, store
from tests.yard.worker import in_child, work

PIECES = 30
PROMISES = """SELECT thing_key AS tag, now ->> 'plan_id' AS plan FROM entry
WHERE thing = 'piece' AND was IS NOT NULL AND json_type(now, '$.plan_id') IS NOT NULL ORDER BY id"""


def promise_rounds(path: Path, me: int, rounds: int) -> None:
    """Plan on three of the pieces again and again: where they are taken, plan again; then let them go."""
    r = random.Random(me)
    with yard.open(path) as y:
        job = jobs.add_job(y, f"job of {me}.", "x", [JobPart(name="side", count=1, length=1, width=1)])
        for _ in range(rounds):
            plan = None
            while plan is None:
                free = r.sample(stock := pieces.free_for(y, job.id), min(3, len(stock)))
                try:
                    wanted = [layout(n, p) for n, p in enumerate(free, 1)]
                    plan = store(y, job.id, wanted)
                except plans.PiecesTaken as taken:
                    assert set(taken.tags) <= {p.tag for p in free}
            held = [pieces.by_tag(y, x.tag or "") for x in plan.layouts]
            assert all(p.plan_id == plan.id for p in held)
            plans.release_plan(y, plan.id)


def at_once(runs: list[Callable[[], object]]) -> None:
    """Run all in processes of their own; each must end well."""
    children = [in_child(run) for run in runs]
    for child in children:
        child.join()
    assert [child.exitcode for child in children] == [0] * len(runs)


def race(path: Path, processes: int, rounds: int) -> None:
    """Let processes promise from the same pieces; look at the whole ledger afterwards."""
    shop = make_shop(path)
    pieces.shelve(shop.yard, [cut_off(shop.ply, 900, 600 + n) for n in range(PIECES - 5)])
    shop.yard.close()
    at_once([partial(promise_rounds, path, me, rounds) for me in range(processes)])
    with yard.open(path) as y:
        assert check(y) == ()
        assert y.one("SELECT count(*) FROM plan") == processes * rounds
        holder: dict[str, int] = {}
        for row in y.rows(PROMISES):
            if row["plan"] is None:
                del holder[row["tag"]]
            else:
                assert row["tag"] not in holder, "promised twice"
                holder[row["tag"]] = row["plan"]
        assert not holder


def test_four_promise_from_the_same_pieces(tmp_path: Path) -> None:
    race(tmp_path / "yard.db", 4, 8)


@pytest.mark.slow
def test_eight_promise_two_hundred_times(tmp_path: Path) -> None:
    race(tmp_path / "yard.db", 8, 200)


def test_many_do_all_kinds_of_work_at_once(tmp_path: Path) -> None:
    path = tmp_path / "yard.db"
    make_shop(path).yard.close()
    at_once([partial(work, path, n, 25) for n in range(3)])
    with yard.open(path) as y:
        assert check(y) == ()


def boot(path: Path) -> None:
    """Make a yard, or find that it is there."""
    try:
        yard.new(path, Settings()).close()
    except Refused as error:
        assert "exists already" in str(error)


def test_four_first_boots_at_once_make_one_yard(tmp_path: Path) -> None:
    path = tmp_path / "yard.db"
    at_once([partial(boot, path)] * 4)
    with yard.open(path) as y:
        assert check(y) == ()
    assert {p.name for p in tmp_path.iterdir()} == {"yard.db"}
