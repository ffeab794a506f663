"""The shop's own days: the published rules of some zones at moments either side of midnight."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.days import local, read_zone
from stockyard.errors import BadInput
from stockyard.settings import change
from stockyard.yard import flows, pieces
from tests.yard.shop import full, make_shop


@pytest.mark.parametrize(
    ("at", "zone", "shown"),
    [
        # Offsets from the IANA time zone database: Los Angeles UTC-8 in winter, Auckland UTC+13 in its
        # summer, Berlin UTC+1 until 2026-03-29 01:00 UTC and UTC+2 from then on, Kathmandu UTC+5:45.
        ("2026-02-01T01:30:00Z", "America/Los_Angeles", "2026-01-31T17:30:00"),
        ("2026-01-31T11:30:00Z", "Pacific/Auckland", "2026-02-01T00:30:00"),
        ("2026-03-29T00:59:59Z", "Europe/Berlin", "2026-03-29T01:59:59"),
        ("2026-03-29T01:00:00Z", "Europe/Berlin", "2026-03-29T03:00:00"),
        ("2026-01-01T00:00:00Z", "Asia/Kathmandu", "2026-01-01T05:45:00"),
        ("2026-03-01", "Asia/Kathmandu", "2026-03-01"),
        ("not a time", "Asia/Kathmandu", "not a time"),
    ],
)
def test_a_time_is_shown_as_the_clock_on_the_wall_had_it(at: str, zone: str, shown: str) -> None:
    assert local(at, zone) == shown


@pytest.mark.parametrize("name", ["", "Mars/Olympus", "../../etc/passwd", "/etc/localtime", "x" * 300])
def test_a_zone_that_there_is_not_is_refused(name: str) -> None:
    with pytest.raises(BadInput, match="time_zone"):
        read_zone(name)


def test_a_piece_shelved_in_the_evening_counts_for_that_day(tmp_path: Path) -> None:
    """Shelved on 31 January at 17:30 in Los Angeles: January's, though it is February in UTC."""
    shop = make_shop(tmp_path / "yard.db")
    yard.change_settings(shop.yard, change(shop.yard.settings, {"time_zone": "America/Los_Angeles"}))
    shop.yard.clock = lambda: "2026-02-01T01:30:00Z"
    (piece,) = pieces.shelve(shop.yard, [full(shop.ply)])
    days = {m.tag: m.at[:10] for m in flows.arrivals(shop.yard)}
    assert days[piece.tag] == "2026-01-31"
    shop.yard.close()


@pytest.mark.skipif(sys.platform == "win32", reason="TZ is for other systems")
def test_the_machines_zone_counts_unless_told_otherwise() -> None:
    program = "from stockyard.days import local, MACHINE; print(local('2026-02-01T01:30:00Z', MACHINE))"
    said = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True,
        env=os.environ | {"TZ": "America/Los_Angeles", "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    assert said.stdout == "2026-01-31T17:30:00\n"
