"""Two invented weeks in a small shop, typed as a person would: what goes wrong takes one command each."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockyard.yard.jobs import job, still_to_cut
from stockyard.yard.model import State
from stockyard.yard.opening import open_yard
from stockyard.yard.pieces import at_place, on_hand
from tests.cli.hall_shop import hall_shop, layouts, run
from tests.quick_plans import plan_here

BENCH = "name,count,length,width,material\nseat,2,1180,420,birch ply 18\nleg,4,430,400,birch ply 18\n"
CRATE = "name,count,length,width,material\nwall,4,600,400,birch ply 18\n"


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    plan_here(monkeypatch)
    hall_shop(tmp_path / "yard.db", sheets=8)
    return tmp_path / "yard.db"


def said(yard: Path, *words: str, text: str = "") -> str:
    """Type one command that must go well; return what it says."""
    code, out, err = run(yard, *words, text=text)
    assert code == 0, (words, out, err)
    return out


def on_bench(yard: Path) -> list[str]:
    with open_yard(yard) as y:
        return [p.tag for p in on_hand(y, states=(State.BENCH,))]


def test_the_week_in_which_the_hall_is_built(yard: Path, tmp_path: Path) -> None:
    """A sheet is missing on Tuesday, a side is cut wrong on Wednesday; on Friday all is put away."""
    said(yard, "plan", "hall")
    said(yard, "papers", "hall", "--out", str(tmp_path))
    missing, *others = (x.tag or "" for x in layouts(yard))
    assert "stand" in said(yard, "gone", missing)
    said(yard, "papers", "hall", "--changed", "--only", "cards", "--out", str(tmp_path / "again"))
    assert set(others) <= {x.tag for x in layouts(yard)}
    assert "all pulled" in said(yard, "pull", "--job", "hall")
    assert "At the saw already" in said(yard, "pull", *others)
    widest = max(layouts(yard), key=lambda x: sum(p.name == "side" for p in x.placed))
    out = said(yard, "spoiled", widest.tag or "", "side 1", "--left", "1190 x 280")
    assert "Still to be cut for hall: " in out and "Promised." in out
    with open_yard(yard) as y:
        lying = {p.tag for p in at_place(y, "RACK")}
    if lying & {x.tag for x in layouts(yard)}:
        said(yard, "pull", "--job", "hall")
    assert "All of hall is cut." in said(yard, "cut", "--job", "hall")
    with open_yard(yard) as y:
        assert not still_to_cut(y, job(y, "hall")) and job(y, "hall").state == "done"
    said(yard, "return", "--all")
    assert on_bench(yard) == []
    assert run(yard, "yard", "check")[0] == 0


def test_the_week_in_which_the_customer_changes_everything(yard: Path) -> None:
    """Quantities change, a list comes again, two jobs share sheets, one is cancelled after pulling."""
    said(yard, "paste", "--job", "bench", text=BENCH)
    said(yard, "plan", "hall", "bench")
    assert {x.tag for x in layouts(yard)} == {x.tag for x in layouts(yard, "bench")}
    assert "count 4 -> 6" in said(yard, "change", "hall", "--count", "side=6")
    assert "Changed job" in said(
        yard, "paste", "--job", "bench", "--yes", text=BENCH.replace("leg,4", "leg,5")
    )
    given = [p.name for x in layouts(yard) for p in x.placed]
    assert given.count("hall: side") == 6 and given.count("bench: leg") == 5
    with open_yard(yard) as y:
        before = sorted(p.tag for p in at_place(y, "RACK"))
    said(yard, "pull", "--job", "bench")
    assert "Put " in said(yard, "release", "hall", "--back")
    with open_yard(yard) as y:
        assert sorted(p.tag for p in at_place(y, "RACK")) == before
    said(yard, "paste", "--job", "crate", text=CRATE)
    said(yard, "plan", "crate")
    (card,) = layouts(yard, "crate")
    with open_yard(yard) as y:
        twin = next(p.tag for p in at_place(y, "RACK") if p.tag != card.tag and p.state is State.RACKED)
    assert f"{twin} takes the place of {card.tag}" in said(yard, "pull", twin)
    assert "All of crate is cut." in said(yard, "cut", "--job", "crate")
    said(yard, "move", "--all-at", "RACK", "--to", "SHORT")
    assert run(yard, "yard", "check")[0] == 0
