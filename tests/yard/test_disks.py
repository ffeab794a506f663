"""Real disks: a full one and a failing one are told apart, and one without hard links takes a yard."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import Refused
from stockyard.settings import Settings
from stockyard.yard import Yard, backup, exchange, materials, pieces
from stockyard.yard.check import check
from tests.yard.shop import full, make_shop, whole

pytestmark = [
    pytest.mark.usefixtures("on_disk"),
    pytest.mark.skipif(
        sys.platform != "linux" or os.geteuid() != 0, reason="only root on Linux can mount a disk"
    ),
]
Mount = Callable[..., Path]


@pytest.fixture
def mount(tmp_path: Path) -> Iterator[Mount]:
    """Return what mounts a file system (its kind, its source, options) and gives its folder."""
    made: list[Path] = []

    def mounted(kind: str, source: str = "none", options: str = "defaults") -> Path:
        folder = tmp_path / f"disk {len(made)}"
        folder.mkdir()
        done = subprocess.run(
            ["mount", "-t", kind, "-o", options, source, folder], capture_output=True, text=True, check=False
        )
        if done.returncode:
            pytest.skip(f"{kind} cannot be mounted here: {done.stderr.strip()}")
        made.append(folder)
        return folder

    yield mounted
    for folder in reversed(made):
        subprocess.run(["umount", "--lazy", folder], check=True)


def made_with(program: str, image: Path, *words: str) -> str:
    """Make a file system in a file with the system's own program; return the file's path."""
    if shutil.which(program) is None:
        pytest.skip(f"needs {program}")
    subprocess.run([program, *words, image], check=True, capture_output=True)
    return str(image)


def until_refused(y: Yard) -> tuple[str, object]:
    """Shelve until the disk takes no more; return what was said and the yard before that."""
    ply = next(m for m in materials.materials(y) if m.name == "birch ply")
    for _ in range(20):
        before = whole(y)
        try:
            pieces.shelve(y, [full(ply, 1000)])
        except Refused as error:
            return str(error), before
    raise AssertionError("the disk took everything")


def test_a_full_disk_is_told_as_one_and_works_again_with_room(mount: Mount) -> None:
    folder = mount("tmpfs", options="size=4m")
    shop = make_shop(folder / "yard.db")
    said, before = until_refused(shop.yard)
    assert "is full: make room and do it again; nothing was changed" in said
    assert whole(shop.yard) == before
    for make in (
        lambda: backup.make(shop.yard, folder / "copy.db"),
        lambda: exchange.export_json(shop.yard, folder / "all.json"),
        lambda: yard.new(folder / "other.db", Settings()),
    ):
        with pytest.raises(Refused, match=r"is full|No space left"):
            make()
    assert {p.name for p in folder.iterdir()} == {"yard.db", "yard.db-wal", "yard.db-shm"}
    subprocess.run(["mount", "-o", "remount,size=16m", folder], check=True)
    pieces.shelve(shop.yard, [full(shop.ply)])
    assert check(shop.yard) == ()
    shop.yard.close()


def test_a_failing_disk_is_not_told_as_a_full_one(mount: Mount) -> None:
    """A disk of 64 MB whose ground holds 6: it has room to the eye, and what is written comes to nothing."""
    ground = mount("tmpfs", options="size=6m")
    image = ground / "image"
    image.touch()
    os.truncate(image, 64 << 20)
    folder = mount("ext2", made_with("mkfs.ext2", image, "-q", "-m", "0"), "loop")
    shop = make_shop(folder / "yard.db")
    os.sync()
    said, _ = until_refused(shop.yard)
    shop.yard.close()
    assert "check the disk" in said
    assert "full" not in said


def test_a_disk_that_knows_no_links_and_no_owners_takes_a_yard(mount: Mount, tmp_path: Path) -> None:
    image = tmp_path / "image"
    image.touch()
    os.truncate(image, 16 << 20)
    folder = mount("vfat", made_with("mkfs.vfat", image), "loop")
    shop = make_shop(folder / "yard.db")
    pieces.shelve(shop.yard, [full(shop.ply)])
    kept = backup.make(shop.yard)
    exchange.export_json(shop.yard, folder / "all.json")
    exchange.export_csv(shop.yard, folder / "all")
    wanted = whole(shop.yard)
    shop.yard.close()
    for source in (folder / "all.json", folder / "all"):
        exchange.import_yard(source, folder / f"from {source.name}.db")
        with yard.open(folder / f"from {source.name}.db") as y:
            assert whole(y) == wanted
    backup.restore(kept, folder / "yard.db")
    with yard.open(folder / "yard.db") as y:
        assert whole(y) == wanted
        assert check(y) == ()
