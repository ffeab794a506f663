"""Headed tables, tables nobody has headed, and files."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime, time
from pathlib import Path

import pytest
from openpyxl import Workbook

from stockyard.cutlist import CutList, Grain, read, read_table
from stockyard.cutlist.model import Fate
from stockyard.cutlist.tables import split_cells
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit

INCH, MM = TICKS_PER_INCH, TICKS_PER_MM


def metric(text: str, **ways: object) -> CutList:
    return read(text, unit=Unit.MM, **ways)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text",
    [
        "Name\tQty\tLength\tWidth\nside\t2\t720\t560",
        "name;n;L;B\nside;2;720,0;560",
        "name,qty.,length (mm),width (mm)\nside,2,720,560",
        "| part name | no. of pieces | L | W |\n|---|---|---|---|\n| side | 2 | 720 | 560 |",
        "Part   Qty   Length   Width\nside   2     720      560",
        "Teil;Anzahl;Länge;Breite\nside;2;720;560",
        "Désignation;Qté;Longueur;Largeur\nside;2;720;560",
        "Width\tLength\tPcs\tItem\n560\t720\t2\tside",
        '"Part","Qty","Size"\n"side","2","720 x 560"',
    ],
)
def test_headers_say_which_column_is_which(text: str) -> None:
    found = metric(text, first="along")
    assert not found.questions
    (row,) = found.rows
    assert (row.name, row.count, row.length, row.width) == ("side", 2, 720 * MM, 560 * MM)


def test_cells_in_quotes_and_inch_marks() -> None:
    cells = split_cells('"side, left",2,"30 1/2""",23 5/8",x', ",")
    assert [c.text for c in cells] == ["side, left", "2", '30 1/2"', '23 5/8"', "x"]
    assert [c.text for c in split_cells('"a, b" ,2,"c, d"  ,3', ",")] == ["a, b", "2", "c, d", "3"]
    assert [c.text for c in split_cells('",2,30"', ",")] == ['"', "2", '30"']


def test_a_header_unit_holds_for_its_row() -> None:
    (row,) = read("Part,Qty,L (mm),W (mm),T\nside,2,720,560,18", unit=Unit.INCH).rows
    assert (row.length, row.thickness, row.thickness_name) == (720 * MM, 18 * MM, "18 mm")


@pytest.mark.parametrize(
    "table",
    [
        "name,qty,L,W,note\nside,2,720,560,front edge banded",
        "name,qty,L,W,todo\nside,2,720,560,front edge banded",
    ],
)
def test_a_remark_that_says_the_band_stays_a_remark(table: str) -> None:
    """Which edge "front" is, nobody but the shop knows: the words must reach the label."""
    found = metric(table)
    (row,) = found.rows
    assert row.bands == ("L1",)
    assert row.note.endswith("front edge banded")
    assert "'front edge banded': which edges?" in [q.unclear for q in found.questions]


def test_grain_and_edges_columns() -> None:
    head = "name;qty;L;W;grain;eb\n"
    rows = metric(head + "a;1;720;400;L;4\nb;1;720;400;quer;2L1S\nc;1;720;400;none;-\nd;1;720;400;;LLSS").rows
    assert [r.grain for r in rows] == [Grain.ALONG, Grain.ACROSS, Grain.ANY, None]
    assert [r.bands for r in rows] == [
        ("L1", "L2", "W1", "W2"), ("L1", "L2", "W1"), (), ("L1", "L2", "W1", "W2"),
    ]  # fmt: skip
    found = metric(head + "a;1;720;400;up;2")
    assert {q.id for q in found.questions} == {"edges2", "grain2", "finished"}
    (row,) = metric(head + "a;1;720;400;up;2", answers={"grain2": "across", "edges2": "W1+W2"}).rows
    assert (row.grain, row.bands, row.length) == (Grain.ACROSS, ("W1", "W2"), 720 * MM)


def test_finished_sizes_are_said_by_the_header() -> None:
    text = "name,qty,finished length,finished width,edges\ndoor,1,716,396,4"
    (row,) = metric(text, band_thickness=2 * MM).rows
    assert (row.length, row.width, row.finished_length) == (712 * MM, 392 * MM, 716 * MM)


