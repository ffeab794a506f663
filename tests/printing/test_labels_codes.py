"""Codes: read back by a library of others, structure by the standards, module widths by the printer."""

from __future__ import annotations

import numpy as np
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput
from stockyard.printing import codes
from stockyard.tags import ALPHABET

payloads = st.text(ALPHABET, min_size=1, max_size=codes.LONGEST_PAYLOAD)


def grid(code: codes.Code, high: int = 1) -> np.ndarray:
    """Return the modules as an array, dark 1, first row on top; a linear code `high` modules high."""
    rows = code.rows * high
    found = np.zeros((rows, code.columns), int)
    for x, y, width, height in code.bars:
        low, top = (0, high) if code.rows == 1 else (y, y + height)
        found[rows - top : rows - low, x : x + width] += 1
    return found


def seen(code: codes.Code, high: int = 1) -> list[zxingcpp.Barcode]:
    modules = np.pad(grid(code, high), code.quiet)
    return zxingcpp.read_barcodes(np.kron((1 - modules) * 255, np.ones((3, 3))).astype(np.uint8))


@settings(deadline=None, max_examples=50)
@given(payloads)
def test_a_square_code_reads_back(text: str) -> None:
    code = codes.square(text)
    assert code.columns == code.rows == 21  # version 1: 17 + 4 modules (ISO/IEC 18004)
    assert grid(code).max() == 1, "no module is drawn twice"
    (found,) = seen(code)
    assert (found.text, found.format) == (text, zxingcpp.BarcodeFormat.QRCode)
    assert found.ec_level == "H"


@settings(deadline=None, max_examples=50)
@given(payloads)
def test_a_linear_code_reads_back(text: str) -> None:
    (found,) = seen(codes.linear(text), high=30)
    assert (found.text, found.format) == (text, zxingcpp.BarcodeFormat.Code128)


def test_the_length_of_a_linear_code() -> None:
    """ISO/IEC 15417: start, data, check of 11 modules each, stop of 13; two digits may share one."""
    assert codes.linear("K7Q3Z").columns == 11 * (5 + 2) + 13
    assert codes.linear("K7Q3").columns == 79
    assert codes.linear("AB1C2D").columns == 101
    assert codes.linear("A1234").columns < 90


@pytest.mark.parametrize("text", ["", "K7Q3Z-", "k7q3z", "ABCDEFGHJKM", "Ä"])
def test_what_is_no_payload(text: str) -> None:
    with pytest.raises(BadInput, match="cannot be a code"):
        codes.square(text)


@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_modules_are_whole_dots(dpi: int) -> None:
    widths = list(codes.modules(dpi, codes.BEST_MODULE))
    dots = [width * dpi / 25.4 for width in widths]
    assert all(abs(d - round(d)) < 1e-9 for d in dots)
    assert widths == sorted(widths, reverse=True)
    assert min(widths) >= 0.249 and max(widths) <= 0.501


def test_module_widths_of_the_common_printers() -> None:
    """203 dpi prints dots of 0.1251 mm: 2 to 4 of them; 300 dpi of 0.0847 mm: 3 to 5."""
    assert [round(m * 203 / 25.4) for m in codes.modules(203, 0.5)] == [4, 3, 2]
    assert [round(m * 300 / 25.4) for m in codes.modules(300, 0.5)] == [5, 4, 3]
