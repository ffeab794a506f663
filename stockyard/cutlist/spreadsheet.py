"""Files as text: spreadsheets become tab-separated lines, everything else is decoded."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime, time
from pathlib import Path

from stockyard.cutlist.decode import LONGEST_TEXT, decode
from stockyard.errors import BadInput

_ZIP = b"PK\x03\x04"
_OLD_SHEET = b"\xd0\xcf\x11\xe0"
_MOST_ROWS, _MOST_COLUMNS = 20_000, 60
_MOST_CELLS = 4_000_000
# A packed sheet may unfold to far more than it weighs, and the XML readers of older Pythons (expat before
# 2.6, CVE-2023-52425) take the square of the time over one long comment or attribute: 4 MB stay under 1 s.
_UNFOLDED, _UNFOLDED_SHEET = 20_000_000, 4_000_000
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def read_table(source: bytes | str | Path) -> str:
    """Return a file (CSV, TSV, text, or the first sheet of an xlsx) as the text that `read` takes.

    A row of a sheet becomes the line of the same number; a date, which a spreadsheet makes of a fraction,
    is written as 4-Mar so that it is asked about.

    Raises:
        BadInput: no such file, more than 2 MB, not text and not a spreadsheet.
    """
    data = source if isinstance(source, bytes) else _load(Path(source))
    if len(data) > LONGEST_TEXT:
        raise BadInput(f"the list is longer than {LONGEST_TEXT // 1_000_000} MB: is it the right file?")
    if data.startswith(_ZIP):
        return _sheet(data)
    if data.startswith(_OLD_SHEET):
        raise BadInput("an old .xls file: save it as .xlsx or .csv")
    return decode(data)


def _load(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(LONGEST_TEXT + 1)
    except OSError as error:
        raise BadInput(f"{path}: {error.strerror or error}: check the name of the file") from None


def _sheet(data: bytes) -> str:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            sizes = [item.file_size for item in packed.infolist()]
        if sum(sizes) > _UNFOLDED or max(sizes, default=0) > _UNFOLDED_SHEET:
            raise BadInput("the spreadsheet holds far more than a cut list: copy the list into a new one")
        return _rows(data)
    except BadInput:
        raise
    # openpyxl lets through whatever its XML reader meets in a broken file
    except Exception as error:
        raise BadInput(
            f"not a spreadsheet that can be read ({type(error).__name__}): save it as .xlsx or .csv"
        ) from None


def _rows(data: bytes) -> str:
    from openpyxl import load_workbook

    book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    try:
        sheets = [s for s in book.worksheets if s.sheet_state == "visible"]
        if not sheets:
            raise BadInput("the spreadsheet has no visible sheet")
        lines = []
        # One stray cell far away makes every row as wide as it is far: then only the list's columns are read.
        wide = (sheets[0].max_row or 0) * (sheets[0].max_column or 0) > _MOST_CELLS
        columns = {"max_col": _MOST_COLUMNS + 1} if wide else {}
        for number, row in enumerate(sheets[0].iter_rows(values_only=True, **columns), start=1):
            if number > _MOST_ROWS:
                raise BadInput(f"the sheet has more than {_MOST_ROWS} rows: split it into jobs")
            if len(row) > _MOST_COLUMNS and any(v is not None for v in row[_MOST_COLUMNS:]):
                raise BadInput(f"row {number} of the sheet has more than {_MOST_COLUMNS} columns")
            lines.append("\t".join(_cell(v) for v in row[:_MOST_COLUMNS]))
    finally:
        book.close()
    return "\n".join(lines) + "\n"


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime | date):
        return f"{value.day}-{_MONTHS[value.month - 1]}"
    if isinstance(value, time):
        return value.isoformat()
    if isinstance(value, float):
        text = f"{round(value, 6):f}".rstrip("0").rstrip(".")
        # three decimals after a short whole could read as a thousand
        return text + "0" if len(text.partition(".")[2]) == 3 else text
    return " ".join(str(value).split())
