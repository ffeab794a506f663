"""Trouble: locked, read-only, full disks, odd paths, clocks that go back. One clear line, nothing lost."""

from __future__ import annotations

import errno
import os
import resource
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import BadInput, Refused
from stockyard.settings import Settings
from stockyard.yard import backup, exchange, ledger, offers, opening, pieces
from stockyard.yard.check import check
from tests.yard.shop import Shop, full, make_shop, whole


def test_a_locked_yard_says_so_after_the_limit(shop: Shop) -> None:
    with closing(sqlite3.connect(shop.yard.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with (
            opening.open_yard(shop.yard.path, busy_seconds=0.05) as y,
            pytest.raises(Refused, match="is busy: another program is writing it"),
        ):
            pieces.shelve(y, [full(shop.ply)])
        other.execute("ROLLBACK")


def test_no_yard_there(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no yard at"):
        yard.open(tmp_path / "none.db")
    with pytest.raises(BadInput, match="there is no yard at"):
        yard.open(tmp_path)


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "books.db"
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE book (title TEXT)")
    content = path.read_bytes()
    with pytest.raises(Refused, match="of something else"):
        yard.open(path)
    assert path.read_bytes() == content
    assert {p.name for p in tmp_path.iterdir()} == {"books.db"}


def test_a_new_yard_overwrites_nothing(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(Refused, match="exists already"):
        yard.new(tmp_path / "mine.txt", Settings())
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match="cannot make the folder"):
        yard.new(tmp_path / "file" / "yard.db", Settings())


@pytest.mark.parametrize("name", ["my yard.db", "größe?x=1#ß%20.db", "板 .db", "a'b\"c.db"])
def test_odd_paths(tmp_path: Path, name: str) -> None:
    path = tmp_path / "a folder with ü" / name
    make_shop(path).yard.close()
    with yard.open(path) as y:
        assert check(y) == ()
        kept = backup.make(y)
        exchange.export_csv(y, path.parent / "all of it")
    assert kept.parent.parent == path.parent
    assert {p.name for p in path.parent.iterdir()} <= {name, name + ".backups", "all of it"}


def others_may_read(folder: Path) -> bool:
    """Whether somebody else could run the program from here."""
    return all(f.stat().st_mode & 0o005 == 0o005 for f in (folder, *folder.parents))


def read_only(path: Path) -> str:
    """Try to read and to change a yard as somebody who may only read; return what was said."""
    program = f"""
import os, shutil
from pathlib import Path
from stockyard import yard
from stockyard.errors import StockyardError
from stockyard.yard import pieces

def look(path):
    with yard.open(path) as y:
        yield len(pieces.on_hand(y))
        try:
            pieces.move(y, [pieces.on_hand(y)[0].tag], "R2")
        except StockyardError as error:
            yield error

path = Path({str(path)!r})
trial = path.with_name("trial.db")
shutil.copy(path, trial)
trial.chmod(0o600)
# All that is imported on the way is imported while it may still be read.
list(look(trial))
os.setgid(65534)
os.setuid(65534)
print(*look(path), sep="\\n")
"""
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False, cwd="/",
        env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    return done.stdout + done.stderr


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become somebody else")
def test_a_read_only_yard_can_be_read_and_says_that_it_cannot_be_changed(tmp_path: Path) -> None:
    if not others_may_read(Path(yard.__file__).parent):
        pytest.skip("the program lies in a folder that nobody else may read")
    path = tmp_path / "yard.db"
    make_shop(path).yard.close()
    folder = tmp_path
    while folder != folder.parent and folder.name.startswith(("test_", "pytest-", "popen-")):
        folder.chmod(0o755)
        folder = folder.parent
    path.chmod(0o444)
    said = read_only(path)
    assert said.splitlines()[0] == "5"
    assert "can only be read" in said


def test_a_yard_opened_for_reading_only_refuses_changes(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same without being root: the system says that the file may not be written."""
    monkeypatch.setattr(os, "access", lambda *_: False)
    with yard.open(shop.yard.path) as y:
        assert len(pieces.on_hand(y)) == 5
        with pytest.raises(Refused, match="can only be read"):
            pieces.shelve(y, [full(shop.ply)])


def test_a_deed_in_a_yard_that_was_restored_meanwhile_is_not_told_as_one_without_the_right(
    tmp_path: Path,
) -> None:
    shop, path = make_shop(tmp_path / "yard.db"), tmp_path / "yard.db"
    kept = backup.make(shop.yard, tmp_path / "kept.db")
    shop.yard.close()
    with yard.open(path) as y:
        y.connection.execute("PRAGMA journal_mode = DELETE")  # as it is while a restore holds the yard
        kept.replace(path)
        with pytest.raises(Refused, match="restored or moved meanwhile: do it again; nothing was changed"):
            pieces.shelve(y, [full(shop.ply)])
    with yard.open(path) as y:
        assert len(pieces.on_hand(y)) == 5


FULL_DISK = """
import resource, signal, sys
from pathlib import Path
from stockyard import yard
from stockyard.errors import StockyardError
from stockyard.yard import pieces, materials, backup, exchange
from tests.yard.shop import full
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
path = Path(sys.argv[1])
with yard.open(path) as y:
    ply = materials.materials(y)[0]
    room = path.stat().st_size + int(sys.argv[2])
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
    todo = [lambda: pieces.shelve(y, [full(ply, 2000)])]
    if sys.argv[3] == "papers":
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
        todo = [lambda: backup.make(y), lambda: exchange.export_json(y, path.parent / "all.json")]
    for do in todo:
        try:
            do()
        except StockyardError as error:
            print(error)
"""


@pytest.mark.parametrize("room", [0, 4096, 50_000, 200_000])
def test_a_full_disk_loses_nothing(shop: Shop, room: int) -> None:
    before = whole(shop.yard)
    done = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(shop.yard.path), str(room), "shelve"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    assert "full" in done.stdout or "cannot read or write" in done.stdout
    assert len(done.stdout.splitlines()) == 1
    assert whole(shop.yard) == before
    assert check(shop.yard) == ()


def test_a_full_disk_leaves_no_half_backup_or_export(shop: Shop) -> None:
    pieces.shelve(shop.yard, [full(shop.ply, 500)])
    shop.yard.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    done = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(shop.yard.path), "0", "papers"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    assert len(done.stdout.splitlines()) == 2
    assert backup.backups(shop.yard.path) == ()
    left = {p.name for p in shop.yard.path.parent.rglob("*")}
    assert not {name for name in left if "part" in name or name == "all.json"}


def test_a_clock_that_goes_back_changes_no_order(shop: Shop) -> None:
    shop.yard.clock = lambda: "2030-01-01T00:00:00Z"
    first = pieces.shelve(shop.yard, [full(shop.ply)])
    offers.add_price(shop.yard, shop.ply.id, 100, 100, 5)
    shop.yard.clock = lambda: "1999-12-31T23:59:59Z"
    second = pieces.shelve(shop.yard, [full(shop.ply)])
    newest, priced, before = ledger.deeds(shop.yard, limit=3)
    assert (newest.at[:4], priced.at[:4], before.at[:4]) == ("1999", "2030", "2030")
    assert newest.id == before.id + 2
    stack = [p.tag for p in pieces.at_place(shop.yard, "R1-B2-S3")]
    assert stack[:2] == [second[0].tag, first[0].tag]


def test_a_price_logged_with_a_clock_set_back_is_in_force(shop: Shop) -> None:
    shop.yard.clock = lambda: "2030-01-01T00:00:00Z"
    offers.add_price(shop.yard, shop.ply.id, 100, 100, 5, "Mill")
    shop.yard.clock = lambda: "1999-12-31T23:59:59Z"
    offers.add_price(shop.yard, shop.ply.id, 100, 100, 7, "Mill")
    offers.add_price(shop.yard, shop.ply.id, 100, 100, 3, "Mill", since="2020-01-01")
    assert [o.price for o in offers.offers(shop.yard, shop.ply.id)] == [7]


def test_the_limits_of_this_test_are_left_as_they_were() -> None:
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] == resource.RLIM_INFINITY


def test_clearing_up_in_a_read_only_folder_hides_no_message(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    export, copy = tmp_path / "yard.json", tmp_path / "copy.db"
    exchange.export_json(shop.yard, export)
    backup.make(shop.yard, copy)

    def refuse(*_: object, **__: object) -> None:
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    # A read-only mount refuses an unlink even of what is not there; the folder itself is there.
    monkeypatch.setattr(Path, "unlink", refuse)
    monkeypatch.setattr(Path, "mkdir", lambda *_, **__: None)
    target = tmp_path / "folder" / "new"
    deeds = [
        lambda: yard.new(target, Settings()),
        lambda: exchange.export_json(shop.yard, target),
        lambda: exchange.export_csv(shop.yard, target),
        lambda: exchange.import_yard(export, target),
        lambda: exchange.rebuild(shop.yard, target),
        lambda: backup.make(shop.yard, target),
    ]
    for deed in deeds:
        with pytest.raises(Refused, match=r"cannot (open|write|make)"):
            deed()
    with pytest.raises(Refused, match="cannot restore to"):
        backup.restore(copy, target)
    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(Refused, match="cannot make the folder"):
        exchange.export_json(shop.yard, target)


def test_a_yard_that_can_only_be_read_is_checked(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    copy = backup.make(shop.yard, shop.yard.path.with_name("copy.db"))
    with closing(sqlite3.connect(copy)) as db:
        db.execute("PRAGMA journal_mode = WAL")
    monkeypatch.setattr(opening.os, "access", lambda *_: False)
    with yard.open(copy) as y:
        assert not check(y)
        with pytest.raises(Refused, match="can only be read"):
            pieces.shelve(y, [full(shop.ply)])
    assert not copy.with_name("copy.db-wal").exists()
