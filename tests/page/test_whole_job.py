"""The whole job at the pages, form by form, as a browser without scripts does it."""

from __future__ import annotations

import re

import pytest

from stockyard.desk import cutting, history, jobs, pulling, shop
from stockyard.desk.door import Yardkeeper
from stockyard.page.house import House
from tests.page.conftest import Browser

LIST = "birch ply 18 mm\n2 sides 720 x 400\n3 shelves 600 x 300"


def stored(bench: Browser, name: str = "hall shelf", text: str = LIST) -> int:
    page = bench.post("/lists/store", name=name, text=text, first="along")
    found = re.search(r"/jobs/(\d+)/plan", page)
    assert found, page
    return int(found[1])


def watched(house: House, job: int) -> None:
    """Wait for the plan that a form began."""
    run = house.runs.of(job)
    assert run is not None
    run.done.wait(120)
    assert run.state == "made", run.fault


def planned(bench: Browser, house: House, job: int, how: str = "one") -> None:
    bench.post(f"/jobs/{job}/plan/start", seconds="1", how=how)
    watched(house, job)
    bench.get(f"/jobs/{job}/plan")


def test_the_whole_job(bench: Browser, house: House, keeper: Yardkeeper) -> None:
    page = bench.post("/lists/read", name="hall shelf", text=LIST)
    assert "Understood: 5 parts" in page and "along the grain" in page and "Store it" not in page
    job = stored(bench)
    planned(bench, house, job)
    assert "Take this plan" in bench.page and "Nothing is promised" in bench.page
    drawing = bench.get(f"/jobs/{job}/plan/0/1.svg")
    assert drawing.startswith("<svg")
    bench.post(f"/jobs/{job}/plan/take", which="0")
    assert "Got it" in bench.page
    with keeper.open() as y:
        walk = pulling.walk(y, str(job))
        tags = [e.tag for stop in walk.stops for e in stop.entries]
    # one is missing: the plan is made again around it
    bench.post(f"/jobs/{job}/lost", tag=tags[0], why="missing")
    assert "no longer holds" in bench.page and "planned again around it" in bench.page
    watched(house, job)
    assert "See the new plan" in bench.get(f"/jobs/{job}") and "See the new plan" in bench.get("/")
    assert "Take this plan" in bench.get(f"/jobs/{job}/plan")
    bench.post(f"/jobs/{job}/plan/take", which="0")
    with keeper.open() as y:
        tags = [e.tag for stop in pulling.walk(y, str(job)).stops for e in stop.entries]
    for tag in tags:
        bench.post(f"/jobs/{job}/tick", tag=tag)
    assert "Everything is pulled" in bench.page
    bench.post(f"/jobs/{job}/tick", 409, tag=tags[0])
    assert "ticked before" in bench.page
    turned = 0
    while "Everything that is planned is cut" not in bench.get(f"/jobs/{job}/saw"):
        while after := re.search(r'rel="next" href="([^"]+)"', bench.page):
            if "/saw/cut" in bench.page:
                break
            bench.get(f"/jobs/{job}/saw{after[1].replace('&amp;', '&')}")
            turned += 1
        fields = dict(re.findall(r'name="((?:n|size|keep)\d+)"[^>]*value="([^"]*)"', bench.page))
        tag = re.search(r'name="tag" value="([^"]+)"', bench.page)
        assert tag and turned < 200
        bench.post(f"/jobs/{job}/saw/cut", tag=tag[1], **fields)
    with keeper.open() as y:
        assert jobs.show_job(y, str(job)).line.cut == 5
        assert not shop.check(y)[0].differences
        last = history.deeds(y, limit=1)[0]
        assert last.station == "this computer"
        left = [p.tag for p in pulling.bench(y)]
    for tag in left:
        bench.post(f"/piece/{tag}/put", place="SLOTS")
        assert f">{tag}<" in bench.page


def test_a_piece_that_went_wrong_gives_what_came_out_and_the_rest_is_planned_again(
    bench: Browser, house: House, keeper: Yardkeeper, job: int
) -> None:
    with keeper.open() as y:
        pulling.pull(y, (), str(job))
        tag = pulling.uncut(y, str(job))[0]
        wanted, _ = cutting.planned_for(y, tag)
    counts = {f"n{i}": "1" if i == 0 else "0" for i in range(len(wanted))}
    bench.post(f"/jobs/{job}/saw/cut", tag=tag, more="250 x 250", **counts)
    with keeper.open() as y:
        assert jobs.show_job(y, str(job)).line.cut == 1
        assert any((p.length, p.width) == (250 * 3200, 250 * 3200) for p in pulling.bench(y))
        assert not shop.check(y)[0].differences
    watched(house, job)
    bench.post(f"/jobs/{job}/plan/take", which="0")
    bench.get("/")
    bench.post("/away")
    with keeper.open() as y:
        assert not [p for p in pulling.bench(y) if p.state == "bench"]


def test_what_is_typed_is_never_lost(bench: Browser) -> None:
    typed = "2 sides 720 x <b>\nqwertz \u00fc\u4e2d"
    for path in ("/lists/read", "/lists/store"):
        page = bench.post(path, name="a <script>", text=typed)
        assert "720 x &lt;b&gt;" in page and "qwertz" in page and "<script>a" not in page


def test_a_list_is_laid_aside_and_taken_up(bench: Browser) -> None:
    bench.post("/lists/keep", name="later", text=LIST, unit="mm")
    assert "later" in bench.get("/lists")
    assert "2 sides 720 x 400" in bench.get("/lists?draft=later")


def test_answers_stay_and_wrong_ones_are_said(bench: Browser) -> None:
    page = bench.post("/lists/read", name="x", text="2 sides 720 x 400")
    ids = re.findall(r'name="a:([^"]+)"', page)
    assert ids
    page = bench.post("/lists/read", name="x", text="2 sides 720 x 400", **{f"a:{ids[0]}": "no such answer"})
    assert 'class="hurdle"' in page and "2 sides 720 x 400" in page


@pytest.mark.parametrize("way", ["side"])
def test_three_ways_side_by_side(bench: Browser, house: House, way: str) -> None:
    job = stored(bench)
    planned(bench, house, job, way)
    run = house.runs.of(job)
    assert run is not None and 1 <= len(run.ways) <= 3
    assert all(reason in bench.page.casefold() for w in run.ways for reason in w.reasons)


def test_a_plan_of_a_server_started_anew_is_asked_for_again(bench: Browser) -> None:
    job = stored(bench)
    bench.post(f"/jobs/{job}/plan/take", 400, which="0")
    assert "plan the job again" in bench.page.casefold()
