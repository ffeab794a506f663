"""Who comes in: hosts, other origins, tokens, sizes, paths, codes, keys."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from stockyard.desk import history
from stockyard.desk.door import Yardkeeper
from stockyard.errors import Refused
from stockyard.page.app import doors
from stockyard.page.doors import Write
from stockyard.page.guard import FORM, HEADERS
from stockyard.page.house import House
from stockyard.page.keys import key_file, keys_of, new_station
from stockyard.page.pairing import FREE_TRIES, LONGEST_WAIT, WRONG_BEFORE_NEW, Pairing, TooSoon
from tests.page.conftest import HERE, Browser, browser, house_of

FORM_KIND = {"content-type": "application/x-www-form-urlencoded"}
WRITES = [door.path for door in doors() if isinstance(door, Write)]


def deeds(keeper: Yardkeeper) -> int:
    with keeper.open() as y:
        return history.deeds(y, limit=1)[0].id


@pytest.mark.parametrize(
    "host",
    ["evil.example", "localhost.evil.example", "127.0.0.1.evil.example", "localhost@evil.example",
     "evil.example:8020", "", "[::1", "192.168.7.7", "localhost/x", "localhost:port"],
)  # fmt: skip
def test_a_name_of_another_site_that_points_here_is_refused(bench: Browser, host: str) -> None:
    got = bench.client.get("/", headers={"host": host})
    assert got.status_code == 421
    assert "shop" in got.text and "set-cookie" not in got.headers


@pytest.mark.parametrize("host", ["localhost", "localhost:8020", "127.0.0.1:1", "[::1]:8020", "LOCALHOST."])
def test_this_computer_is_known_by_its_names(bench: Browser, host: str) -> None:
    assert bench.client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize("path", WRITES)
def test_no_form_is_taken_without_its_token(bench: Browser, keeper: Yardkeeper, path: str) -> None:
    bench.get("/")
    before = deeds(keeper)
    to = path.replace("{job:int}", "1").replace("{tag}", "AAAAA")
    for token in ({}, {"token": ""}, {"token": "x" * 27}):
        assert bench.client.post(to, data={**token, "name": "x", "deed": "1"}).status_code == 403
    assert deeds(keeper) == before


@pytest.mark.parametrize("path", WRITES)
def test_no_form_of_another_site_is_taken(bench: Browser, keeper: Yardkeeper, path: str) -> None:
    data = {"token": bench.token, "name": "x", "deed": "1"}
    before = deeds(keeper)
    to = path.replace("{job:int}", "1").replace("{tag}", "AAAAA")
    for headers in (
        {"origin": "http://evil.example"}, {"origin": "null"}, {"origin": "http://localhost:9999"},
        {"origin": f"{HERE}.evil.example"}, {"sec-fetch-site": "cross-site"}, {"sec-fetch-site": "same-site"},
    ):  # fmt: skip
        got = bench.client.post(to, data=data, headers=headers)
        assert got.status_code == 403, headers
    assert deeds(keeper) == before


def test_the_token_of_one_station_serves_no_other(house: House) -> None:
    one, other = browser(house), browser(house)
    other.get("/")
    assert other.client.post("/undo", data={"token": one.token, "deed": "1"}).status_code == 403


def test_every_answer_carries_the_headers(bench: Browser) -> None:
    for path in ("/", "/look/page.css", "/nothing", "/pair", "/ledger"):
        got = bench.client.get(path)
        for name, value in HEADERS.items():
            assert got.headers[name] == value, (path, name)
    policy = HEADERS["content-security-policy"]
    assert "unsafe" not in policy and "default-src 'none'" in policy and "frame-ancestors 'none'" in policy


def test_the_cookie_is_for_the_server_alone(bench: Browser) -> None:
    cookie = bench.client.get("/").headers["set-cookie"]
    assert "HttpOnly" in cookie and "SameSite=Lax" in cookie and "Path=/" in cookie
    again = bench.client.get("/")
    assert "set-cookie" not in again.headers, "a station stays itself"


@pytest.mark.parametrize(
    "path",
    ["/look/../../etc/passwd", "/look/%2e%2e/%2e%2e/yard.db", "/look/..%2f..%2fyard.db", "/look//etc/passwd",
     "/piece/..%2f..%2fetc%2fpasswd", "/look/page.css%00.html", "/..%5c..%5cyard.db", "/yard.db",
     "/look/yard.db", "/" + "a" * 5000],
)  # fmt: skip
def test_no_path_of_a_browser_is_opened(bench: Browser, path: str) -> None:
    got = bench.client.get(path)
    assert got.status_code in (400, 404), got.status_code
    assert b"SQLite" not in got.content and b"root:" not in got.content


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "TRACE", "OPTIONS", "CONNECT"])
def test_only_reading_and_forms(bench: Browser, method: str) -> None:
    assert bench.client.request(method, "/").status_code == 405


def test_a_form_too_large_is_refused(bench: Browser) -> None:
    got = bench.client.post("/undo", data={"token": bench.token, "deed": "1" * FORM})
    assert got.status_code == 413

    def drip() -> object:
        for _ in range(40):
            yield b"a=1&" * 1000

    got = bench.client.post("/undo", content=drip(), headers=FORM_KIND)  # type: ignore[arg-type]
    assert got.status_code == 413, "without a length told it is counted"


def test_a_forged_cookie_is_no_station(house: House, tmp_path: Path) -> None:
    shop = browser(house_of(house.yard, network=True))
    other = tmp_path / "other.db"
    for forged in (
        "x", "e30.e30.e30", keys_of(other).cookie(new_station("thief", paired=True)),
        house.keys.cookie(new_station("thief", paired=True))[:-2],
        house.keys.cookie(new_station("thief")),
    ):  # fmt: skip
        got = shop.client.get("/", headers={"cookie": f"station={forged}"}, follow_redirects=False)
        assert got.status_code == 303 and got.headers["location"] == "/pair", forged


def test_a_station_of_the_network_comes_in_by_its_code(keeper: Yardkeeper) -> None:
    house = house_of(keeper.path, network=True)
    shop = browser(house)
    assert "Code" in shop.get("/ledger")
    assert shop.client.post("/undo", data={"deed": "1"}).status_code == 403
    assert shop.client.get("/stream").status_code == 403
    shop.get("/pair")
    code = house.pairing.code
    shop.post("/pair", 400, code="WRONG", name="tablet")
    shop.post("/pair", code=f"{code[:4].lower()} {code[4:]}", name="tablet at the saw")
    assert "tablet at the saw" in shop.get("/")
    assert house.pairing.code != code, "a code is good once"
    second = browser(house)
    second.get("/pair")
    second.post("/pair", 400, code=code, name="thief")


def test_wrong_codes_are_slowed_and_then_the_code_is_another() -> None:
    now = [0.0]
    shown: list[str] = []
    pairing = Pairing(shown.append, clock=lambda: now[0])
    first = pairing.code
    for _ in range(FREE_TRIES):
        assert not pairing.take("AAAAAAAA")
    with pytest.raises(TooSoon):
        pairing.take(first)
    tries = FREE_TRIES
    while not shown:
        now[0] = pairing.until
        assert not pairing.take("AAAAAAAA")
        tries += 1
    assert tries == WRONG_BEFORE_NEW and pairing.code != first
    assert now[0] > 8 * LONGEST_WAIT, "twenty guesses take longer than any patience"
    with pytest.raises(TooSoon):
        pairing.take(pairing.code)
    now[0] = pairing.until
    assert pairing.take(pairing.code)


def test_a_guesser_is_told_to_wait(keeper: Yardkeeper) -> None:
    house = house_of(keeper.path, network=True)
    shop = browser(house)
    shop.get("/pair")
    for _ in range(FREE_TRIES):
        shop.post("/pair", 400, code="AAAAAAAA", name="x")
    assert "wait" in shop.post("/pair", 409, code=house.pairing.code, name="x")


def test_the_key_is_its_owners_and_whole(tmp_path: Path) -> None:
    yard = tmp_path / "yard.db"
    first = keys_of(yard)
    assert stat.S_IMODE(key_file(yard).stat().st_mode) == 0o600
    assert keys_of(yard) == first and keys_of(yard, forget=True) != first
    key_file(yard).write_bytes(b"short")
    with pytest.raises(Refused, match="not a key"):
        keys_of(yard)


def test_a_name_is_one_line_and_short(bench: Browser) -> None:
    for name in ("", "x" * 41, "a\u202eb", "a\x00b"):
        bench.post("/station", 400, name=name)
    bench.post("/station", name="  tablet   at the saw ")
    assert ">tablet at the saw<" in bench.page
