"""At the racks: what was lifted off goes back, twins change places, a lost piece is planned around."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from stockyard.desk import counting, history, job_list, jobs, planning, pulling, racks, shelve_advice, shop
from stockyard.desk.door import Yardkeeper
from stockyard.desk.places import PlaceFacts, add_place
from stockyard.desk.racks import ToShelve, shelve
from stockyard.desk.stock import MaterialFacts, add_material
from stockyard.kinds import Form
from stockyard.page.house import House
from tests.page.conftest import Browser
from tests.page.test_whole_job import watched

pytestmark = pytest.mark.usefixtures("plans_here")

WHOLE = "birch ply 18 mm\n{} board 2400 x 1200"


def job_of(keeper: Yardkeeper, name: str, text: str) -> int:
    """Store and plan a job at once."""
    with keeper.open() as y:
        found = job_list.understand(y, text, job_list.Ways(first="along"))
        made = jobs.add_job(y, name, text, found.parts)
        planning.plan(y, name, planning.How(work=1))
        return made.number


@pytest.fixture
def covered(keeper: Yardkeeper) -> tuple[str, ...]:
    """Lay two small offcuts on the sheets of R1; return their tags from the bottom up."""
    with keeper.open() as y:
        return tuple(
            shelve(y, ToShelve(material="birch ply", place="R1", offcut=size)).pieces[0].tag
            for size in ("320 x 210", "310 x 220")
        )


def test_what_was_lifted_off_is_said_until_it_lies_there_again(
    bench: Browser, keeper: Yardkeeper, covered: tuple[str, ...]
) -> None:
    job = job_of(keeper, "tables", WHOLE.format(2))
    order = f"Put back on top in this order: {', '.join(covered)}."
    page = bench.get(f"/jobs/{job}/pull")
    assert order in page and "It is back on top" not in page
    with keeper.open() as y:
        tags = pulling.uncut(y, str(job))
    bench.post(f"/jobs/{job}/tick", tag=tags[0])
    assert order in bench.page and "It is back on top" not in bench.page
    bench.post(f"/jobs/{job}/tick", tag=tags[1])
    assert "Everything is pulled" in bench.page and order in bench.page and "It is back on top" in bench.page
    bench.post(f"/jobs/{job}/back", place="R1")
    assert order not in bench.page and "It is back on top" not in bench.page
    with keeper.open() as y:
        assert [p.tag for p in racks.at_place(y, "R1")][:2] == list(reversed(covered))
        assert history.deeds(y, limit=1)[0].says == f"moved {', '.join(covered)} to R1"
        assert not shop.check(y)[0].differences
    bench.post(f"/jobs/{job}/back", 409, place="R1")
    assert "put back before" in bench.page


def test_what_lay_below_or_came_since_is_not_put_back(
    bench: Browser, keeper: Yardkeeper, covered: tuple[str, ...]
) -> None:
    job = job_of(keeper, "tables", WHOLE.format(1))
    with keeper.open() as y:
        pulling.pull(y, (), str(job))
        racks.move(y, [covered[0]], "R2")
        shelve(y, ToShelve(material="birch ply", place="R1", offcut="300 x 200"))
        (left,) = pulling.to_put_back(y, str(job)).values()
    assert left.tags == covered[1:] and left.ready
    assert f"Put {covered[1]} back on top." in bench.get(f"/jobs/{job}/pull")


def test_a_twin_promised_to_another_job_changes_places_at_one_touch(
    bench: Browser, keeper: Yardkeeper
) -> None:
    one, other = job_of(keeper, "tables", WHOLE.format(1)), job_of(keeper, "shelves", WHOLE.format(1))
    with keeper.open() as y:
        (mine,), (theirs,) = pulling.uncut(y, str(one)), pulling.uncut(y, str(other))
        twins = pulling.twins(y, str(one))[mine]
        assert [t.job for t in twins] == ["", "shelves"] and twins[1].tag == theirs
    page = bench.get(f"/jobs/{one}/pull")
    assert f"{theirs} at R1 (promised to shelves: they change places)" in page
    bench.post(f"/jobs/{one}/tick", tag=theirs)
    with keeper.open() as y:
        assert pulling.uncut(y, str(one)) == (theirs,) and pulling.uncut(y, str(other)) == (mine,)
        assert not shop.check(y)[0].differences


def test_a_flawed_sheet_is_no_twin(bench: Browser, keeper: Yardkeeper) -> None:
    job = job_of(keeper, "tables", WHOLE.format(1))
    with keeper.open() as y:
        (mine,) = pulling.uncut(y, str(job))
        spoilt, sound = (p.tag for p in racks.at_place(y, "R1") if p.tag != mine)
        racks.measure(y, spoilt, None, flaws=["80 x 120 at 300, 45"])
        (stop,) = pulling.walk(y, str(job)).stops
        assert [t.tag for t in pulling.twins(y, str(job))[mine]] == [sound]
    assert f"any of these will do: {mine}, {sound};" in stop.entries[0].tell_apart
    assert f'value="{spoilt}"' not in bench.get(f"/jobs/{job}/pull")
    assert f'href="/piece/{mine}#mflaw">Has a flaw' in bench.page
    assert 'id="mflaw"' in bench.get(f"/piece/{mine}")


def lost(bench: Browser, job: int, tag: str) -> None:
    bench.post(f"/jobs/{job}/lost", tag=tag, why="damaged")


def gone(bench: Browser, job: int, tag: str) -> None:  # noqa: ARG001
    bench.post(f"/piece/{tag}/gone", why="given away")


def smaller(bench: Browser, job: int, tag: str) -> None:  # noqa: ARG001
    bench.post(f"/piece/{tag}/measure", size="2440 x 700")


def of_one_piece(keeper: Yardkeeper) -> tuple[int, str]:
    """Plan a job that takes one piece; return its number and that piece."""
    with keeper.open() as y:
        shop.set_settings(y, {"plan_seconds": "1"})
    job = job_of(keeper, "tables", WHOLE.format(1))
    with keeper.open() as y:
        (tag,) = pulling.uncut(y, str(job))
    return job, tag


@pytest.mark.parametrize("upset", [lost, gone, smaller])
def test_a_plan_that_lost_a_piece_is_made_again_by_itself(
    bench: Browser, house: House, keeper: Yardkeeper, upset: Callable[[Browser, int, str], None]
) -> None:
    job, tag = of_one_piece(keeper)
    upset(bench, job, tag)
    assert "planned again around it" in bench.page and "Plan it<" not in bench.page
    watched(house, job)
    page = bench.get(f"/jobs/{job}/plan")
    assert "was planned again around it: look at it and take it" in page
    bench.post(f"/jobs/{job}/plan/take", which="0")
    with keeper.open() as y:
        assert jobs.show_job(y, str(job)).line.plan == "standing" and tag not in pulling.uncut(y, str(job))


def test_a_plan_that_holds_again_is_not_asked_to_be_replaced(
    bench: Browser, house: House, keeper: Yardkeeper
) -> None:
    job, tag = of_one_piece(keeper)
    lost(bench, job, tag)
    watched(house, job)
    with keeper.open() as y:
        history.undo(y, history.deeds(y, limit=1)[0].id)
    page = bench.get(f"/jobs/{job}/plan")
    assert "This plan stands" in page and "Take this plan" not in page


def test_a_count_that_finds_a_promised_piece_gone_has_its_job_planned_again(
    bench: Browser, house: House, keeper: Yardkeeper
) -> None:
    job = job_of(keeper, "tables", WHOLE.format(1))
    with keeper.open() as y:
        shop.set_settings(y, {"plan_seconds": "1"})
        (tag,) = pulling.uncut(y, str(job))
        number = counting.start(y, "R1")
        counting.see(y, number, [p.tag for p in racks.at_place(y, "R1") if p.tag != tag])
    bench.post("/racks/count/finish", n=number, why="not found")
    assert "planned again around it" in bench.page
    watched(house, job)


def test_a_count_is_given_up(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        number = counting.start(y, "R1")
        tag = racks.at_place(y, "R1")[0].tag
        counting.see(y, number, [tag])
        before = [p.tag for p in racks.at_place(y, "R1")]
    assert "Give up this count" in bench.get("/racks/count?place=R1")
    bench.post("/racks/count/end", n=number, place="R1")
    with keeper.open() as y:
        assert not [d for d in counting.due(y) if d.is_open] and counting.look(y, "R1").number is None
        assert [p.tag for p in racks.at_place(y, "R1")] == before
        deed = history.deeds(y, limit=1)[0]
        assert deed.says == "gave up counting R1"
        history.undo(y, deed.id)
        assert [p.tag for p in counting.look(y, "R1").seen] == [tag]
        assert not shop.check(y)[0].differences
        counting.finish(y, number, "not found")
    bench.post("/racks/count/end", 409, n=number, place="R1")


def test_where_something_new_goes_best_is_told_before_it_lies_there(
    bench: Browser, keeper: Yardkeeper
) -> None:
    typed = {"material": "birch ply", "kind": "offcut", "size": "900 x 500", "count": "1", "note": "pale"}
    page = bench.post("/racks/shelve/where", **typed)
    best = page[page.index('name="advised" value="') :].split('"')[3]
    assert 'value="900 x 500"' in page and 'value="pale"' in page
    with keeper.open() as y:
        assert len(racks.find(y, "900 x 500").fits) == 4, "nothing is stored yet"
    bench.post("/racks/shelve", **typed, advised=best, place="R1")
    with keeper.open() as y:
        (piece,) = [p for p in racks.at_place(y, best) if p.note == "pale"]
        ranked = shelve_advice.place_for(y, piece.tag)
    assert ranked[0].code == best
    bench.post("/racks/shelve/where", 400, **(typed | {"size": "900 x"}))


def test_a_place_that_does_not_suit_a_piece_is_said(bench: Browser) -> None:
    bench.post(
        "/racks/shelve", material="birch ply", kind="offcut", size="2400 x 1200", count="1", place="SLOTS"
    )
    assert "SLOTS does not suit it: " in bench.page


def test_a_board_is_a_board_with_its_length_on_every_page(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        add_material(y, "oak", "4/4", Form.BOARD, MaterialFacts())
        add_place(y, "WALL", PlaceFacts(stores="brackets"))
        (board,) = shelve(y, ToShelve(material="oak", size="2400 x 150", place="WALL")).pieces
        sheet = racks.at_place(y, "R1")[0]
    black = f'class="tag full" href="/piece/{sheet.tag}"'
    for path in ("/racks/place?code=R1", "/racks/place?code=WALL"):
        page = bench.get(path)
        assert ("FULL" in page) is (black in page) is (path[-2:] == "R1")
    assert "FULL" in bench.get(f"/piece/{sheet.tag}") and "FULL" not in bench.get(f"/piece/{board.tag}")
    found = bench.get(f"/racks/labels?t={sheet.tag}&t={board.tag}")
    assert black in found and f'class="tag" href="/piece/{board.tag}"' in found
