"""The way in: one keeper for many threads, and use cases that are one deed each."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

from stockyard.desk import cutting, racks
from stockyard.desk.door import Yardkeeper
from stockyard.desk.history import deeds, undo
from stockyard.yard import jobs, plans, pulling
from stockyard.yard.check import check
from stockyard.yard.model import State
from stockyard.yard.pieces import by_tags
from tests.yard.shop import make_shop, plan_for

THREADS, MOVES = 4, 5


def test_threads_share_a_keeper_and_each_knows_its_own_deeds(tmp_path: Path) -> None:
    """Each moves its own piece to and fro: what a yard says it did is what its own thread did with it."""
    shop = make_shop(tmp_path / "yard.db")
    tags = [p.tag for p in shop.sheets[:THREADS]]
    shop.yard.close()
    keeper, together = Yardkeeper(tmp_path / "yard.db", "tablet"), Barrier(THREADS)

    def work(tag: str) -> list[str]:
        said: list[str] = []
        for n in range(MOVES):
            together.wait()
            with keeper.open() as y:
                racks.move(y, [tag], ("R2", "R1-B1")[n % 2])
                said += [says for _, says in y.done]
        return said

    with ThreadPoolExecutor(THREADS) as team:
        said = list(team.map(work, tags))
    for tag, own in zip(tags, said, strict=True):
        assert len(own) == MOVES and all(tag in says for says in own)
    with keeper.open() as y:
        assert [d.station for d in deeds(y, limit=THREADS * MOVES)] == ["tablet"] * (THREADS * MOVES)
        assert check(y) == ()


def test_all_of_a_job_is_cut_in_one_deed(tmp_path: Path) -> None:
    shop = make_shop(tmp_path / "yard.db")
    y, tags = shop.yard, [p.tag for p in shop.sheets[:2]]
    plan = plan_for(shop, *shop.sheets[:2])
    pulling.pull(y, tags)
    before = deeds(y)[0].id
    done = cutting.cut_job(y, "kitchen")
    assert {one.piece.tag for one in done} == set(tags)
    last = deeds(y)[0]
    assert last.id == before + 1, "two pieces, one deed"
    assert {p.state for p in by_tags(y, tags)} == {State.CUT}
    undo(y, last.id)
    assert {p.state for p in by_tags(y, tags)} == {State.PULLED}
    assert plans.standing_plan(y, jobs.job(y, "kitchen").id) == plan
    assert check(y) == ()
    y.close()
