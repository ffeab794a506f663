"""A reader against four writers: each composite read is a state that stood between two deeds."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event

import pytest

from stockyard import yard as yards
from stockyard.desk import places, racks, stock
from stockyard.desk.door import Yardkeeper
from stockyard.desk.history import deeds as deeds_of
from stockyard.kinds import Kind
from stockyard.yard import Yard, pieces
from stockyard.yard.check import check
from tests.yard.shop import MM, make_shop

PLACES = ("R1-B2-S3", "R1-B1", "R2")


def pair_of(y: Yard) -> tuple[str, str]:
    """Shelve two small offcuts, which their writer then always moves together, in one deed."""
    (material, *_) = stock.list_materials(y)
    arrival = pieces.Arrival(
        material_id=material.number, kind=Kind.OFFCUT, length=300 * MM, width=200 * MM, place="R2",
        count=2,
    )  # fmt: skip
    one, two = pieces.shelve(y, [arrival])
    return one.tag, two.tag


def write(keeper: Yardkeeper, pair: tuple[str, str], done: Event) -> int:
    """Move a pair from place to place until the reader has seen enough; return the deeds done."""
    deeds = 0
    while not done.is_set():
        with keeper.open() as y:
            racks.move(y, pair, PLACES[deeds % len(PLACES)])
        deeds += 1
    return deeds


def read(keeper: Yardkeeper, pairs: list[tuple[str, str]], times: int) -> int:
    """Look at all places one after the other; count the looks at which something was torn."""
    torn = 0
    for _ in range(times):
        with keeper.open() as y, y.reading():
            lying = {code: racks.at_place(y, code) for code in PLACES}
            counted = {line.code: line.pieces for line in places.list_places(y)}
        at = {p.tag: code for code, held in lying.items() for p in held}
        together = all(one in at and at[one] == at.get(two) for one, two in pairs)
        torn += not together or any(counted[code] != len(lying[code]) for code in PLACES)
    return torn


def race(path: Path, times: int) -> tuple[int, int]:
    """Let four writers and a reader at one yard; return the torn looks and the deeds done meanwhile."""
    make_shop(path).yard.close()
    with yards.open(path) as y:
        pairs = [pair_of(y) for _ in range(4)]
    done = Event()
    with ThreadPoolExecutor(5) as pool:
        writers = [
            pool.submit(write, Yardkeeper(path, f"writer {n}"), pair, done) for n, pair in enumerate(pairs)
        ]
        try:
            torn = pool.submit(read, Yardkeeper(path, "reader"), pairs, times).result()
        finally:
            done.set()
        deeds = sum(w.result() for w in writers)
    with yards.open(path) as y:
        assert check(y) == ()
        assert {d.station for d in deeds_of(y, limit=100_000)} >= {f"writer {n}" for n in range(4)}
    return torn, deeds


@pytest.mark.parametrize("times", [pytest.param(100), pytest.param(2000, marks=pytest.mark.slow)])
def test_every_read_is_a_state_between_two_deeds(tmp_path: Path, times: int) -> None:
    torn, deeds = race(tmp_path / "yard.db", times)
    assert torn == 0
    assert deeds > times // 20, "the writers were at it"
