"""Backups: whole, checked, rotated, and put back."""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import BadInput, Refused
from stockyard.settings import change
from stockyard.yard import backup, exchange, files, opening, pieces
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


def test_a_named_backup_overwrites_nothing(shop: Shop, tmp_path: Path) -> None:
    target = tmp_path / "usb stick" / "küche.db"
    backup.make(shop.yard, target)
    with pytest.raises(Refused, match="exists already"):
        backup.make(shop.yard, target)


def test_rotation_removes_only_what_it_made(shop: Shop) -> None:
    yard.change_settings(shop.yard, change(shop.yard.settings, {"backups": "2"}))
    where = backup.folder(shop.yard.path)
    by_hand = backup.make(shop.yard, where / "yard-20200101T000000Z.db")
    foreign = where / "yard-before the move.db"
    foreign.write_text("not ours")
    made = [backup.make(shop.yard) for _ in range(6)]
    assert [p for p in made if p.exists()] == made[-2:]
    assert by_hand.exists()
    assert foreign.read_text() == "not ours"


def test_copies_that_a_former_version_made_are_rotated_too(shop: Shop) -> None:
    """It kept no note: a name that says when the file was made is rotation's, any other is somebody's."""
    yard.change_settings(shop.yard, change(shop.yard.settings, {"backups": "2"}))
    where = backup.folder(shop.yard.path)
    where.mkdir()

    def left(name: str, written: datetime) -> Path:
        shutil.copy(shop.yard.path, where / name)
        os.utime(where / name, (written.timestamp(), written.timestamp()))
        return where / name

    first, day = datetime(2025, 5, 1, 8, 30, tzinfo=UTC), timedelta(days=1)
    old = [left(f"yard-2025050{n + 1}T083000Z.db", first + n * day + timedelta(seconds=3)) for n in range(3)]
    by_hand = left("yard-20250502T000000Z.db", first + 30 * day)
    odd = left("yard-20259999T000000Z.db", first)
    made = backup.make(shop.yard)
    assert [p for p in (*old, made) if p.exists()] == [old[2], made]
    assert by_hand.exists() and odd.exists()
    assert backup.make(shop.yard).exists()
    assert not old[2].exists()


