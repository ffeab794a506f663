"""At the pages: a list changed, a twin taken, a part spoiled, what changed printed, tables, counts."""

from __future__ import annotations

import csv
import io
import re

import pytest

from stockyard.desk import cutting, jobs, paperwork, pulling, racks, shop
from stockyard.desk.door import Yardkeeper
from stockyard.desk.job_change import Wishes, change_job
from stockyard.desk.racks import ToShelve, shelve
from stockyard.page.house import House
from tests.page.conftest import Browser
from tests.page.test_whole_job import planned, stored, watched

pytestmark = pytest.mark.usefixtures("plans_here")


def fields(page: str) -> dict[str, str]:
    """Return what the form that changes a list holds, as a browser sends it."""
    form = page[page.index('/change"') :]
    form = form[: form.index("</form>")]
    found = re.findall(r'name="((?:part|was_|name|count|size|note|job)[a-z]*\d*)"[^>]*?value="([^"]*)"', form)
    return dict(found)


def test_a_stored_list_is_changed_and_its_plan_mended(
    bench: Browser, house: House, keeper: Yardkeeper, job: int
) -> None:
    with keeper.open() as y:
        shop.set_settings(y, {"plan_seconds": "1"})
        before = {c.tag for c in paperwork.cards(y, str(job))}
    given = fields(bench.get(f"/jobs/{job}"))
    assert given["count0"] == given["was_count0"] == "2" and given["size0"] == "720 x 400"
    bench.post(
        f"/jobs/{job}/change",
        **(given | {"count0": "3", "name1": "boards", "add": "1 lid 300 x 200 birch ply 18"}),
    )
    watched(house, job)
    bench.post(f"/jobs/{job}/plan/take", which="0")
    with keeper.open() as y:
        parts = {p.name: p.count for p in jobs.show_job(y, str(job)).parts}
        assert parts == {"sides": 3, "boards": 3, "lid": 1}
        cards = paperwork.cards(y, str(job))
        assert before & {c.tag for c in cards}, "what still holds stays"
        assert not shop.check(y)[0].differences


def test_a_form_left_open_takes_back_nothing(bench: Browser, keeper: Yardkeeper, job: int) -> None:
    given = fields(bench.get(f"/jobs/{job}"))
    with keeper.open() as y:
        change_job(y, str(job), Wishes(notes={"sides": "show face out"}))
    bench.post(f"/jobs/{job}/change", **(given | {"note1": "round the edge"}))
    with keeper.open() as y:
        notes = [p.note for p in jobs.show_job(y, str(job)).parts]
    assert notes == ["show face out", "round the edge"]


def test_the_twin_that_was_taken_is_one_touch(bench: Browser, house: House, keeper: Yardkeeper) -> None:
    big = stored(bench, "big", "birch ply 18 mm\n1 board 2000 x 1100")
    planned(bench, house, big)
    bench.post(f"/jobs/{big}/plan/take", which="0")
    with keeper.open() as y:
        (named,) = pulling.uncut(y, str(big))
        twins = pulling.twins(y, str(big))[named]
    assert len(twins) == 2 and named not in [t.tag for t in twins]
    assert all(f'value="{t.tag}"' in bench.page for t in twins) and "Took its twin" in bench.page
    bench.post(f"/jobs/{big}/tick", tag=twins[1].tag)
    with keeper.open() as y:
        assert pulling.uncut(y, str(big)) == (twins[1].tag,)
        assert not shop.check(y)[0].differences


