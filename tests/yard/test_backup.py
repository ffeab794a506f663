"""Backups: whole, checked, rotated, and put back."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import BadInput, Refused
from stockyard.settings import change
from stockyard.yard import backup, pieces
from stockyard.yard.check import check
from tests.yard.shop import Shop, full, whole


def test_a_backup_while_a_deed_is_open_elsewhere_is_the_yard_before_it(shop: Shop) -> None:
    before = whole(shop.yard)
    with closing(sqlite3.connect(shop.yard.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("INSERT INTO deed (at, what, says) VALUES ('2026-05-01T00:00:00Z', 'x', 'x')")
        made = backup.make(shop.yard)
        other.execute("ROLLBACK")
    with yard.open(made) as copy:
        assert whole(copy) == before
        assert check(copy) == ()


def test_the_oldest_are_rotated_out(shop: Shop) -> None:
    yard.change_settings(shop.yard, change(shop.yard.settings, {"backups": "3"}))
    made = [backup.make(shop.yard) for _ in range(5)]
    assert set(backup.backups(shop.yard.path)) == set(made[-3:])


def test_a_named_backup_overwrites_nothing_and_is_never_rotated(shop: Shop, tmp_path: Path) -> None:
    target = tmp_path / "usb stick" / "küche.db"
    backup.make(shop.yard, target)
    with pytest.raises(Refused, match="exists already"):
        backup.make(shop.yard, target)


def test_restoring_puts_the_old_yard_aside(shop: Shop) -> None:
    kept = backup.make(shop.yard)
    before = whole(shop.yard)
    pieces.shelve(shop.yard, [full(shop.ply)])
    after = whole(shop.yard)
    shop.yard.connection.close()
    aside = backup.restore(kept, shop.yard.path)
    assert aside is not None
    with yard.open(shop.yard.path) as back:
        assert whole(back) == before
    with yard.open(aside) as old:
        assert whole(old) == after
    shop.yard.connection = sqlite3.connect(shop.yard.path, isolation_level=None)
    shop.yard.connection.row_factory = sqlite3.Row


def test_a_yard_in_use_is_not_replaced(shop: Shop) -> None:
    kept = backup.make(shop.yard)
    shop.yard.connection.execute("BEGIN")
    shop.yard.connection.execute("SELECT * FROM piece").fetchone()
    with pytest.raises(Refused, match="in use"):
        backup.restore(kept, shop.yard.path)
    shop.yard.connection.execute("ROLLBACK")


@pytest.mark.parametrize("content", [b"", b"not a database at all", b"SQLite format 3\x00" + bytes(500)])
def test_what_is_no_yard_is_not_restored(shop: Shop, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "bad.db").write_bytes(content)
    before = whole(shop.yard)
    with pytest.raises((BadInput, Refused)):
        backup.restore(tmp_path / "bad.db", shop.yard.path)
    assert whole(shop.yard) == before


def test_a_damaged_yard_can_be_restored(shop: Shop, tmp_path: Path) -> None:
    kept = backup.make(shop.yard)
    broken = tmp_path / "broken.db"
    broken.write_bytes(b"rubbish" * 1000)
    assert backup.restore(kept, broken) is not None
    with yard.open(broken) as back:
        assert whole(back) == whole(shop.yard)


def test_a_backup_does_not_take_the_place_of_a_folder(shop: Shop, tmp_path: Path) -> None:
    kept, folder = backup.make(shop.yard), tmp_path / "folder"
    folder.mkdir()
    with pytest.raises(Refused, match="is a folder"):
        backup.restore(kept, folder)
    assert list(folder.iterdir()) == []
