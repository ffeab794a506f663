"""An L left over at the router, kept whole: booked, labelled, planned round its hole, cut, measured."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from stockyard import yard as yards
from stockyard.desk import costs, cutting, pulling, racks, router
from stockyard.desk.label_data import edge_labels_of, pieces_to_label
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import plan_and_store
from stockyard.desk.stock_list import Sieve, stock_list, total_area
from stockyard.errors import BadInput, Refused
from stockyard.flaws import Flaw
from stockyard.kinds import Method
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.printing.routed_sheet import RoutedSheet
from stockyard.settings import Settings
from stockyard.yard import Yard, jobs, undo
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Grain, JobPart, Kind, State, Storage
from stockyard.yard.pieces import Arrival, by_tag, on_hand, shelve
from stockyard.yard.places import add_place
from stockyard.yard.planned import StoredLayout
from stockyard.yard.plans import standing_plan
from tests.desk.test_router import QUICK

SIDE, WIDE = 1000 * MM, 600 * MM


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A yard with one sheet of 1000 x 600 whose job takes a corner of 400 x 300 from it, pulled."""
    path = tmp_path_factory.mktemp("frames") / "yard.db"
    settings = Settings(bit=10 * MM, keep_short_side=100 * MM, keep_area=20_000 * MM * MM, edge_trim=0)
    with yards.new(path, settings) as y:
        ply = add_material(y, "ply", Form.SHEET, "18 mm", 18 * MM, grain=True, method=Method.ROUTER)
        add_place(y, "P1", Storage.FLAT)
        shelve(y, [Arrival(material_id=ply.id, kind=Kind.FULL, length=SIDE, width=WIDE, place="P1",
                           cost=60 * 10_000)])  # fmt: skip
        job = jobs.add_job(y, "seat", "", [part("seat", 400, 300)])
        plan_and_store(y, job, QUICK)
        pulling.pull(y, [str(layout(y, "seat").tag)])
        y.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


def part(name: str, length: int, width: int) -> JobPart:
    return JobPart(name=name, count=1, length=length * MM, width=width * MM, grain=Grain.ALONG)


def layout(y: Yard, job: str) -> StoredLayout:
    plan = standing_plan(y, jobs.job(y, job).id)
    assert plan is not None
    (found,) = plan.layouts
    return found


def hole_of(y: Yard) -> tuple[int, int]:
    """How large the hole is: the part with the bit round it where that is not beyond the edge."""
    x, w, dx, dy = layout(y, "seat").placed[0].box
    return (
        min(SIDE, x + dx + 10 * MM) - max(0, x - 10 * MM), min(WIDE, w + dy + 10 * MM) - max(0, w - 10 * MM),
    )  # fmt: skip


def test_an_l_is_booked_as_one_piece_with_its_hole(y: Yard) -> None:
    planned, before = layout(y, "seat"), [tuple(r) for r in y.rows("SELECT * FROM piece ORDER BY tag")]
    tag, (dx, dy) = str(planned.tag), hole_of(y)
    done = cutting.cut(y, tag, whole=True)
    (line,) = done.offcuts
    largest = max(planned.leftovers, key=lambda o: o.length * o.width)
    assert line.tag == largest.tag
    kept = by_tag(y, line.tag)
    assert (kept.length, kept.width, kept.hollow) == (SIDE, WIDE, dx * dy)
    assert [(f.dx, f.dy) for f in kept.flaws] == [(dx, dy)]
    (other,) = (left.tag for left in planned.leftovers if left.tag != kept.tag)
    with pytest.raises(BadInput, match=f"{other} was to come of {planned.tag}, which was cut otherwise"):
        by_tag(y, str(other))
    assert done.scrap == dx * dy - 400 * 300 * MM * MM  # what the bit took
    share = 60 * 10_000 * (SIDE * WIDE - dx * dy) // (SIDE * WIDE)
    assert kept.cost == share
    assert check_yard(y).differences == ()
    (label,) = edge_labels_of(y, pieces_to_label(y, [kept.tag]))
    assert "flaw" in label.flaws
    undo.undo(y)
    assert [tuple(r) for r in y.rows("SELECT * FROM piece ORDER BY tag")] == before
    assert check_yard(y).differences == ()


