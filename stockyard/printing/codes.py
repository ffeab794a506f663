"""Scannable codes for tags: QR (ISO/IEC 18004) and Code 128 (ISO/IEC 15417).

A module is always a whole number of printer dots and at least a quarter of a millimetre, which
hand scanners read from a thermal print. Where neither code fits, there is none. Sizes are millimetres.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from math import ceil, floor

from stockyard.errors import BadInput

QR_SIDE = 21
QR_QUIET = 4
LINEAR_QUIET = 10
LONGEST_PAYLOAD = 10
"""Version 1 at level H holds this many characters of 0-9 A-Z: every tag, with 30 % of it lost."""

LEAST_MODULE = 0.25
BEST_MODULE = 0.5
"""Half a millimetre is what telephones ask for (advice of several makers, not of the standard)."""

LEAST_BAR_HEIGHT = 4.8
"""Code 128 read by hand: about 5 mm (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Code:
    """One code, drawn as dark rectangles `bars` (x, y, width, height in modules, from the lower left).

    `rows` is 1 for Code 128, whose height is free. `quiet` modules of white belong on the left and right;
    above and below too for QR.
    """

    text: str
    bars: tuple[tuple[int, int, int, int], ...]
    columns: int
    rows: int
    quiet: int


def dot(dpi: int) -> float:
    """Return the width of one printer dot."""
    return 25.4 / dpi


def modules(dpi: int, most: float) -> Iterator[float]:
    """Yield module widths that are whole dots, from the widest up to `most` down to the least."""
    step = dot(dpi)
    # A hundredth of a dot is no difference: two dots of 0.1251 mm are a quarter, four are a half.
    least = max(ceil(LEAST_MODULE / step - 0.01), 1)
    for dots in range(floor(most / step + 0.01), least - 1, -1):
        yield dots * step


def _payload(text: str) -> str:
    if not re.fullmatch(rf"[0-9A-Z]{{1,{LONGEST_PAYLOAD}}}", text):
        raise BadInput(f"'{text[:40]}' cannot be a code: it must be 1 to {LONGEST_PAYLOAD} of 0-9 and A-Z")
    return text


@lru_cache(maxsize=4096)
def linear(text: str) -> Code:
    """Return `text` as Code 128.

    Raises:
        BadInput: `text` is not 1 to 10 characters of 0-9 and A-Z.
    """
    from reportlab.graphics.barcode.code128 import Code128

    symbol = Code128(_payload(text), quiet=0)
    symbol.validate()
    symbol.encode()
    bars, x = [], 0
    for letter in symbol.decompose():
        wide = ord(letter.lower()) - ord("a") + 1
        if letter.isupper():
            bars.append((x, 0, wide, 1))
        x += wide
    return Code(text, tuple(bars), x, 1, LINEAR_QUIET)


@lru_cache(maxsize=4096)
def square(text: str) -> Code:
    """Return `text` as a QR code, version 1, error correction level H.

    Raises:
        BadInput: `text` is not 1 to 10 characters of 0-9 and A-Z.
    """
    import segno

    symbol = segno.make_qr(_payload(text), version=1, error="h", boost_error=False)
    bars = [
        (x, QR_SIDE - 1 - row, wide, 1) for row, line in enumerate(symbol.matrix) for x, wide in _runs(line)
    ]
    return Code(text, tuple(bars), QR_SIDE, QR_SIDE, QR_QUIET)


def _runs(line: Iterable[int]) -> Iterator[tuple[int, int]]:
    """Yield (start, length) of every run of dark modules, leftmost first."""
    x = 0
    for dark, found in groupby(line):
        wide = sum(1 for _ in found)
        if dark:
            yield x, wide
        x += wide
