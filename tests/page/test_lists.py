"""Cut list: one doubt is asked once, all of it in one round; answers stay and can be changed."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from stockyard.desk import job_list, jobs, stock
from stockyard.desk.door import Yardkeeper
from stockyard.desk.list_rounds import for_lines
from stockyard.kinds import Form
from stockyard.page.house import House
from tests.page.conftest import Browser, browser, house_of, small_yard

INCHES = "2 sides 34 1/2 x 14 1/4 birch ply\n3 shelves 20 x 12 1/4 birch ply\n1 back 34 x 22 1/2 birch ply"


@pytest.fixture
def inch_bench(tmp_path: Path) -> Browser:
    """A browser at a shop that works in inches."""
    from stockyard.desk import shop

    path = tmp_path / "inches.db"
    with small_yard(path).open() as y:
        for thick in ("1/4", "1/2", "3/4"):
            stock.add_material(y, "birch ply", thick, Form.SHEET, stock.MaterialFacts())
        shop.set_settings(y, {"unit": "in"})
    return browser(house_of(path))


def fields(page: str) -> dict[str, str]:
    """Return what the form sends as it stands: hidden fields, what is checked, selected or typed."""
    form = page[page.index('action="/lists/read"') : page.index("</main>")]
    sent = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form))
    sent |= dict(re.findall(r'<input type="radio" name="([^"]+)" value="([^"]*)" checked', form))
    sent |= dict(re.findall(r'<input id="t-[^"]*" name="([^"]+)" value="([^"]+)"', form))
    for name, options in re.findall(r'<select[^>]* name="([^"]+)">(.*?)</select>', form):
        if chosen := re.search(r'value="([^"]*)" selected', options):
            sent[name] = chosen[1]
    sent["text"] = re.findall(r"<textarea[^>]*>(.*?)</textarea>", form, re.DOTALL)[0]
    return {k: html.unescape(v) for k, v in sent.items() if k not in ("token", "once")}


def asked(page: str) -> list[str]:
    """Return the questions open on a page."""
    page = page.partition('id="answered"')[0]
    return [html.unescape(q) for q in re.findall(r"<legend>(.*?)</legend>", page, re.DOTALL)]


def test_one_doubt_on_several_lines_is_one_question(inch_bench: Browser) -> None:
    page = inch_bench.post("/lists/read", text=INCHES)
    thickness = [q for q in asked(page) if "thickness" in q]
    assert len(thickness) == 1 and "Lines 1, 2, 3, the same of each" in thickness[0]
    assert any("along the grain" in q for q in asked(page)), "the grain is asked in the same round"
    (group,) = re.findall(r'name="(g:[^"]+)"', page)[:1]
    page = inch_bench.post("/lists/read", **(fields(page) | {group: "1", "o:line3": "2", "a:first": "along"}))
    assert not [q for q in asked(page) if "thickness" in q or "along the grain" in q]
    assert "→ <strong>3 × shelves</strong>, 20 × 12 1/4" in page
    assert "→ <strong>1 × back</strong>, 34 × 22, 1/2" in page, "but for the line answered otherwise"


def test_the_second_round_asks_only_what_hangs_on_the_first(inch_bench: Browser) -> None:
    page = inch_bench.post("/lists/read", text=INCHES)
    (group,) = re.findall(r'name="(g:[^"]+)"', page)[:1]
    page = inch_bench.post("/lists/read", **(fields(page) | {group: "1", "a:first": "along"}))
    assert len(asked(page)) == 1 and "may be any of" in asked(page)[0]
    page = inch_bench.post(
        "/lists/store", **(fields(page) | {"a:material1": "birch ply 3/4", "name": "case"})
    )
    assert "Plan: case" in page


def test_some_lines_are_answered_otherwise_and_the_rest_later(inch_bench: Browser) -> None:
    text = "2 sides 34 x 14\n3 shelves 20 x 12\n1 back 34 x 22"
    page = inch_bench.post("/lists/read", text=text)
    sent = fields(page) | {"a:first": "along", "l:material1:3": "birch ply 1/4"}
    page = inch_bench.post("/lists/read", **sent)
    (left,) = asked(page)
    assert left.startswith("Lines 1, 2: no material") and "1: " not in left
    page = inch_bench.post("/lists/read", **(fields(page) | {"a:material1": "birch ply 3/4"}))
    assert not asked(page)
    assert "34 × 22, 1/4, birch ply 1/4" in page and "34 × 14, 3/4, birch ply 3/4" in page
    # what was answered is there to be changed, and stays when it is sent again as it stands
    assert "2 answers given" in page
    again = inch_bench.post("/lists/read", **fields(page))
    assert "34 × 22, 1/4, birch ply 1/4" in again and "34 × 14, 3/4, birch ply 3/4" in again
    other = inch_bench.post("/lists/read", **(fields(page) | {"l:material1:3": "birch ply 1/2"}))
    assert "34 × 22, 1/2, birch ply 1/2" in other and "34 × 14, 3/4, birch ply 3/4" in other


def test_an_answer_stays_while_one_types_on(bench: Browser) -> None:
    """What is swapped while one types holds all answers, so that none is lost with the next letter."""
    page = bench.post("/lists/read", text="2 sides 720 x 400")
    page = bench.post("/lists/read", **(fields(page) | {"a:first": "across"}))
    swapped = page[page.index('id="understood"') : page.index("</section></div></form>")]
    assert 'name="a:first" value="across" checked' in swapped
    before = page[page.index('action="/lists/read"') : page.index('id="understood"')]
    assert 'name="a:' not in before


@pytest.mark.parametrize(
    ("base", "each", "before", "answer"),
    [
        ("x", {}, "", "x"),
        ("", {2: "y"}, "", "2: y"),
        ("x", {2: "y"}, "", "1: x; 2: y"),
        ("x", {}, "7: z", "1: x; 2: x; 7: z"),
        ("", {}, "7: z", "7: z"),
        ("x", {}, "2; 1", "x"),
    ],
)
def test_an_answer_for_lines(base: str, each: dict[int, str], before: str, answer: str) -> None:
    assert for_lines(base, (1, 2), each, before) == answer


@pytest.mark.parametrize("way", ["store", "keep"])
def test_a_missing_name_is_said_at_its_field(bench: Browser, keeper: Yardkeeper, way: str) -> None:
    page = bench.post(f"/lists/{way}", text="2 sides 720 x 400 birch ply 18", first="along")
    field = page[page.index('<input id="name"') :]
    assert "aria-invalid" in field[:200] and "autofocus" in field[:200]
    assert "Give the job a name first." in field[:500] and "720 x 400" in page
    with keeper.open() as y:
        assert not jobs.list_jobs(y)


def test_a_name_that_is_taken_is_said_at_its_field(bench: Browser, keeper: Yardkeeper) -> None:
    text = "2 sides 720 x 400 birch ply 18"
    with keeper.open() as y:
        parts = job_list.understand(y, text, job_list.Ways(first="along")).parts
        jobs.add_job(y, "box", text, parts)
    page = bench.post("/lists/store", text=text, first="along", name="Box")
    assert 'id="name-says"' in page and "give this one another name" in page


def test_examples_are_in_the_shops_unit(inch_bench: Browser, house: House) -> None:
    for path in ("/lists", "/racks", "/racks/shelve", "/books/materials"):
        told = re.findall(r'placeholder="([^"]*)"', inch_bench.get(path))
        assert told and not any(re.search(r"\d{3}|mm|kg", t.replace("800 lb", "")) for t in told), path
        assert any(
            re.search(r"\d{3} x \d{3}", t)
            for t in re.findall(r'placeholder="([^"]*)"', browser(house).get("/lists"))
        )