def test_the_operators_sheet_says_what_was_truly_kept(y: Yard) -> None:
    """Before the cut the planned rectangles, and that they may stay one; afterwards the L, or what else."""
    planned = layout(y, "seat")
    tag, (dx, dy) = str(planned.tag), hole_of(y)

    def sheet() -> RoutedSheet:
        (found,) = router.sheets_of_plan(y, jobs.job(y, "seat"))
        return found

    before = sheet()
    assert {r.tag for r in before.remains} == {o.tag for o in planned.leftovers}
    ((whole,), hole) = before.instead, (dx, dy)
    assert (whole.box, whole.holes[0][2:]) == ((0, 0, SIDE, WIDE), hole)
    (line,) = cutting.cut(y, tag, whole=True).offcuts
    after = sheet()
    (left,) = after.remains
    assert (left.tag, left.box, left.holes, left.place) == (line.tag, whole.box, whole.holes, "on the bench")
    assert left.kept and not after.instead
    cutting.return_piece(y, line.tag, "P1")
    assert sheet().remains[0].place == "at P1"
    undo.undo(y)
    undo.undo(y)
    assert sheet() == before
    cutting.cut(y, tag, offcuts=["550 x 590"])
    (other,) = sheet().remains
    assert (other.box[2:], other.drawn, other.holes) == ((550 * MM, 590 * MM), False, ())
    undo.undo(y)
    cutting.cut(y, tag, offcuts=[])
    assert sheet().remains == ()


def test_an_l_is_planned_round_its_hole_and_cut_up(y: Yard) -> None:
    (line,) = cutting.cut(y, str(layout(y, "seat").tag), whole=True).offcuts
    cutting.return_piece(y, line.tag, "P1")
    job = jobs.add_job(y, "rail", "", [replace(part("rail", 950, 200), count=1)])
    plan_and_store(y, job, QUICK)
    again = layout(y, "rail")
    assert again.tag == line.tag and len(again.placed) == 1
    pulling.pull(y, [line.tag])
    cutting.cut(y, line.tag)
    assert check_yard(y).differences == ()
    gave = y.row(
        "SELECT area, scrap + in_parts + in_offcuts AS given FROM cut_balance WHERE tag = ?", (line.tag,)
    )
    assert gave is not None and gave["area"] == gave["given"] < SIDE * WIDE
    months = costs.month_costs(y)
    assert all(m.scrapped.area >= 0 and m.used.area >= 0 for m in months)


def test_lists_and_views_count_what_is_there_of_an_l(y: Yard) -> None:
    """In m²: the stock list, each place, the yard's worth, what was cut; the sheet's 0.6 less its corner."""
    sheet, (dx, dy) = str(layout(y, "seat").tag), hole_of(y)
    (line,) = cutting.cut(y, sheet, whole=True).offcuts
    cutting.return_piece(y, line.tag, "P1")
    solid = round((SIDE * WIDE - dx * dy) / (1000 * MM) ** 2, 3)
    assert round(total_area(stock_list(y, Sieve())) / (1000 * MM) ** 2, 3) == solid < 0.6
    assert y.one("SELECT area_m2 FROM in_each_place WHERE place = 'P1'") == solid
    assert y.one("SELECT area_m2 FROM worth") == solid
    assert y.one("SELECT offcuts_m2 FROM what_was_cut WHERE tag = ?", (sheet,)) == pytest.approx(
        solid, abs=1e-3
    )
    job = jobs.add_job(y, "rail", "", [replace(part("rail", 950, 200), count=1)])
    plan_and_store(y, job, QUICK)
    pulling.pull(y, [line.tag])
    cutting.cut(y, line.tag)
    assert y.one("SELECT area_m2 FROM what_was_cut WHERE tag = ?", (line.tag,)) == pytest.approx(
        solid, abs=1e-3
    )


def test_an_l_measured_again_keeps_its_hole(y: Yard) -> None:
    (line,) = cutting.cut(y, str(layout(y, "seat").tag), whole=True).offcuts
    with pytest.raises(Refused, match="no whole rectangle"):
        racks.measure(y, line.tag, None, instead=True)
    kept = by_tag(y, line.tag)
    racks.measure(y, line.tag, "999 x 600")
    smaller = by_tag(y, line.tag)
    assert smaller.length == 999 * MM and 0 < smaller.hollow <= kept.hollow
    assert check_yard(y).differences == ()


def test_what_is_no_l_is_not_kept_whole(y: Yard) -> None:
    """A part over the whole width leaves a rectangle; a sheet without a plan leaves nothing known."""
    tag = str(layout(y, "seat").tag)
    cutting.cut(y, tag)
    (left, *_) = sorted((p for p in on_hand(y, states=(State.BENCH,))), key=lambda p: -p.area)
    with pytest.raises(Refused, match="is not routed"):
        cutting.cut(y, left.tag, whole=True)


def test_covered_counts_each_place_once() -> None:
    from stockyard.flaws import covered

    assert covered([Flaw(0, 0, 4, 4), Flaw(2, 2, 4, 4), Flaw(1, 1, 1, 1)]) == 28
    assert covered([]) == 0
