"""Many stations at once against one yard: nothing twice, nothing lost; and a server killed at any moment."""

from __future__ import annotations

import random
import re
import signal
import socket
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx2 as httpx
import pytest

from stockyard.desk import history, pulling, racks, shop
from stockyard.desk.door import Yard, Yardkeeper
from stockyard.desk.racks import ToShelve, shelve
from stockyard.errors import BadInput
from tests.page.conftest import browser
from tests.page.server import served

STATIONS = 8
PLACES = ("R1", "R2", "SLOTS")


class Worker:
    """A station that does whatever it can: moves, shelves, writes off, undoes, looks."""

    def __init__(self, at: str, number: int, actions: int) -> None:
        self.at, self.by, self.actions = at, random.Random(number), actions
        self.client = httpx.Client(base_url=at, timeout=60, follow_redirects=False)
        self.statuses: Counter[int] = Counter()
        self.shelved: set[str] = set()
        self.name = f"station {number}"

    def begin(self) -> None:
        found = re.search(r'name="token" value="([^"]+)"', self.client.get("/station").text)
        assert found
        self.token = found[1]
        self.client.post("/station", data={"token": self.token, "name": self.name})

    def work(self, tags: list[str]) -> None:
        with self.client:
            self.begin()
            for _ in range(self.actions):
                self._one(tags)

    def _one(self, tags: list[str]) -> None:
        kind, tag = self.by.random(), self.by.choice(tags)
        if kind < 0.3:
            done = self.post(f"/piece/{tag}/put", place=self.by.choice(PLACES))
        elif kind < 0.5:
            done = self.post(
                "/racks/shelve", material="birch ply", kind="offcut", size="400 x 300", count="1",
                place=self.by.choice(PLACES),
            )  # fmt: skip
            if done.status_code == 303:
                found = re.search(r"/piece/(\w+)", done.headers["location"])
                assert found
                self.shelved.add(found[1])
        elif kind < 0.55:
            done = self.post(f"/piece/{tag}/gone", why="damaged")
        elif kind < 0.65:
            done = self.post(f"/piece/{tag}/measure", size="350 x 250")
        elif kind < 0.7:
            found = re.findall(r'name="deed" value="(\d+)"', self.client.get("/ledger").text)
            done = self.post("/undo", deed=self.by.choice(found[:5]) if found else "1")
        else:
            done = self.client.get(self.by.choice(("/", "/racks", f"/piece/{tag}", "/racks/place?code=R1")))
        self.statuses[done.status_code] += 1

    def post(self, path: str, **fields: str) -> httpx.Response:
        return self.client.post(path, data={"token": self.token} | fields)


def _at_once(at: str, keeper: Yardkeeper, actions: int) -> list[Worker]:
    with keeper.open() as y:
        for _ in range(4):
            shelve(y, ToShelve(material="birch ply", place="R2", offcut="400 x 300", count=5))
        tags = [p.tag for place in PLACES for p in racks.at_place(y, place)]
    workers = [Worker(at, n, actions) for n in range(STATIONS)]
    with ThreadPoolExecutor(STATIONS) as pool:
        list(pool.map(lambda w: w.work(tags), workers))
    return workers


def _true(keeper: Yardkeeper, workers: list[Worker]) -> None:
    for worker in workers:
        assert set(worker.statuses) <= {200, 303, 400, 409}, worker.statuses
    with keeper.open() as y:
        assert not shop.check(y)[0].differences, "the ledger adds up to the yard"
        told = Counter(d.station for d in history.deeds(y, limit=100_000))
        for worker in workers:
            assert worker.statuses[303] <= told[worker.name] <= worker.statuses[303] + 1
            for tag in worker.shelved:
                _is_known(y, tag)


def _is_known(y: Yard, tag: str) -> None:
    """What was confirmed is there, unless another station undid it since, which the yard knows too."""
    try:
        assert racks.lines_of(y, [tag])
    except BadInput as error:
        assert "undone" in str(error)


def test_stations_at_once(keeper: Yardkeeper) -> None:
    with served(keeper.path) as (at, _):
        _true(keeper, _at_once(at, keeper, 12))


