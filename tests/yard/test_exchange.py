"""Export, import and rebuild: an equal yard comes back, unharmed by spreadsheets."""

from __future__ import annotations

import csv
import json
import os
import shutil
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard import yard
from stockyard.errors import BadInput, Refused
from stockyard.yard import backup, cutting, exchange, jobs, pieces, undo
from stockyard.yard.check import check
from stockyard.yard.model import JobPart
from tests.yard.keep_step import KEPT
from tests.yard.shop import Shop, cut_off, full, plan_for, whole

NASTY = [
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "'quoted",
    "\tTab",
    'a,b;c"d"',
    "two\nlines",
    "ünï×¼",
    "",
    "NULL",
    " x ",
]


@pytest.fixture
def lived_in(shop: Shop) -> Shop:
    """A shop with a plan, a cut, an undo, and names no spreadsheet should run."""
    plan_for(shop, shop.sheets[0], shop.sheets[1])
    cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
    part = [JobPart(name=text or "x", count=1, length=1, width=1, note=text) for text in NASTY]
    jobs.add_job(shop.yard, "=HYPERLINK()", "\n".join(NASTY), part)
    pieces.shelve(shop.yard, [full(shop.ply, 3)])
    undo.undo(shop.yard)
    return shop


@pytest.mark.parametrize("form", ["json", "csv"])
def test_an_import_equals_what_was_exported(lived_in: Shop, tmp_path: Path, form: str) -> None:
    if form == "json":
        exchange.export_json(lived_in.yard, tmp_path / "all.json")
        exchange.import_yard(tmp_path / "all.json", tmp_path / "again.db")
    else:
        exchange.export_csv(lived_in.yard, tmp_path / "all")
        exchange.import_yard(tmp_path / "all", tmp_path / "again.db")
    with yard.open(tmp_path / "again.db") as again:
        assert whole(again) == whole(lived_in.yard)
        assert check(again) == ()
        (here,) = pieces.shelve(lived_in.yard, [cut_off(lived_in.ply, 300, 300)])
        (there,) = pieces.shelve(again, [cut_off(lived_in.ply, 300, 300)])
        assert here.tag == there.tag


def test_no_cell_can_be_taken_for_a_formula(lived_in: Shop, tmp_path: Path) -> None:
    exchange.export_csv(lived_in.yard, tmp_path / "all")
    for file in (tmp_path / "all").glob("*.csv"):
        with file.open(encoding="utf-8", newline="") as text:
            for row in csv.reader(text):
                for cell in row:
                    assert not cell.lstrip().startswith(("=", "+", "@", "＝")), (file, cell)
                    assert not cell.startswith(("\t", "\r", "\n")), (file, cell)
                    assert not cell.startswith("-") or cell[1:].isdigit(), (file, cell)


@given(st.text())
def test_a_guarded_cell_reads_back(text: str) -> None:
    assert exchange.unguard(exchange.guard(text), whole=False) == text


@given(st.none() | st.integers(-(2**63), 2**63 - 1))
def test_a_guarded_number_reads_back(value: int | None) -> None:
    assert exchange.unguard(exchange.guard(value), whole=True) == value


def test_a_rebuilt_yard_is_equal(lived_in: Shop, tmp_path: Path) -> None:
    exchange.rebuild(lived_in.yard, tmp_path / "again.db")
    with yard.open(tmp_path / "again.db") as again:
        assert whole(again) == whole(lived_in.yard)


def spoiled(path: Path, change: str) -> None:
    whole_text = json.loads(path.read_text(encoding="utf-8"))
    tables = whole_text["tables"]
    if change == "another contract":
        whole_text["contract"] = "somebody/else/1"
    elif change == "a step from the future":
        whole_text["step"] = 999
    elif change == "a table missing":
        del tables["piece"]
    elif change == "a column missing":
        tables["piece"]["columns"][2] = "sort"
    elif change == "a row short":
        tables["piece"]["rows"][0].pop()
    elif change == "a wrong kind":
        tables["piece"]["rows"][0][3] = "long"
    elif change == "a row changed":
        tables["piece"]["rows"][0][3] += 1
    elif change == "an entry lost":
        tables["entry"]["rows"].pop(5)
    path.write_text(json.dumps(whole_text), encoding="utf-8")