def test_a_target_made_while_the_backup_ran_is_not_replaced(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target, copy = tmp_path / "copy.db", backup._copy

    def meanwhile(*args: sqlite3.Connection, **_: object) -> None:
        copy(*args)  # type: ignore[arg-type]
        target.write_text("mine")

    monkeypatch.setattr(backup, "_copy", meanwhile)
    with pytest.raises(Refused, match="exists already"):
        backup.make(shop.yard, target)
    assert target.read_text() == "mine"


def left_log(shop: Shop, path: Path) -> None:
    """Leave at `path` the log and memory of a yard that was killed and then moved away."""
    for end in ("-wal", "-shm"):
        shutil.copy(shop.yard.path.with_name(shop.yard.path.name + end), path.with_name(path.name + end))


@pytest.mark.parametrize("how", ["restore", "import", "new", "backup"])
def test_a_log_left_behind_is_not_played_into_another_yard(shop: Shop, tmp_path: Path, how: str) -> None:
    """A write-ahead log has no mark of its file: SQLite plays it into any of that name (its "WAL-mode
    File Format" page, on salts and checksums, which are of the log alone)."""
    kept = backup.make(shop.yard)
    export = tmp_path / "all.json"
    exchange.export_json(shop.yard, export)
    before = whole(shop.yard)
    pieces.shelve(shop.yard, [full(shop.ply, 300)])
    target = tmp_path / "other" / "yard.db"
    target.parent.mkdir()
    left_log(shop, target)
    log = target.with_name("yard.db-wal").read_bytes()
    if how == "restore":
        assert len(backup.restore(kept, target).strays) == 1
    elif how == "import":
        assert len(exchange.import_yard(export, target)) == 1
    elif how == "backup":
        before = whole(shop.yard)
        backup.make(shop.yard, target)
    else:
        with yard.new(target, shop.yard.settings) as made:
            assert len(made.strays) == 1
            before = whole(made)
    with yard.open(target) as y:
        assert whole(y) == before
        assert check(y) == ()
        pieces_before = y.one("SELECT count(*) FROM deed")
        yard.change_settings(y, change(y.settings, {"backups": "3"}))
        assert y.one("SELECT count(*) FROM deed") == pieces_before + 1
    assert target.with_name("yard.db-wal.aside").read_bytes() == log


@pytest.mark.parametrize("how", ["new", "import"])
def test_a_yard_made_meanwhile_is_not_replaced(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: str
) -> None:
    """Also where the file system knows no hard links."""
    export, target = tmp_path / "all.json", tmp_path / "made.db"
    exchange.export_json(shop.yard, export)
    sync = files.sync

    def meanwhile(draft: Path) -> None:
        sync(draft)
        if not target.exists():
            target.write_text("mine")

    monkeypatch.setattr(files, "sync", meanwhile)
    for links in (True, False):
        if not links:
            monkeypatch.setattr(os, "link", no_links)
        with pytest.raises(Refused, match="exists already"):
            if how == "new":
                yard.new(target, shop.yard.settings)
            else:
                exchange.import_yard(export, target)
        assert target.read_text() == "mine"
        target.unlink()


def no_links(*_: object, **__: object) -> None:
    """Answer as a FAT file system does."""
    raise OSError(errno.EPERM, os.strerror(errno.EPERM))


def test_a_file_system_without_hard_links_takes_a_yard(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", no_links)
    with yard.new(tmp_path / "new.db", shop.yard.settings) as y:
        assert check(y) == ()
    assert backup.make(shop.yard).exists()
    exchange.export_csv(shop.yard, tmp_path / "all")


def test_a_restore_through_a_link_replaces_what_it_points_at(shop: Shop, tmp_path: Path) -> None:
    kept = backup.make(shop.yard)
    before = whole(shop.yard)
    link = tmp_path / "links" / "mine.db"
    link.parent.mkdir()
    link.symlink_to(shop.yard.path)
    pieces.shelve(shop.yard, [full(shop.ply)])
    shop.yard.connection.close()
    done = backup.restore(kept, link)
    assert link.is_symlink()
    assert done.old is not None
    assert done.old.parent == shop.yard.path.parent
    for path in (link, shop.yard.path):
        with yard.open(path) as y:
            assert whole(y) == before
    shop.yard.connection = sqlite3.connect(shop.yard.path, isolation_level=None)
    shop.yard.connection.row_factory = sqlite3.Row


def test_a_reader_through_a_link_sees_what_is_in_the_log(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    link = tmp_path / "link.db"
    link.symlink_to(shop.yard.path)
    pieces.shelve(shop.yard, [full(shop.ply, 3)])
    monkeypatch.setattr(opening.os, "access", lambda *_: False)
    with yard.open(link) as y:
        assert whole(y) == whole(shop.yard)


def test_a_private_yard_stays_private(shop: Shop, tmp_path: Path) -> None:
    shop.yard.path.chmod(0o600)
    mask = os.umask(0)
    try:
        made = [backup.make(shop.yard), backup.make(shop.yard, tmp_path / "copy.db")]
        assert made[0].parent.stat().st_mode & 0o777 == 0o700
        exchange.export_json(shop.yard, tmp_path / "all.json")
        exchange.export_csv(shop.yard, tmp_path / "all")
        exchange.rebuild(shop.yard, tmp_path / "again.db")
        exchange.import_yard(tmp_path / "all.json", tmp_path / "imported.db")
        backup.restore(made[0], tmp_path / "restored.db")
        made += [tmp_path / n for n in ("all.json", "again.db", "imported.db", "restored.db")]
        made += list((tmp_path / "all").iterdir())
        assert {oct(p.stat().st_mode & 0o777) for p in made} == {"0o600"}
        assert (tmp_path / "all").stat().st_mode & 0o777 == 0o700
    finally:
        os.umask(mask)


def test_drafts_of_killed_commands_are_cleared(shop: Shop, tmp_path: Path) -> None:
    old, young, foreign = (tmp_path / n for n in (f".a.db.x{files.DRAFT}", f".b.x{files.DRAFT}", ".c.part"))
    for path in (old, young, foreign):
        path.write_text("half")
    for path in (old, foreign):
        os.utime(path, (0, 0))
    backup.make(shop.yard, tmp_path / "copy.db")
    assert not old.exists()
    assert young.exists()
    assert foreign.exists()


def test_restoring_puts_the_old_yard_aside(shop: Shop) -> None:
    kept = backup.make(shop.yard)
    before = whole(shop.yard)
    pieces.shelve(shop.yard, [full(shop.ply)])
    after = whole(shop.yard)
    shop.yard.connection.close()
    done = backup.restore(kept, shop.yard.path)
    aside = done.old
    assert aside is not None
    assert done.strays == ()
    with yard.open(shop.yard.path) as back:
        assert whole(back) == before
    with yard.open(aside) as old:
        assert whole(old) == after
    shop.yard.connection = sqlite3.connect(shop.yard.path, isolation_level=None)
    shop.yard.connection.row_factory = sqlite3.Row


def test_what_is_put_aside_takes_the_first_number_that_is_free(tmp_path: Path) -> None:
    """A name is taken too where only the log of a yard of that name lies."""
    names = []
    for _ in range(4):
        path = files.unused(tmp_path, "yard")
        names.append(path.name)
        (path if path.stem != "yard-2" else path.with_name("yard-2.db-wal")).touch()
    assert names == ["yard.db", "yard-2.db", "yard-3.db", "yard-4.db"]


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
    assert backup.restore(kept, broken).old is not None
    with yard.open(broken) as back:
        assert whole(back) == whole(shop.yard)


def test_a_backup_does_not_take_the_place_of_a_folder(shop: Shop, tmp_path: Path) -> None:
    kept, folder = backup.make(shop.yard), tmp_path / "folder"
    folder.mkdir()
    with pytest.raises(Refused, match="is a folder"):
        backup.restore(kept, folder)
    assert list(folder.iterdir()) == []


def test_a_restore_makes_the_folder_that_the_yard_lay_in(shop: Shop, tmp_path: Path) -> None:
    kept = backup.make(shop.yard, tmp_path / "kept.db")
    lost = tmp_path / "lost" / "deep" / "yard.db"
    backup.restore(kept, lost)
    with yard.open(lost) as again:
        assert check(again) == ()


def test_a_backup_is_one_file_and_leaves_no_draft(shop: Shop, tmp_path: Path) -> None:
    kept = backup.make(shop.yard, tmp_path / "here" / "kept.db")
    with closing(sqlite3.connect(kept)) as copy:
        assert copy.execute("PRAGMA journal_mode").fetchone() == ("delete",), "no log beside it"
    assert [p.name for p in kept.parent.iterdir()] == ["kept.db"]
    with pytest.raises(Refused, match="exists already"):
        backup.make(shop.yard, kept)
    exchange.export_json(shop.yard, kept.parent / "all.json")
    with pytest.raises(Refused, match="exists already"):
        exchange.export_csv(shop.yard, kept.parent / "all.json")
    assert sorted(p.name for p in kept.parent.iterdir()) == ["all.json", "kept.db"]


def test_backups_are_listed_the_newest_first(shop: Shop) -> None:
    first = backup.make(shop.yard)
    second = backup.make(shop.yard)
    os.utime(first, (1_000_000_000, 1_000_000_000))
    assert backup.backups(shop.yard.path) == (second, first)
    os.utime(second, (900_000_000, 900_000_000))
    assert backup.backups(shop.yard.path) == (first, second)
