"""What real material can not be is said at the pages beside the list or the form, and nothing is stored."""

from __future__ import annotations

import pytest

from stockyard.desk import job_list, jobs, racks, stock
from stockyard.desk.door import Yard, Yardkeeper
from stockyard.yard.model import Form
from tests.page.conftest import Browser


def unlike(y: Yard) -> None:
    """Shelve a measured piece of ash; nobody measured the birch."""
    racks.shelve(y, racks.ToShelve(material="ash ply", place="R2", offcut="800 x 200", thickness="18.2"))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("18 mm birch ply\n1 strip 300 x 3, banded all round with 2 mm oak, finished sizes",
         "leave nothing of it"),
        ("oak 4/4\n1 slip 300 x 5", "the allowance of 6 mm is larger than its width of 5 mm"),
        ("oak 4/4\n1 leg 300 x 60 x 24", "leaves 21 mm of stock 26 mm thick"),
        ("Part,Qty,Length,Width,Material,Matched set\ntop,1,300,100,birch ply 18 mm,fronts across\n"
         "low,1,310,100,birch ply 18 mm,fronts across", "follow each other along only"),
        ("1 shelf 700 x 300 birch ply 18 mm, batch dado\n1 lip 700 x 100 ash ply 18 mm, batch dado",
         "batch dado: no pieces that measure within 0.2 mm of each other"),
    ],
)  # fmt: skip
def test_a_list_that_can_not_be_made_is_asked_about(
    bench: Browser, keeper: Yardkeeper, text: str, says: str
) -> None:
    with keeper.open() as y:
        stock.add_material(y, "oak", "4/4", Form.BOARD, stock.MaterialFacts(measured="26", rough="usual"))
        stock.add_material(y, "ash ply", "18 mm", Form.SHEET, stock.MaterialFacts())
        unlike(y)
        before = len(jobs.list_jobs(y))
    page = bench.post("/lists/store", name="x", text=text, first="along")
    assert says in page
    with keeper.open() as y:
        assert len(jobs.list_jobs(y)) == before


def test_lumber_is_priced_by_the_board_foot_and_sheets_are_not(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        stock.add_material(y, "oak", "4/4", Form.BOARD, stock.MaterialFacts(measured="1 in"))
        before = len(stock.list_prices(y))
    bench.post("/books/prices", material="oak", size="96 in x 6 in", price="9.50", per="board foot")
    assert "4 board feet at 9.50" in bench.get("/books/prices")
    bench.post(
        "/books/prices", 400, material="birch ply 18", size="96 in x 6 in", price="9", per="board foot"
    )
    with keeper.open() as y:
        assert len(stock.list_prices(y)) == before + 1
        sheet = racks.find(y, "birch").fits[0].piece.tag
    bench.post(f"/piece/{sheet}/measure", 400, size="100 x 100", flaw="90 x 90 at 50, 0")


def test_a_batch_that_no_piece_can_serve_is_said_when_a_plan_is_begun(
    bench: Browser, keeper: Yardkeeper
) -> None:
    """The list was stored before the pieces were measured: the page says it at once, not after a wait."""
    text = "1 shelf 700 x 300 birch ply 18 mm, batch dado\n1 lip 700 x 100 ash ply 18 mm, batch dado"
    with keeper.open() as y:
        stock.add_material(y, "ash ply", "18 mm", Form.SHEET, stock.MaterialFacts())
        found = job_list.understand(y, text, job_list.Ways(first="along"))
        assert not found.questions
        number = jobs.add_job(y, "shelf", text, found.parts).number
        unlike(y)
    page = bench.post(f"/jobs/{number}/plan/start", 400, seconds="5", how="one")
    assert "Batch dado: no pieces that measure within 0.2 mm" in page and "(shelf and others)" in page


def test_what_machines_take_is_typed_at_the_page(bench: Browser) -> None:
    facts = {"name": "oak", "thickness": "4/4", "measured": "26", "form": "board"}
    page = bench.post("/books/materials", 400, **facts, rough="planer 1 x 0, 14 a face")
    assert "leaves nothing of stock 26 mm thick" in page
    bench.post("/books/materials", **facts, rough="jointer, planer")
    page = bench.get("/books/materials")
    assert "6 x 3, 2.5 a face (jointer 0 x 3, 1 a face; planer 6 x 0, 1.5 a face)" in page
    bench.post("/books/materials/change", 400, title="oak 4/4", rough="planer, planer")
    bench.post("/books/materials/change", title="oak 4/4", rough="as is")
    assert "sawn larger by" not in bench.get("/books/materials")
