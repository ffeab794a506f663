"""The pages in a real browser: the whole job at three widths, without scripts, and by the keyboard alone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from stockyard.desk import history, jobs, pulling, racks, shop
from stockyard.desk.door import Yardkeeper
from stockyard.desk.racks import ToShelve, shelve
from tests.page.server import CHROMIUM, NO_CHROMIUM, REQUIRED, served

if CHROMIUM is None and not REQUIRED:
    pytest.skip(NO_CHROMIUM, allow_module_level=True)

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, expect, sync_playwright

LIST = "birch ply 18 mm\n2 sides 720 x 400\n3 shelves 600 x 300"
WIDTHS = (390, 1024, 1440)
expect.set_options(timeout=60_000)  # however busy the machine is


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield made
        made.close()


@pytest.fixture
def at(keeper: Yardkeeper) -> Iterator[str]:
    with served(keeper.path) as (address, _):
        yield address


class Station:
    """A page in the browser that watches what it asks for and what its scripts say."""

    def __init__(self, chromium: Browser, at: str, *, width: int = 1024, scripts: bool = True) -> None:
        self.context = chromium.new_context(
            viewport={"width": width, "height": 900}, java_script_enabled=scripts
        )
        self.page = self.context.new_page()
        self.page.set_default_timeout(60_000)
        self.at = at
        self.elsewhere: list[str] = []
        self.said: list[str] = []
        self.actions = 0
        self.page.on("request", self._asked)
        self.page.on("console", lambda m: self.said.append(m.text) if m.type == "error" else None)
        self.page.on("pageerror", lambda e: self.said.append(str(e)))

    def _asked(self, request: Any) -> None:
        if not request.url.startswith((self.at, "data:")):
            self.elsewhere.append(request.url)

    def open(self, path: str) -> Page:
        self.page.goto(self.at + path)
        return self.page

    def button(self, words: str) -> Locator:
        """Return the first button, or link that looks like one, of these words."""
        return self.page.locator(
            "main button, main a.button", has_text=re.compile(f"^\\s*{words}\\s*$")
        ).first

    def push(self, target: Locator) -> None:
        target.click()

    def write(self, target: Locator, text: str) -> None:
        target.fill(text)

    def pick(self, target: Locator) -> None:
        target.check()

    def press(self, words: str) -> None:
        """Press a button and wait for the page that it leads to."""
        self.actions += 1
        target = self.button(words)
        target.wait_for()
        self.page.evaluate("document.getElementById('main').dataset.old = 'yes'")
        self.push(target)
        expect(self.page.locator("#main:not([data-old])")).to_have_count(1, timeout=60_000)
        self.page.wait_for_load_state()

    def fill(self, label: str, text: str) -> None:
        self.actions += 1
        self.write(self.page.get_by_label(label).first, text)

    def choose(self, words: str) -> None:
        self.actions += 1
        self.pick(self.page.locator("#understood label", has_text=words).locator("input").first)

    def unfold(self, words: str) -> None:
        self.actions += 1
        self.push(self.page.locator("summary", has_text=words).first)

    def close(self) -> None:
        self.context.close()
        assert not self.elsewhere, "nothing is asked of anybody but the server"
        assert not self.said, "no script or policy complains"


class ByKeys(Station):
    """The same by the keyboard alone."""

    def _reach(self, target: Locator) -> None:
        target.wait_for()
        for _ in range(150):
            if target.evaluate("e => e === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"no key leads to {target}")

    def push(self, target: Locator) -> None:
        self._reach(target)
        self.page.keyboard.press("Enter")

    def write(self, target: Locator, text: str) -> None:
        self._reach(target)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.insert_text(text)
        self.page.keyboard.press("End")

    def pick(self, target: Locator) -> None:
        name = target.get_attribute("name") or ""
        self._reach(self.page.locator(f"input[name='{name}']").first)
        self.page.keyboard.press("Space")
        while not target.is_checked():
            self.page.keyboard.press("ArrowDown")


def plan(station: Station, begin: str = "Plan it") -> None:
    station.fill("Seconds at most", "1")
    station.press(begin)
    taken(station)


def taken(station: Station) -> None:
    """Wait for the plan in the making and take it."""
    expect(station.button("Take this plan")).to_be_visible(timeout=120_000)
    station.press("Take this plan")


def saw(station: Station) -> None:
    """Turn through the cuts and confirm every piece."""
    page = station.page
    for _ in range(60):
        if page.locator("text=Everything that is planned is cut").count():
            return
        for words in ("Yes, so it is cut", "(Go on sawing|How the job stands)", "Cut, next"):
            if station.button(words).count():
                station.press(words)
                break
    raise AssertionError("the cuts do not end")


def whole_job(station: Station, keeper: Yardkeeper) -> None:
    """Paste, answer, plan, pull, one piece missing, plan again, cut, label, put away, undo, count."""
    page = station.open("/lists")
    station.fill("Name of the job", "hall shelf")
    station.fill("The list, as it was scribbled", LIST)
    # What is understood while one types may have asked its question already.
    station.press("(Read it|These are the answers)")
    expect(page.locator("#understood")).to_contain_text("5 parts")
    station.choose("along the grain")
    station.press("These are the answers")
    station.press("Store it as a job")
    plan(station)
    assert page.locator("h1").inner_text() == "Pull: hall shelf", page.locator("main").inner_text()
    station.press("Not here")
    expect(page.locator("main")).to_contain_text("planned again around it")
    taken(station)
    while page.locator("button", has_text="Got it").count():
        station.press("Got it")
    station.press("To the saw")
    saw(station)
    with keeper.open() as y:
        assert jobs.list_jobs(y, finished=True)[0].cut == 5
        left = pulling.bench(y)
    assert left, "something is left over"
    away(station, left[0].tag)
    with keeper.open() as y:
        assert not shop.check(y)[0].differences
        assert any(d.undoes for d in history.deeds(y, limit=3))


def away(station: Station, tag: str) -> None:
    """Put a leftover away as really measured, print its label, undo that, count the place."""
    page = station.open(f"/piece/{tag}")
    assert page.request.get(f"{station.at}/labels.pdf?tags={tag}").body().startswith(b"%PDF")
    station.fill("Size as measured, along the grain first", "300 x 200")
    place = page.locator("form[action$='/put'] button").first.inner_text()
    station.press(place)
    expect(page.locator("main")).to_contain_text("300 × 200")
    station.open("/ledger")
    row = page.locator("main li", has_text=f"returned {tag}")
    station.push(row.locator("button").first)
    expect(page.locator("main li", has_text="undid").first).to_contain_text(tag, timeout=60_000)
    station.open(f"/racks/place?code={place}")
    station.press("Count this place")
    expect(page.locator("h1")).to_contain_text(f"Count {place}")
    station.fill("Scan each tag", "")


@pytest.mark.slow
@pytest.mark.parametrize("width", WIDTHS)
def test_the_whole_job(chromium: Browser, at: str, keeper: Yardkeeper, width: int) -> None:
    station = Station(chromium, at, width=width)
    whole_job(station, keeper)
    station.close()


@pytest.mark.slow
def test_the_whole_job_without_scripts(chromium: Browser, at: str, keeper: Yardkeeper) -> None:
    station = Station(chromium, at, scripts=False)
    whole_job(station, keeper)
    station.close()


@pytest.mark.slow
def test_the_whole_job_by_the_keyboard_alone(chromium: Browser, at: str, keeper: Yardkeeper) -> None:
    station = ByKeys(chromium, at)
    whole_job(station, keeper)
    station.close()


def test_another_stations_deed_appears_by_itself(chromium: Browser, at: str, keeper: Yardkeeper) -> None:
    station = Station(chromium, at)
    page = station.open("/")
    with keeper.open() as y:
        shelve(y, ToShelve(material="birch ply", place="R2", offcut="333 x 222"))
    expect(page.locator(".deeds")).to_contain_text("R2")
    station.close()


def test_what_is_being_typed_stays_while_the_yard_moves(
    chromium: Browser, at: str, keeper: Yardkeeper
) -> None:
    station = Station(chromium, at)
    page = station.open("/racks/shelve")
    page.get_by_label("Note").fill("half a sentence")
    with keeper.open() as y:
        shelve(y, ToShelve(material="birch ply", place="R2", offcut="333 x 222"))
    expect(page.locator("#line")).to_contain_text("changed meanwhile")
    assert page.get_by_label("Note").input_value() == "half a sentence"
    station.close()


def test_a_refusal_keeps_what_was_typed(chromium: Browser, at: str) -> None:
    station = Station(chromium, at)
    page = station.open("/racks/shelve")
    page.get_by_label("Material").fill("unobtainium")
    page.get_by_label("Size, along").fill("300 x 300")
    page.get_by_label("Note").fill("half a sentence")
    page.get_by_role("button", name="Put it there").click()
    expect(page.locator("#notice .hurdle")).to_contain_text("unobtainium")
    assert page.get_by_label("Note").input_value() == "half a sentence"
    station.said.clear()  # the browser's own word on the status 400
    station.close()


def test_a_list_is_understood_while_it_is_typed(chromium: Browser, at: str) -> None:
    station = Station(chromium, at)
    page = station.open("/lists")
    page.get_by_label("The list, as it was scribbled").press_sequentially("2 sides 720 x 400")
    expect(page.locator("#understood")).to_contain_text("2 × sides")
    station.close()


def test_an_answer_stays_while_one_types_on(chromium: Browser, at: str) -> None:
    station = Station(chromium, at)
    page = station.open("/lists")
    box = page.get_by_label("The list, as it was scribbled")
    box.press_sequentially("2 sides 720 x 400 birch ply 18")
    station.choose("it is across the grain")
    box.press("End")
    box.press_sequentially("\n1 top 500 x 300 birch ply 18")
    expect(page.locator("#understood")).to_contain_text("1 × top")
    expect(page.locator("#understood")).to_contain_text("1 answer given")
    expect(page.locator("#understood input[value=across]")).to_be_checked()
    expect(page.locator("#understood")).to_contain_text("400 × 720")
    station.close()


@pytest.mark.parametrize("width", WIDTHS)
def test_a_missing_name_is_said_at_its_field_and_seen(chromium: Browser, at: str, width: int) -> None:
    station = Station(chromium, at, width=width)
    page = station.open("/lists")
    lines = "\n".join(f"1 part{n} {700 - n} x 400 birch ply 18" for n in range(40))
    page.get_by_label("The list, as it was scribbled").fill(lines)
    station.unfold("Another answer for some of these lines")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing runs off to the side"
    station.choose("yes, the first figure is along the grain")
    station.button("These are the answers").click()
    station.button("Store it as a job").click()
    expect(page.locator("#name")).to_be_focused()
    expect(page.locator("#name-says")).to_be_in_viewport()
    expect(page.locator("#name-says")).to_have_text("Give the job a name first.")
    station.close()


@pytest.mark.usefixtures("planned")
@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_lies_over_the_cut_or_its_words(chromium: Browser, at: str, width: int) -> None:
    """What stands at a place of the screen, from top to bottom, is what belongs there."""
    station = Station(chromium, at, width=width)
    page = station.open("/jobs/1/saw")
    assert (
        page.evaluate(
            """() => [...document.querySelectorAll(".cut svg, .say p, .fence")].filter((e) => {
    const r = e.getBoundingClientRect();
    for (let y = r.top + 4; y < Math.min(r.bottom, innerHeight) - 4; y += 8) {
      const over = document.elementFromPoint(r.left + r.width / 2, y);
      if (over && !e.contains(over) && !over.contains(e)) return true;
    }
    return false;
  }).map((e) => e.className.baseVal || e.className || e.textContent)"""
        )
        == []
    )
    drawing = page.locator(".cut svg").bounding_box()
    assert drawing and drawing["y"] + drawing["height"] <= 900, "the cut is in sight as the page opens"
    station.close()


@pytest.mark.usefixtures("planned")
def test_a_piece_that_is_not_there_is_planned_around_while_one_watches(chromium: Browser, at: str) -> None:
    station = Station(chromium, at)
    page = station.open("/jobs/1/pull")
    station.press("Not here")
    expect(page.locator("main")).to_contain_text("planned again around it")
    expect(station.button("Take this plan")).to_be_visible(timeout=120_000)
    assert station.actions == 1, "nothing is touched for it"
    station.close()


def test_a_first_time_user_has_a_plan_in_under_ten_actions(
    chromium: Browser, at: str, keeper: Yardkeeper
) -> None:
    station = Station(chromium, at)
    station.open("/")
    station.press("New cut list")
    station.fill("Name of the job", "hall shelf")
    station.fill("The list, as it was scribbled", LIST)
    expect(station.page.locator("#understood")).to_contain_text("5 parts")
    station.choose("along the grain")
    station.press("These are the answers")
    station.press("Store it as a job")
    station.press("Plan it")
    expect(station.button("Take this plan")).to_be_visible(timeout=120_000)
    station.press("This is good enough") if station.button("This is good enough").count() else None
    station.press("Take this plan")
    with keeper.open() as y:
        assert jobs.list_jobs(y)[0].plan == "standing"
    assert station.actions < 10
    station.close()


PAGES = (
    "/", "/lists", "/plan", "/pull", "/saw", "/racks", "/racks/place?code=R1", "/racks/shelve",
    "/racks?q=300 x 200", "/piece/{tag}", "/books", "/books/prices", "/books/materials", "/books/settings",
    "/books/tidy", "/ledger", "/station", "/jobs/1", "/jobs/1/plan", "/jobs/1/pull", "/jobs/1/saw",
    "/jobs/1/saw/parts", "/racks/count?place=R1", "/nothing",
)  # fmt: skip
TARGETS = """[...document.querySelectorAll("main button, main a.button, nav a, main select, summary")]
.filter(e => e.offsetParent && e.type !== "radio" && e.type !== "checkbox")
.map(e => [e.textContent.trim() || e.name, e.getBoundingClientRect()])
.filter(([, r]) => r.height < 48 || r.width < 44).map(([t, r]) => `${t}: ${r.width} x ${r.height}`)"""


@pytest.mark.slow
@pytest.mark.parametrize("width", WIDTHS)
def test_every_page_is_for_everybody(chromium: Browser, planned: str, at: str, width: int) -> None:
    """axe-core finds nothing serious; targets are 48 px; nothing runs off to the side."""
    station = Station(chromium, at, width=width)
    found: dict[str, Any] = {}
    for path in PAGES:
        page = station.open(path.replace("{tag}", planned))
        results = Axe().run(page).response
        grave = [v["id"] + str([n["html"][:90] for n in v["nodes"][:3]]) for v in results["violations"]
                 if v["impact"] in ("serious", "critical")]  # fmt: skip
        if grave:
            found[f"{path} axe"] = grave
        if small := page.evaluate(TARGETS):
            found[f"{path} targets"] = small
        if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
            found[f"{path} runs off"] = width
    station.said.clear()  # /nothing is not there
    station.close()
    assert not found, "\n".join(f"{k}: {v}" for k, v in found.items())


@pytest.mark.slow
@pytest.mark.usefixtures("planned")
def test_the_fence_figure_is_read_from_two_metres(chromium: Browser, at: str) -> None:
    """Letters seen at 2 m want 12 mm (a 20 minutes' angle, ISO 9241-303, from memory): 45 CSS pixels."""
    for width in WIDTHS:
        station = Station(chromium, at, width=width)
        page = station.open("/jobs/1/saw")
        box = page.locator("svg.number text").bounding_box()
        assert box and box["height"] > 60, width
        station.close()


@pytest.mark.usefixtures("planned")
def test_the_space_bar_and_a_foot_pedal_turn_the_cuts(chromium: Browser, at: str) -> None:
    """As the page opens, with its large button in focus, and with nothing in focus."""
    station = Station(chromium, at)
    page = station.open("/jobs/1/saw")
    first = page.url
    page.keyboard.press("Space")
    expect(page).not_to_have_url(first)
    page.wait_for_load_state()  # its script listens
    second = page.url
    page.keyboard.press("PageDown")
    expect(page).not_to_have_url(second)
    station.close()


@pytest.fixture
def planned(keeper: Yardkeeper, job: int) -> str:  # noqa: ARG001
    """Lay a yard with a planned job down before the server starts (name it before `at`); return a tag."""
    with keeper.open() as y:
        return racks.at_place(y, "SLOTS")[0].tag