@pytest.mark.parametrize(
    "change",
    ["another contract", "a step from the future", "a table missing", "a column missing", "a row short",
     "a wrong kind", "a row changed", "an entry lost"],
)  # fmt: skip
def test_a_spoiled_export_makes_no_yard(lived_in: Shop, tmp_path: Path, change: str) -> None:
    exchange.export_json(lived_in.yard, tmp_path / "all.json")
    spoiled(tmp_path / "all.json", change)
    with pytest.raises(BadInput):
        exchange.import_yard(tmp_path / "all.json", tmp_path / "again.db")
    assert {p.name for p in tmp_path.iterdir()} <= {"yard.db", "yard.db-wal", "yard.db-shm", "all.json"}


@pytest.mark.parametrize(
    "content", [b"", b"{}", b"[1]", b"\xff\xfe\x00", b'{"contract": "stockyard/yard/1"}', b"null"]
)
def test_rubbish_is_no_export(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "all.json").write_bytes(content)
    with pytest.raises(BadInput, match="is not an export"):
        exchange.import_yard(tmp_path / "all.json", tmp_path / "again.db")


def test_nothing_is_overwritten(lived_in: Shop, tmp_path: Path) -> None:
    (tmp_path / "all.json").write_text("mine")
    with pytest.raises(Refused, match="exists already"):
        exchange.export_json(lived_in.yard, tmp_path / "all.json")
    exchange.export_csv(lived_in.yard, tmp_path / "all")
    with pytest.raises(Refused, match="exists already"):
        exchange.import_yard(tmp_path / "all", lived_in.yard.path)


def test_a_tag_is_no_number_to_a_spreadsheet(lived_in: Shop, tmp_path: Path) -> None:
    """`617E1` reads as 6170 in a spreadsheet, `1-2` as a day: a text that begins with a figure is guarded."""
    for text in ("617E1", "12345", "1-2", " 3", "½", "０=1", " =1+1", "＝1"):
        guarded = exchange.guard(text)
        assert not guarded.lstrip().startswith(("=", "＝", "1", "3", "6"))
        assert exchange.unguard(guarded, whole=False) == text
    exchange.export_csv(lived_in.yard, tmp_path / "all")
    about = (tmp_path / "all" / "columns.md").read_text(encoding="utf-8")
    assert "ticks (1/3200 mm" in about
    for file in (tmp_path / "all").glob("*.csv"):
        if file.stem != "sqlite_sequence":
            assert f"### {file.stem}" in about


def changed_csv(folder: Path, file: str, line: int, change: str) -> None:
    lines = (folder / file).read_text(encoding="utf-8").splitlines(keepends=True)
    lines[line - 1] = change.format(lines[line - 1].rstrip("\r\n")) + "\r\n"
    (folder / file).write_bytes("".join(lines).encode())


@pytest.mark.parametrize(
    ("file", "change", "said"),
    [
        ("place.csv", "{},extra", r"line 3 of place\.csv has (\d+) cells, there are \d+ columns"),
        ("place.csv", "x{}", r"line 3 of place\.csv: 'x2' is no number"),
        ("place.csv", "7" * 5000 + "{}", r"line 3 of place\.csv: '7+' is no number"),
        ("tag.csv", "0,ABCDE", "row 2 of the table tag does not fit"),
    ],
)
def test_a_fault_of_an_export_is_told_with_its_line(
    lived_in: Shop, tmp_path: Path, file: str, change: str, said: str
) -> None:
    exchange.export_csv(lived_in.yard, tmp_path / "all")
    changed_csv(tmp_path / "all", file, 3, change)
    with pytest.raises(BadInput, match=said):
        exchange.import_yard(tmp_path / "all", tmp_path / "again.db")
    assert not (tmp_path / "again.db").exists()


def test_every_fault_of_an_export_is_counted(lived_in: Shop, tmp_path: Path) -> None:
    exchange.export_json(lived_in.yard, tmp_path / "all.json")
    whole_text = json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))
    for row in whole_text["tables"]["piece"]["rows"]:
        row[3] += 1
    (tmp_path / "all.json").write_text(json.dumps(whole_text), encoding="utf-8")
    with pytest.raises(BadInput, match=r"not true to itself: .*; .*; .*; and \d+ more"):
        exchange.import_yard(tmp_path / "all.json", tmp_path / "again.db")