def test_a_part_is_spoiled_after_its_piece_was_cut(
    bench: Browser, house: House, keeper: Yardkeeper, job: int
) -> None:
    with keeper.open() as y:
        shop.set_settings(y, {"plan_seconds": "1"})
        pulling.pull(y, (), str(job))
        cutting.cut_job(y, str(job))
        (first, *_) = cutting.cut_before(y, str(job))
    part = next(p for p in first.parts if p.startswith("shelves"))
    assert f'value="{part}"' in bench.get(f"/jobs/{job}/saw/parts")
    bench.post(f"/jobs/{job}/saw/parts", tag=first.piece.tag, part=part, left="300 x 250")
    watched(house, job)
    assert "Take this plan" in bench.get(f"/jobs/{job}/plan")
    with keeper.open() as y:
        assert jobs.show_job(y, str(job)).line.cut == 4
        assert any((p.length, p.width) == (300 * 3200, 250 * 3200) for p in pulling.bench(y))
        assert not shop.check(y)[0].differences
    bench.post(f"/jobs/{job}/saw/parts", 400, tag=first.piece.tag)
    assert "which part" in bench.page


def test_what_changed_since_it_was_printed_is_one_touch(
    bench: Browser, house: House, keeper: Yardkeeper, job: int
) -> None:
    page = bench.get(f"/jobs/{job}/plan")
    assert "The cards are printed" in page and "What changed since" not in page
    bench.post(f"/jobs/{job}/printed")
    assert "The cards are printed" not in bench.get(f"/jobs/{job}/plan")
    with keeper.open() as y:
        tag = pulling.uncut(y, str(job))[0]
    bench.post(f"/jobs/{job}/lost", tag=tag, why="missing")
    watched(house, job)
    bench.post(f"/jobs/{job}/plan/take", which="0")
    assert "What changed since" in bench.get(f"/jobs/{job}/plan")
    assert bench.client.get(f"/jobs/{job}/papers.pdf?changed=yes").content.startswith(b"%PDF")


@pytest.mark.usefixtures("job")
def test_tables_for_a_spreadsheet(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        shelve(y, ToShelve(material="birch ply", place="R2", offcut="600 x 300", note="=HYPERLINK(1)"))
    bench.get("/books")
    for name, rows in (("stock", 6), ("jobs", 1), ("parts", 2), ("months", 1)):
        assert f"/tables/{name}.csv" in bench.page
        got = bench.client.get(f"/tables/{name}.csv")
        assert got.headers["content-type"].startswith("text/csv") and got.content.startswith(b"\xef\xbb\xbf")
        table = list(csv.reader(io.StringIO(got.content.decode("utf-8-sig"))))
        assert len(table) == rows + 1 and len({len(row) for row in table}) == 1
        assert not [cell for row in table for cell in row if cell[:1] in ("=", "+", "@")]
    bench.get("/tables/deeds.csv", 400)


def test_a_place_not_counted_for_long_is_due(bench: Browser, keeper: Yardkeeper) -> None:
    assert "To count" not in bench.get("/")
    with keeper.open() as y:
        assert racks.at_place(y, "R1")
    bench.post("/racks/count/start", place="R1")
    page = bench.get("/")
    assert "To count" in page and "the count of it goes on" in page and "Go on" in page


def test_what_to_clear_out_is_listed_with_its_reason(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        shelve(y, ToShelve(material="birch ply", place="SLOTS", offcut="90 x 60"))
    page = bench.get("/books/tidy")
    assert "90 × 60" in page and "Look at it" in page and "since today" in page


def test_less_than_nothing_left_uncut_is_explained(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        shelve(y, ToShelve(material="birch ply", place="R2", offcut="600 x 300"))
    assert "Left uncut is below nothing" in bench.get("/books")


def test_what_a_cut_left_is_put_away_piece_by_piece_where_one_stands(
    bench: Browser, keeper: Yardkeeper, job: int
) -> None:
    with keeper.open() as y:
        pulling.pull(y, (), str(job))
        tag = pulling.uncut(y, str(job))[0]
        one, other = cutting.cut(y, tag, parts=[], offcuts=["250 x 250", "260 x 260"]).offcuts
    left = f"/jobs/{job}/saw/left?t={one.tag}&t={other.tag}"
    assert left.replace("&", "&amp;") in bench.get(left)
    page = bench.post(f"/piece/{one.tag}/put", place="SLOTS", back=left)
    assert "What is left" in page and f'value="/jobs/{job}/saw"' in page
