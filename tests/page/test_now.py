"""Now, the ledger, undoing, and what a fault looks like."""

from __future__ import annotations

from pathlib import Path

import pytest

from stockyard.desk import history, jobs, labels
from stockyard.desk.door import Yardkeeper
from stockyard.desk.racks import ToShelve, move, shelve
from stockyard.page.house import House
from tests.page.conftest import Browser, browser


def test_now_says_what_wants_doing(bench: Browser, keeper: Yardkeeper) -> None:
    page = bench.get("/")
    assert "No job is open" in page and "5 pieces without a printed label" in page
    with keeper.open() as y:
        assert all(tag in page for tag in labels.unprinted(y))


def test_a_deed_is_undone_by_its_station(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        shelve(y, ToShelve(material="birch ply", place="R2", offcut="500 x 500"))
        last = history.deeds(y, limit=1)[0]
    bench.post("/station", name="tablet")
    bench.post("/undo", deed=last.id)
    with keeper.open() as y:
        newest = history.deeds(y, limit=1)[0]
        assert newest.undoes == last.id and newest.station == "tablet"
    assert f"Undid {last.id}: shelved" in bench.page and "Do it again" in bench.page
    bench.post("/undo", 409, deed=last.id)
    assert "hurdle" in bench.page


def test_the_ledger_offers_what_can_be_undone(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        (piece,) = shelve(y, ToShelve(material="birch ply", place="R2", offcut="500 x 500")).pieces
        arrived = history.deeds(y, limit=1)[0].id
        move(y, [piece.tag], "SLOTS")
        moved = history.deeds(y, limit=1)[0].id
    page = bench.get("/ledger")
    assert f'name="deed" value="{moved}"' in page and f'name="deed" value="{arrived}"' not in page
    bench.post("/undo", deed=moved, back="/racks/place?code=R2")
    assert "<h1>R2</h1>" in bench.page and f"Undid {moved}: moved" in bench.page


@pytest.mark.parametrize(
    "back", ["//elsewhere.example", "/\\elsewhere", "https://a.b/", "/piece/ZZZZZ", "/jobs/77"]
)
def test_an_undo_leads_back_to_a_page_of_ours_only(bench: Browser, keeper: Yardkeeper, back: str) -> None:
    with keeper.open() as y:
        shelve(y, ToShelve(material="birch ply", place="R2", offcut="500 x 500"))
        last = history.deeds(y, limit=1)[0].id
    bench.post("/undo", deed=last, back=back)
    assert "<h1>Ledger</h1>" in bench.page


def test_a_form_sent_twice_is_done_once(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        shelve(y, ToShelve(material="birch ply", place="R2", offcut="500 x 500"))
        last = history.deeds(y, limit=1)[0].id
    bench.get("/ledger")
    bench.post("/undo", deed=last, once="same")
    bench.post("/undo", deed=last, once="same")
    with keeper.open() as y:
        assert history.deeds(y, limit=1)[0].id == last + 1


@pytest.mark.parametrize("deed", ["", "x", "-1", "99999999", "1e3", "９"])
def test_rubbish_is_refused_in_a_sentence(bench: Browser, deed: str) -> None:
    page = bench.client.post("/undo", data={"token": bench.token, "deed": deed})
    assert page.status_code in (400, 409)
    assert 'class="hurdle"' in page.text and "Traceback" not in page.text


def test_a_yard_that_is_gone_is_said_so(house: House) -> None:
    at = browser(house)
    at.get("/")
    house.yard.rename(house.yard.with_name("elsewhere.db"))
    assert "there is no yard" in at.get("/", 400).lower()


def test_a_fault_of_the_program_shows_no_insides(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ValueError("secret of the program")

    monkeypatch.setattr(jobs, "list_jobs", broken)
    page = browser(house, raising=False).get("/", 500)
    assert "secret" not in page and "A fault of the program" in page


def test_nothing_comes_from_elsewhere() -> None:
    """No address of another place stands in what browsers are sent."""
    folder = Path(__file__).parents[2] / "stockyard" / "page"
    files = [*folder.glob("templates/*.html"), *folder.glob("static/*")]
    assert files
    for file in files:
        text = file.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "//" not in text.replace("// ", ""), file
        assert "style=" not in text and "onclick" not in text, file
    assert len((folder / "static" / "page.js").read_text(encoding="utf-8").splitlines()) <= 250