def test_every_row_that_does_not_fit_is_counted(lived_in: Shop, tmp_path: Path) -> None:
    exchange.export_json(lived_in.yard, tmp_path / "all.json")
    whole_text = json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))
    rows = whole_text["tables"]["piece"]["rows"]
    for n in (0, 1, 3):
        rows[n][3] = "long"
    whole_text["tables"]["place"]["rows"][0].append(7)
    (tmp_path / "all.json").write_text(json.dumps(whole_text), encoding="utf-8")
    said = (
        r"row 1 of the table place .*; row 1 of the table piece .*; row 2 of the table piece .*; and 1 more$"
    )
    with pytest.raises(BadInput, match=said):
        exchange.import_yard(tmp_path / "all.json", tmp_path / "again.db")
    exchange.export_csv(lived_in.yard, tmp_path / "all")
    for line in (2, 3, 4, 5):
        changed_csv(tmp_path / "all", "piece.csv", line, "{},extra")
    with pytest.raises(BadInput, match=r"line 2 of piece.* cells.*; line 3 .*; line 4 .*; and 1 more$"):
        exchange.import_yard(tmp_path / "all", tmp_path / "again.db")


def test_a_table_that_is_missing_is_named(lived_in: Shop, tmp_path: Path) -> None:
    exchange.export_csv(lived_in.yard, tmp_path / "all")
    (tmp_path / "all" / "place.csv").unlink()
    with pytest.raises(BadInput, match=r"place\.csv: No such file"):
        exchange.import_yard(tmp_path / "all", tmp_path / "again.db")
    (tmp_path / "list.json").write_text("[1, 2]", encoding="utf-8")
    with pytest.raises(BadInput, match="it has no tables"):
        exchange.import_yard(tmp_path / "list.json", tmp_path / "again.db")


def test_what_never_ends_is_not_read(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="neither a file nor a folder"):
        exchange.import_yard(Path("/dev/zero"), tmp_path / "again.db")


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Path], Path]:
    """Return what brings a kept yard up to this version, once for all tests."""

    @cache
    def up_to_date(kept: Path) -> Path:
        path = tmp_path_factory.mktemp(kept.stem) / "yard.db"
        shutil.copy(kept, path)
        with yard.open(path):
            return path

    return up_to_date


@pytest.mark.parametrize("kept", sorted(KEPT.glob("*.db")), ids=lambda p: p.stem)
@pytest.mark.parametrize("way", ["json", "csv", "restore", "rebuild"])
def test_yards_of_every_version_go_round_unchanged(
    tmp_path: Path, opened: Callable[[Path], Path], kept: Path, way: str
) -> None:
    shutil.copy(opened(kept), tmp_path / "yard.db")
    again = tmp_path / "again.db"
    with yard.open(tmp_path / "yard.db") as y:
        before = whole(y)
        if way == "json":
            exchange.export_json(y, tmp_path / "all.json")
            exchange.import_yard(tmp_path / "all.json", again)
        elif way == "csv":
            exchange.export_csv(y, tmp_path / "all")
            exchange.import_yard(tmp_path / "all", again)
        elif way == "rebuild":
            exchange.rebuild(y, again)
        else:
            backup.restore(backup.make(y), again)
    with yard.open(again) as y:
        assert whole(y) == before
        assert check(y) == ()


@pytest.mark.parametrize(
    ("export", "yards"), [(0o600, 0o600), (0o640, 0o644), (0o604, 0o644), (0o644, 0o644)]
)
def test_a_yard_from_an_export_that_only_its_owner_reads_is_his_alone(
    shop: Shop, tmp_path: Path, export: int, yards: int
) -> None:
    """The file of a yard that others may read is as the system makes files: 0644 under a mask of 022."""
    exchange.export_json(shop.yard, tmp_path / "all.json")
    (tmp_path / "all.json").chmod(export)
    before = os.umask(0o022)
    try:
        exchange.import_yard(tmp_path / "all.json", tmp_path / "again.db")
    finally:
        os.umask(before)
    assert (tmp_path / "again.db").stat().st_mode & 0o777 == yards
