"""Compiled code is loaded only when it is whole, our own, and made of this source."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from stockyard.planning import kept

CODE = "room_1/a-1.py311.1.nbc"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with sealed code."""
    monkeypatch.setenv("STOCKYARD_CACHE", str(tmp_path / "cache"))
    place = kept.opened()
    assert place is not None
    (place / CODE).parent.mkdir(mode=0o700)
    (place / CODE).write_bytes(b"code")
    kept.seal(place)
    assert kept.is_ready()
    return place


def test_sealed_code_is_used(place: Path) -> None:
    assert kept.opened() == place
    assert (place / CODE).read_bytes() == b"code"


def test_a_new_folder_is_open_to_its_owner_alone(place: Path) -> None:
    assert [p.stat().st_mode & 0o777 for p in (place, place.parent)] == [0o700, 0o700]


@pytest.mark.parametrize("name", [CODE, "room_1/b-1.py311.1.nbc"])
def test_code_that_is_not_as_it_was_sealed_is_thrown_away(place: Path, name: str) -> None:
    (place / name).write_bytes(b"other")
    os.utime(place / name, (1, 1))
    os.utime(place / CODE, (1, 1))
    assert not kept.is_ready()
    assert kept.opened() == place
    assert not list(place.iterdir())


def test_what_another_process_is_still_writing_is_left_alone(place: Path) -> None:
    (place / "room_1" / "b-1.py311.1.nbc").write_bytes(b"half")
    assert (kept.is_busy(), kept.opened()) == (True, None)
    assert (place / CODE).exists()


@pytest.mark.skipif(sys.platform == "win32", reason="no such permissions")
@pytest.mark.parametrize("which", ["", "..", "room_1", CODE])
def test_what_others_can_write_is_not_loaded(place: Path, which: str) -> None:
    (place / which).chmod(0o777)
    assert not kept.is_ready()
    assert kept.opened() is None


def test_a_link_is_not_followed(place: Path) -> None:
    real = place.with_name("elsewhere")
    place.rename(real)
    place.symlink_to(real)
    assert not kept.is_ready()
    assert kept.opened() is None


def test_where_nothing_can_be_written_nothing_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").touch()
    monkeypatch.setenv("STOCKYARD_CACHE", str(tmp_path / "file"))
    assert kept.opened() is None
    assert not kept.is_ready()


def test_code_of_other_sources_is_not_looked_at(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "fingerprint", lambda: "other")
    assert not kept.is_ready()
    os.utime(place, (1, 1))
    assert kept.opened() == place.with_name("kernels-other")
    assert not place.exists(), "old and not used any more"


def test_only_one_process_at_a_time_is_begun_to_fill_a_new_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STOCKYARD_CACHE", str(tmp_path / "cache"))
    assert [kept.begin(), kept.begin(), kept.is_busy()] == [True, False, True]
    begun = next((tmp_path / "cache").glob("*.begun"))
    os.utime(begun, (1, 1))  # whoever was at it has died without a word
    assert [kept.is_busy(), kept.begin()] == [False, True]


def test_a_full_folder_is_not_busy(place: Path) -> None:
    assert (place / CODE).is_file()
    assert not kept.is_busy()