@pytest.mark.parametrize(
    ("row", "unclear"),
    [
        ("side,,720,560", "no count"),
        ("side,2,,560", "no length"),
        ("side,2,720,", "no width"),
        ("side,2.5,720,560", "not a count"),
        ("side,2,7z0,560", "not a length"),
        ("side,2,-720,560", "not a length"),
        ("side,2,0,560", "nothing"),
        ('side,2,"1,200",560', "may be 1200"),
        ("side,2,1.200,560", "may be 1200"),
        ("side,2,72O,560", "letters among"),
        ("side,2,4-Mar,560", "looks like a date"),
        ("ditto,2,720,560", "stands for nothing"),
        ("side,2,720,560,loose", "5 columns where the header has 4"),
        ("side,2,720", "no size"),
        ("Pxrt,Quxnt,Lxng,Wxde", "not understood"),
    ],
)
def test_a_cell_in_doubt_is_a_question(row: str, unclear: str) -> None:
    found = metric(f"name,qty,length,width\n{row}")
    assert not found.rows and found.fates[1] is Fate.QUESTION
    assert any(unclear in q.unclear for q in found.questions), found.questions


def test_a_header_that_is_not_understood_does_not_leave_its_rows_to_the_one_before() -> None:
    text = "qty,length,width\n2,720,560\nLaenxge,Qtty,Breixte\n99,3,50\n"
    found = metric(text)
    assert found.count == 2 and found.fates[2:] == (Fate.QUESTION, Fate.QUESTION)


def test_an_unclear_no_column_is_asked() -> None:
    (question, *_) = metric("No,Length,Width\n2,720,560").questions
    assert [r.says for r in question.readings] == ["how many", "only a line number"]
    found = metric("No,Length,Width\n2,720,560", answers={"line1": "1"})
    assert found.count == 2 and not found.questions


def test_columns_without_a_header_are_asked_once() -> None:
    text = "side\t2\t720\t560\nback\t1\t700\t540"
    (question,) = metric(text).questions
    assert (question.id, question.lines) == ("columns", (1, 2))
    found = metric(text, answers={"columns": "1"})
    assert [(r.name, r.count, r.length) for r in found.rows] == [("side", 2, 720 * MM), ("back", 1, 700 * MM)]
    turned = metric(text, answers={"columns": "name, qty, width, length"})
    assert [r.length for r in turned.rows] == [560 * MM, 540 * MM]
    with pytest.raises(BadInput, match="names no columns"):
        metric(text, answers={"columns": "yes"})


def test_titles_and_totals_inside_a_table() -> None:
    text = "name;qty;L;W\nDoors;;;\na;2;720;560\nb;1;720;560\nTotal;3;;\nc;4;720;560\nSum;7;;"
    found = metric(text)
    assert found.count == 7 and not found.warnings and not found.questions
    assert found.fates.count(Fate.TOTAL) == 2


