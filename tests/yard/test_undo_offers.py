"""What is offered to be undone is what undoing does not refuse, tried deed by deed."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from stockyard.desk import counting, cutting, history, job_list, jobs, labels, pulling, racks
from stockyard.desk.door import Yardkeeper
from stockyard.desk.places import PlaceFacts, add_place
from stockyard.desk.racks import ToShelve, shelve
from stockyard.errors import Refused
from tests.page.conftest import keeper, pattern, planned_pattern

__all__ = ["keeper", "pattern", "planned_pattern"]


def busy(keeper: Yardkeeper, job: str) -> None:
    """Do a little of everything, some of it resting on what came before, some undone, some done again."""
    with keeper.open() as y:
        add_place(y, "R9", PlaceFacts(stores="flat"))
        tag = shelve(y, ToShelve(material="birch ply", place="R9", offcut="500 x 400")).pieces[0].tag
        racks.move(y, [tag], "R2")
        labels.note_printed(y, [tag])
        labels.note_printed(y, [tag, racks.at_place(y, "R1")[0].tag])
        other = shelve(y, ToShelve(material="birch ply", place="R2", offcut="300 x 200")).pieces[0].tag
        racks.measure(y, other, "290 x 190")
        moved = racks.move(y, [other], "R9") and history.deeds(y, limit=1)[0].id
        history.undo(y, moved)
        number = counting.start(y, "R1")
        counting.see(y, number, [racks.at_place(y, "R1")[0].tag])
        pulling.pull(y, (), job)
        cutting.cut(y, pulling.uncut(y, job)[0])
        left = [p.tag for p in pulling.bench(y) if p.state == "bench"]
        cutting.return_piece(y, left[0], "R2")
        back = history.deeds(y, limit=1)[0].id
        history.undo(y, history.undo(y, back).id)
        text = "birch ply 18 mm\n1 lid 300 x 200"
        jobs.add_job(y, "box", text, job_list.understand(y, text, job_list.Ways(first="along")).parts)


@pytest.fixture
def yard_with_deeds(keeper: Yardkeeper, planned_pattern: tuple[Path, int]) -> Yardkeeper:
    path, number = planned_pattern
    keeper.path.write_bytes(path.read_bytes())
    busy(keeper, str(number))
    return keeper


def test_offered_is_what_is_not_refused(yard_with_deeds: Yardkeeper, tmp_path: Path) -> None:
    with yard_with_deeds.open() as y:
        every = history.deeds(y, limit=1000)
        offered = history.undoable(y, every)
    with sqlite3.connect(yard_with_deeds.path) as file:
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    content = yard_with_deeds.path.read_bytes()
    done = set()
    for deed in every:
        trial = tmp_path / f"trial-{deed.id}.db"
        trial.write_bytes(content)
        with Yardkeeper(trial, "trial").open() as y:
            try:
                history.undo(y, deed.id)
            except Refused:
                continue
            done.add(deed.id)
        trial.unlink()
    # A deed that was undone and done again is undone by its last line, which stands above it.
    again = {d.id for d in every if d.undone_by is not None}
    assert offered == done - again
    assert 5 < len(offered) < len(every) - 5


def test_a_thing_pointed_at_before_an_undone_deed_is_not_offered(keeper: Yardkeeper) -> None:
    """A piece shelved at a new place, moved away and back by undo: the place can not be taken back."""
    with keeper.open() as y:
        add_place(y, "R9", PlaceFacts(stores="flat"))
        added = history.deeds(y, limit=1)[0].id
        tag = shelve(y, ToShelve(material="birch ply", place="R9", offcut="500 x 400")).pieces[0].tag
        racks.move(y, [tag], "R2")
        history.undo(y, history.deeds(y, limit=1)[0].id)
        assert added not in history.undoable(y, history.deeds(y, limit=10))
        with pytest.raises(Refused, match="cannot be undone while these stand"):
            history.undo(y, added)
