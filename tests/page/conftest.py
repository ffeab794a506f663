"""A yard of three sheets and some offcuts behind the pages, and browsers without a screen to ask them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from stockyard.desk import job_list, jobs, planning
from stockyard.desk.door import Settings, Yardkeeper, make_yard
from stockyard.desk.places import PlaceFacts, add_place
from stockyard.desk.racks import ToShelve, shelve
from stockyard.desk.stock import MaterialFacts, add_material, add_price
from stockyard.kinds import Form
from stockyard.page.app import build
from stockyard.page.house import House, own_names
from stockyard.page.keys import keys_of
from stockyard.page.pairing import Pairing
from tests.quick_plans import plan_here

LIST = "birch ply 18 mm\n2 sides 720 x 400\n3 shelves 600 x 300"
HERE = "http://localhost:8020"


BLOCK_IN_PARAGRAPH = re.compile(
    r"<p\b[^>]*>(?:(?!</p>).)*?<(?:form|div|ul|ol|dl|table|section|details|figure|h\d)\b", re.DOTALL
)


@dataclass
class Browser:
    """One station: it keeps its cookie and sends the token of the page it last saw."""

    client: TestClient
    page: str = ""
    told: list[str] = field(default_factory=list)

    def get(self, path: str, status: int = 200) -> str:
        got = self.client.get(path)
        assert got.status_code == status, (path, got.status_code, got.text[-2000:])
        return self._seen(got.text)

    def _seen(self, page: str) -> str:
        """Keep a page; a browser would end a paragraph where a form or a list begins in it."""
        assert not (broken := BLOCK_IN_PARAGRAPH.search(page)), broken[0][-200:]
        self.page = page
        return page

    @property
    def token(self) -> str:
        if 'name="token"' not in self.page:
            self.get("/station")
        found = re.search(r'name="token" value="([^"]+)"', self.page)
        assert found
        return found[1]

    def post(self, path: str, status: int = 200, *, files: object = None, **fields: object) -> str:
        """Send a form; a refusal is expected only where `status` says so."""
        data = {"token": self.token} | {k.rstrip("_"): v for k, v in fields.items()}
        got = self.client.post(path, data=data, files=files)  # type: ignore[arg-type]
        assert got.status_code == status, (path, got.status_code, got.text[-2000:])
        return self._seen(got.text)


def small_yard(path: Path) -> Yardkeeper:
    """Make a yard: birch ply 18 mm, three sheets, a price, two offcuts, three places."""
    make_yard(path, Settings())
    keeper = Yardkeeper(path, "maker")
    with keeper.open() as y:
        add_material(y, "birch ply", "18 mm", Form.SHEET, MaterialFacts(density=680))
        add_price(y, "birch ply", "2440 x 1220", "84.00", "panel yard")
        add_place(y, "R1", PlaceFacts(stores="flat", inside_size="2500 x 1300 x 400"))
        add_place(y, "SLOTS", PlaceFacts(stores="upright", inside_size="1500 x 300 x 1300"))
        add_place(y, "R2", PlaceFacts(stores="flat", inside_size="2500 x 1300 x 400"))
        shelve(y, ToShelve(material="birch ply", place="R1", count=3))
        shelve(y, ToShelve(material="birch ply", place="SLOTS", offcut="1180 x 610"))
        shelve(y, ToShelve(material="birch ply", place="SLOTS", offcut="800 x 400"))
    return keeper


def house_of(path: Path, *, network: bool = False) -> House:
    """Return a house over a yard, as the server makes it."""
    return House(yard=path, keys=keys_of(path), pairing=Pairing(), network=network, names=own_names())


@pytest.fixture(scope="session")
def pattern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("pattern") / "yard.db"
    small_yard(path)
    return path


@pytest.fixture(scope="session")
def planned_pattern(pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, int]:
    """A yard in which the job of `LIST` is planned: once for all tests."""
    path = tmp_path_factory.mktemp("planned") / "yard.db"
    path.write_bytes(pattern.read_bytes())
    with Yardkeeper(path, "maker").open() as y:
        found = job_list.understand(y, LIST, job_list.Ways(first="along"))
        made = jobs.add_job(y, "hall shelf", LIST, found.parts)
        with pytest.MonkeyPatch.context() as patch:
            plan_here(patch, work=1)
            planning.plan(y, "hall shelf", planning.How(work=1))
        return path, made.number


@pytest.fixture
def plans_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plan in this process and in a round or two: for tests that look at neither child nor clock."""
    plan_here(monkeypatch)


@pytest.fixture
def job(keeper: Yardkeeper, planned_pattern: tuple[Path, int]) -> int:
    """Give the yard a planned job; return its number."""
    path, number = planned_pattern
    keeper.path.write_bytes(path.read_bytes())
    return number


@pytest.fixture
def keeper(pattern: Path, tmp_path: Path) -> Yardkeeper:
    path = tmp_path / "yard.db"
    path.write_bytes(pattern.read_bytes())
    return Yardkeeper(path, "maker")


@pytest.fixture
def house(keeper: Yardkeeper) -> House:
    return house_of(keeper.path)


def browser(house: House, *, raising: bool = True) -> Browser:
    """Return a browser; `raising`: a fault of the program ends the test with its own words."""
    return Browser(TestClient(build(house), base_url=HERE, raise_server_exceptions=raising))


@pytest.fixture
def bench(house: House) -> Iterator[Browser]:
    """A browser at the computer itself."""
    made = browser(house)
    with made.client:
        yield made