def sheet(rows: list[list[object]]) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)  # type: ignore[union-attr]
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_spreadsheet_is_read_like_the_table_it_shows() -> None:
    data = sheet(
        [
            ["Part", "Qty", "Length", "Width", "Thickness"],
            ["side", 2, 720, 560.5, "18"],
            [],
            ["back", 1.0, 700, 540, 6],
        ]
    )
    found = metric(read_table(data))
    assert not found.questions
    assert [(r.name, r.count, r.length, r.width, r.line) for r in found.rows] == [
        ("side", 2, 720 * MM, 560 * MM + MM // 2, 2), ("back", 1, 700 * MM, 540 * MM, 4),
    ]  # fmt: skip


@pytest.mark.parametrize(("nominal", "read"), [("2x4", True), ("pair", False), ("2x", False), ("9x9", False)])
def test_a_nominal_size_that_is_none_gives_no_part_without_a_width(nominal: str, read: bool) -> None:
    found = metric(f"Part,Qty,Length,Nominal\nstud,2,2400,{nominal}")
    assert len(found.rows) == int(read)
    unclear = [f"no width, and '{nominal}' is no size of lumber"]
    assert [q.unclear for q in found.questions] == ([] if read else unclear)


def test_each_kind_of_cell_is_written_as_a_person_would() -> None:
    """Three decimals after a point could be a thousand, so there are four; others lose their noughts."""
    cells = [None, 0, 7, 12.0, 1.5, 1.125, 12.3456789, 1e-9, 0.1 + 0.2, "  a \n b ", True, time(7, 5)]
    first, second = read_table(sheet([cells, [date(2026, 3, 4), datetime(2026, 12, 31, 8, 0)]])).splitlines()
    assert first.split("\t") == [
        "", "0", "7", "12", "1.5", "1.1250", "12.345679", "0", "0.3", "a b", "True", "07:05:00",
    ]  # fmt: skip
    assert second.split("\t")[:2] == ["4-Mar", "31-Dec"]


def test_the_first_sheet_that_can_be_seen_is_read() -> None:
    book = Workbook()
    book.active["A1"] = "hidden"
    shown = book.create_sheet()
    shown["A1"], shown["B2"] = "2", "x"
    book.active.sheet_state = "hidden"
    book.active = 1
    out = io.BytesIO()
    book.save(out)
    assert read_table(out.getvalue()) == "2\t\n\tx\n"


def test_a_row_may_be_as_wide_as_is_read_but_hold_nothing_beyond() -> None:
    wide = ["Part", "Qty", "Length", "Width", *[None] * 56]
    row: list[object] = ["side", 2, 720, 560, *[None] * 56]
    assert len(metric(read_table(sheet([wide, row]))).rows) == 1
    assert len(metric(read_table(sheet([wide, [*row, None, None], [None] * 61]))).rows) == 1
    for beyond in (["far"], [None, "far"], ["far", None]):
        with pytest.raises(BadInput, match="row 2 of the sheet has more than 60 columns"):
            read_table(sheet([wide, [*row, *beyond], [None] * 62]))


def test_a_list_may_be_as_long_as_is_read_but_no_longer(tmp_path: Path) -> None:
    line = b"2 sides 720 x 560\n"
    most = line + b" " * (2_000_000 - len(line))
    (tmp_path / "most").write_bytes(most)
    (tmp_path / "more").write_bytes(most + b" ")
    assert len(metric(read_table(tmp_path / "most").rstrip(" ")).rows) == 1
    with pytest.raises(BadInput, match="longer than 2 MB"):
        read_table(tmp_path / "more")
    remarks = "# a remark\n" * 19_999
    assert len(metric(remarks + "2 sides 720 x 560\n\n").rows) == 1
    with pytest.raises(BadInput, match="more than 20000 lines"):
        metric(remarks + "2 sides 720 x 560\n# one more\n")


@pytest.mark.parametrize("sizes", [(4_000_001,), (3_900_000,) * 6])
def test_a_spreadsheet_that_unfolds_to_far_more_is_refused(sizes: tuple[int, ...]) -> None:
    """One sheet of more than 4 MB, or all of them more than 20 MB together: nobody cuts that much."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for n, size in enumerate(sizes):
            packed.writestr(f"xl/worksheets/sheet{n}.xml", bytes(size))
    with pytest.raises(BadInput, match="far more than a cut list"):
        read_table(out.getvalue())


def test_a_fraction_that_a_spreadsheet_made_a_date_is_asked() -> None:
    data = sheet([["Part", "Qty", "Length", "Width", "Thk"], ["side", 2, 30, 12, datetime(2026, 3, 4)]])
    (question,) = read(read_table(data), unit=Unit.INCH).questions
    assert question.line == 2 and [r.says for r in question.readings] == ["3/4"]
    (row,) = read(read_table(data), unit=Unit.INCH, answers={"line2": "1"}).rows
    assert row.thickness == INCH * 3 // 4


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"]
)
def test_encodings_are_told_apart(encoding: str) -> None:
    data = "Teil;Stk;Länge;Breite\r\nTür;2;720;560\r\n".encode(encoding)
    (row,) = metric(read_table(data)).rows
    assert (row.name, row.length) == ("Tür", 720 * MM)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"2 sides 720 x 560\nab\x00\x01cd", "line 2, column 3"),
        (bytes(range(256)), "line 2, column 119: not text"),
        (b"\x81\x8d\x8f", "not text"),
        (b"x" * 50_000_000, "longer than 2 MB"),
        (b"PK\x03\x04 broken", "not a spreadsheet"),
        (b"\xd0\xcf\x11\xe0" + b"\x00" * 600, "old .xls"),
    ],
)
def test_rubbish_is_refused_in_one_line(data: bytes, says: str) -> None:
    with pytest.raises(BadInput, match=says) as caught:
        metric(read_table(data))
    assert "\n" not in str(caught.value)


def test_files_and_their_absence(tmp_path: Path) -> None:
    path = tmp_path / "Liste für Ana.csv"
    path.write_text("name,qty,length,width\nside,2,720,560\n", encoding="utf-8")
    assert metric(read_table(path)).count == 2
    with pytest.raises(BadInput, match="check the name"):
        read_table(tmp_path / "none.csv")


def test_too_many_lines_are_refused() -> None:
    with pytest.raises(BadInput, match="more than 20000 lines"):
        metric("a\n" * 20_001)