@pytest.mark.slow
def test_eight_stations_with_two_hundred_actions_each(keeper: Yardkeeper) -> None:
    with served(keeper.path) as (at, _):
        workers = _at_once(at, keeper, 200)
    _true(keeper, workers)
    assert sum(sum(w.statuses.values()) for w in workers) == STATIONS * 200


def test_the_second_of_two_is_told(keeper: Yardkeeper, job: int) -> None:
    from tests.page.conftest import house_of

    house = house_of(keeper.path)
    one, other = browser(house), browser(house)
    with keeper.open() as y:
        tag = pulling.walk(y, str(job)).stops[0].entries[0].tag
    for at in (one, other):
        at.get(f"/jobs/{job}/pull")
    one.post(f"/jobs/{job}/tick", tag=tag)
    assert "ticked before" in other.post(f"/jobs/{job}/tick", 409, tag=tag)
    one.post(f"/jobs/{job}/saw/spoiled", tag=tag)
    assert tag in other.post(f"/jobs/{job}/saw/spoiled", 409, tag=tag)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _killed(keeper: Yardkeeper, times: int) -> None:
    """Kill the server again and again under load; a station goes on with its cookie and token."""
    by, port = random.Random(7), _free_port()
    with keeper.open() as y:
        tags = [p.tag for p in racks.at_place(y, "SLOTS")]
    worker = Worker(f"http://127.0.0.1:{port}", 1, 0)
    confirmed: list[str] = []
    for n in range(times):
        with served(keeper.path, port=port) as (_, process), ThreadPoolExecutor(1) as pool:
            if not n:
                worker.begin()
            # Killed after so many bytes of work, not after a time: load changes nothing.
            left = by.randrange(1, 6)

            def load(left: int = left) -> None:
                for _ in range(left):
                    worker._one(tags)

            pool.submit(load).result()
            late = pool.submit(worker.post, "/racks/shelve", material="birch ply", kind="offcut",
                               size="400 x 300", count="1", place="R2")  # fmt: skip
            process.send_signal(signal.SIGKILL)
            try:
                if (done := late.result()).status_code == 303:
                    confirmed.append(done.headers["location"])
            except httpx.TransportError:
                pass  # not confirmed: it may be there or not
        with keeper.open() as y:
            assert not shop.check(y)[0].differences
            for to in confirmed:
                tag = re.search(r"/piece/(\w+)", to)
                assert tag
                _is_known(y, tag[1])
    worker.client.close()
    assert set(worker.statuses) <= {200, 303, 400, 409}


def test_a_killed_server_leaves_the_yard_true(keeper: Yardkeeper) -> None:
    _killed(keeper, 2)


@pytest.mark.slow
def test_a_server_killed_two_hundred_times(keeper: Yardkeeper) -> None:
    _killed(keeper, 200)


def test_it_says_where_it_listens_and_whom_it_lets_in(keeper: Yardkeeper, tmp_path: Path) -> None:
    with served(keeper.path) as (at, _):
        assert at.startswith("http://127.0.0.1:")
    with served(keeper.path, "--network") as (at, process):
        assert process.stdout is not None
        said = ""
        while "code" not in said:
            said += process.stdout.readline()
        code = re.search(r"with the code (\w{4}) (\w{4})", said)
        assert code and ("█" in said or "▀" in said), "the code and the symbol"
        port = at.rpartition(":")[2]
        with httpx.Client(base_url=f"http://127.0.0.1:{port}", follow_redirects=True) as client:
            page = client.get("/").text
            assert 'name="code"' in page
            token = re.search(r'name="token" value="([^"]+)"', page)
            assert token
            data = {"token": token[1], "code": f"{code[1]}{code[2]}", "name": "tablet"}
            assert "Jobs" in client.post("/pair", data=data).text
    missing = tmp_path / "none.db"
    with pytest.raises(AssertionError, match="there is no yard"), served(missing):
        pass
    assert not list(tmp_path.glob("none.db*")), "nothing is made beside a yard that is not there"
